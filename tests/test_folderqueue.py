"""The queue of files: nothing is read half written, and a real worker with its beat works through it."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from uuid import uuid4

import pytest
from kombu import Connection

from pourplan.folderqueue import folder_options

ROOT = Path(__file__).resolve().parent.parent

TRIAL = """
import os
from pathlib import Path
from pourplan.celery import app

@app.task(name="trial.leave_mark")
def leave_mark(name):
    Path(os.environ["MARKS"], name).touch()

app.conf.beat_schedule = {"tick": {"task": "trial.leave_mark", "schedule": 0.5, "args": ["by-beat"]}}
"""


@pytest.fixture
def queue(tmp_path):
    options = folder_options(tmp_path / "queue")
    with Connection(
        "filesystem://", transport="pourplan.folderqueue:Transport", transport_options=options
    ) as connection:
        # A name of its own: kombu remembers in the process which queues it has bound, whatever the folder.
        yield connection.SimpleQueue(f"trial-{uuid4()}")


def test_a_message_comes_out_as_it_went_in(queue):
    queue.put({"name": "Año", "count": 3})
    assert queue.get(timeout=1).payload == {"name": "Año", "count": 3}


def test_messages_come_out_in_order(queue):
    for number in range(20):
        queue.put({"number": number})
    assert [queue.get(timeout=1).payload["number"] for _ in range(20)] == list(range(20))


def test_a_message_appears_only_when_it_is_whole(queue, monkeypatch, tmp_path):
    to_be_read = []
    replace = Path.replace

    def look_then_replace(aside, target):
        to_be_read.append(queue.qsize())
        return replace(aside, target)

    monkeypatch.setattr(Path, "replace", look_then_replace)
    queue.put({"number": 1})
    assert to_be_read == [0]
    assert queue.qsize() == 1
    assert not list(tmp_path.rglob("*.part"))


def test_an_unreadable_message_is_dropped_and_the_next_one_read(queue, tmp_path):
    (tmp_path / "queue" / "messages" / f"0_torn.{queue.queue.name}.msg").write_text('{"body": "')
    queue.put({"number": 1})
    assert queue.get(timeout=2).payload == {"number": 1}
    assert not list(tmp_path.rglob("*.msg"))


def wait_for(path: Path, seconds: float) -> bool:
    end = time.monotonic() + seconds
    while not path.exists() and time.monotonic() < end:
        time.sleep(0.05)
    return path.exists()


@pytest.mark.slow
def test_one_process_is_worker_and_beat_on_a_queue_of_files(tmp_path):
    (tmp_path / "trial.py").write_text(TRIAL)
    env = {name: value for name, value in os.environ.items() if name not in {"REDIS_URL", "DATABASE_URL"}}
    env |= {"MARKS": str(tmp_path), "POURPLAN_VAR": str(tmp_path / "var"), "PYTHONPATH": f"{tmp_path}:{ROOT}"}
    ask = "from trial import leave_mark; leave_mark.delay('by-hand')"
    subprocess.run([sys.executable, "-c", ask], cwd=ROOT, env=env, check=True, timeout=60)
    command = [sys.executable, "-m", "celery", "-A", "trial", "worker", "-B", "-P", "threads", "-c", "2"]
    with (tmp_path / "worker.log").open("w") as log:
        worker = subprocess.Popen(command, cwd=ROOT, env=env, stdout=log, stderr=log)
    try:
        arrived = [wait_for(tmp_path / name, 30) for name in ("by-hand", "by-beat")]
    finally:
        worker.send_signal(signal.SIGTERM)
        code = worker.wait(30)
    assert arrived == [True, True], (tmp_path / "worker.log").read_text()
    assert code == 0
