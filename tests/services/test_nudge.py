"""Asking a worker to run a task now: after commit, without waiting, never a reason to fail."""

import socket
import time

import pytest
from celery import Celery
from django.db import transaction

from scheduling.services import nudge

TASK = "scheduling.tasks.send_due_messages"


class Asked:
    def __init__(self):
        self.tasks = []

    def send_task(self, name, **options):
        self.tasks.append(name)


@pytest.fixture
def asked(monkeypatch):
    recorder = Asked()
    monkeypatch.setattr(nudge, "current_app", recorder)
    return recorder


@pytest.fixture
def broker_away(monkeypatch):
    """An app whose Redis is at a port where nobody listens, set up as the service's own is."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    app = Celery("away", broker=f"redis://127.0.0.1:{port}/0", set_as_current=False)
    app.conf.broker_transport_options = {"max_retries": 0, "socket_connect_timeout": 0.05}
    monkeypatch.setattr(nudge, "current_app", app)


@pytest.mark.django_db(transaction=True)
def test_a_worker_is_asked_only_after_the_commit(asked):
    with transaction.atomic():
        nudge.nudge(TASK)
        assert asked.tasks == []
    assert asked.tasks == [TASK]


@pytest.mark.django_db(transaction=True)
def test_a_worker_is_not_asked_when_nothing_is_kept(asked):
    with transaction.atomic():
        nudge.nudge(TASK)
        transaction.set_rollback(True)
    assert asked.tasks == []


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_is_away_is_one_line_in_the_log_and_holds_nobody_up(broker_away, caplog):
    nudge.nudge(TASK)  # the first one also loads the connection's parts
    caplog.clear()
    begun = time.perf_counter()
    nudge.nudge(TASK)
    # Retrying as the broker's own defaults do takes six seconds; one refusal takes a few thousandths.
    assert time.perf_counter() - begun < 2
    assert [record.levelname for record in caplog.records] == ["WARNING"]
    assert TASK in caplog.text
