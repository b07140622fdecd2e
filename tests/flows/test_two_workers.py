"""Two workers over one database, as when somebody starts a second one by mistake."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]

FILL = """
from django.core.management import call_command
call_command("migrate", verbosity=0)
from datetime import timedelta
from django.utils import timezone
from scheduling.models import MessageKind, User
from scheduling.services.outbox import queue_message
now = timezone.now()
person = User.objects.create_user("ana", phone="+19135550142", texts_agreed_at=now)
for number in range(50):
    queue_message(key=f"text {number}", kind=MessageKind.REMINDER, recipient=person, body=f"number {number}",
                  due_at=now, useful_until=now + timedelta(hours=1), pours=[], now=now)
"""

# Says that it is ready and begins when its standard input is closed, so that both begin in the same moment.
SEND = """
import sys
from scheduling import tasks
print("ready", flush=True)
sys.stdin.read()
tasks.send_due_messages()
"""

COUNT = """
from scheduling.models import Message
print(sorted(set(Message.objects.values_list("state", "tries"))))
"""


def python(code, var, **options):
    env = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "REDIS_URL")}
    env |= {"POURPLAN_VAR": str(var), "DJANGO_SETTINGS_MODULE": "pourplan.settings"}
    env |= {"TEXTS_A_MINUTE": "1000", "TEXTS_A_PERSON_AN_HOUR": "1000"}
    code = f"import django\ndjango.setup()\n{code}"
    return subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, env=env, text=True, stdout=subprocess.PIPE, **options
    )


def output(process):
    said, _ = process.communicate(timeout=120)
    assert process.returncode == 0
    return said


def test_two_workers_that_sweep_at_once_send_each_of_fifty_texts_once(tmp_path):
    output(python(FILL, tmp_path))
    workers = [python(SEND, tmp_path, stdin=subprocess.PIPE) for _ in range(2)]
    assert [worker.stdout.readline() for worker in workers] == ["ready\n"] * 2
    for worker in workers:
        worker.stdin.close()
        worker.stdin = None
    lines = "".join(output(worker) for worker in workers).splitlines()
    sent = [line for line in lines if line.startswith("number ")]
    assert sorted(sent) == sorted(f"number {number}" for number in range(50))
    assert output(python(COUNT, tmp_path)).strip() == "[('sent', 1)]"
