"""What the clock sets off, and that a broker that is away holds nobody up."""

import os
import socket
import subprocess
import sys
from importlib import import_module
from inspect import signature
from pathlib import Path

import pytest
from django.conf import settings

from pourplan.celery import TIMETABLE, app

ROOT = Path(__file__).resolve().parent.parent
TASKS = [task for task, _ in TIMETABLE.values()]

# Prints how long one request to run a task takes, once the connection's parts are loaded, and how it ended.
ASK = """
import time
from pourplan.celery import app
for _ in range(2):
    begun = time.perf_counter()
    try:
        app.send_task("scheduling.tasks.send_due_messages")
        end = "asked"
    except Exception as fault:
        end = type(fault).__name__
    took = time.perf_counter() - begun
print(took, end)
"""


def ask(redis_url: str, var: Path) -> tuple[float, str]:
    """Ask for a task in a fresh process with its broker at `redis_url`; seconds taken and outcome."""
    env = os.environ | {"REDIS_URL": redis_url, "POURPLAN_VAR": str(var), "SECRET_KEY": "k" * 50}
    run = subprocess.run(
        [sys.executable, "-c", ASK], cwd=ROOT, env=env, capture_output=True, text=True, check=True, timeout=60
    )
    took, end = run.stdout.split()
    return float(took), end


@pytest.fixture
def listening() -> socket.socket:
    """A port of this machine that takes connections and never answers."""
    with socket.create_server(("127.0.0.1", 0), backlog=16) as server:
        yield server


@pytest.fixture
def closed_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


def test_the_timetable_is_these_eight():
    assert set(TASKS) == {
        "scheduling.tasks.watch_pours",
        "scheduling.tasks.write_morning_texts",
        "scheduling.tasks.send_due_reminders",
        "scheduling.tasks.send_due_messages",
        "scheduling.tasks.fetch_weather",
        "scheduling.tasks.mark_lost_messages",
        "scheduling.tasks.propose_weeks",
        "scheduling.tasks.tick",
    }


@pytest.mark.parametrize("path", TASKS)
def test_every_entry_names_a_task_that_needs_no_arguments(path):
    module, name = path.rsplit(".", 1)
    task = getattr(import_module(module), name)
    assert app.tasks[path].run is task.run
    assert not signature(task.run).parameters


def test_beat_is_given_the_whole_timetable():
    given = {entry["task"]: entry["schedule"] for entry in app.conf.beat_schedule.values()}
    assert given == dict(TIMETABLE.values())


def test_a_turn_not_taken_before_the_next_is_dropped():
    for entry in settings.CELERY_BEAT_SCHEDULE.values():
        assert entry["options"]["expires"] == entry["schedule"]


def test_a_broker_that_is_away_is_given_up_at_once(closed_port, tmp_path):
    took, end = ask(f"redis://127.0.0.1:{closed_port}/0", tmp_path)
    assert end == "OperationalError"
    assert took < 0.1  # our choice: what a person does not notice


def test_a_broker_that_hangs_is_given_up_within_a_second(listening, tmp_path):
    took, end = ask(f"redis://127.0.0.1:{listening.getsockname()[1]}/0", tmp_path)
    assert end == "OperationalError"
    assert took < 1


@pytest.mark.slow
def test_a_broker_that_is_there_is_asked(redis_url, tmp_path):
    took, end = ask(redis_url, tmp_path)
    assert end == "asked"
    assert took < 0.1
