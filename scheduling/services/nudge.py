"""Ask a worker to do now what the timetable would do soon."""

import logging
from functools import partial

from celery import current_app
from django.db import transaction

log = logging.getLogger(__name__)

USEFUL_S = 60  # after this long the timetable has done it anyway


def nudge(task_name: str) -> None:
    """Once what is being written is kept, ask a worker to run the task; nothing depends on the answer."""
    transaction.on_commit(partial(_ask, task_name))


def _ask(task_name: str) -> None:
    try:
        # Without a retry: whoever waits for this page should not wait for a broker that is away.
        current_app.send_task(task_name, retry=False, ignore_result=True, expires=USEFUL_S)
    except Exception as fault:  # whatever it is, the timetable still does the work
        log.warning("Nobody could be asked to run %s now, the timetable will: %s", task_name, fault)
