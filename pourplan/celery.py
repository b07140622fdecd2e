"""The task queue, and the whole timetable of what the clock sets off."""

import os
from typing import Any

import django
from celery import Celery
from celery.signals import beat_init, worker_init
from django.core.management.base import BaseCommand, SystemCheckError

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "pourplan.settings")

# Name, task, seconds between turns. Each task works through the rows that are due, so a turn that is late,
# missed or taken twice does no harm, and no entry depends on a time zone or on the day the clocks change.
TIMETABLE: dict[str, tuple[str, float]] = {
    "write morning texts": ("scheduling.tasks.write_morning_texts", 60),
    "send due reminders": ("scheduling.tasks.send_due_reminders", 60),
    "send due messages": ("scheduling.tasks.send_due_messages", 30),
    "fetch weather": ("scheduling.tasks.fetch_weather", 300),
    "watch pours under way": ("scheduling.tasks.watch_pours", 60),
    "propose weeks": ("scheduling.tasks.propose_weeks", 30),
    # Nothing else may ask for this one: it says that the clock itself runs.
    "tick": ("scheduling.tasks.tick", 60),
    "mark lost messages": ("scheduling.tasks.mark_lost_messages", 300),
}

app = Celery("pourplan")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


def stop_on_wrong_settings(**_: Any) -> None:
    """Django checks its settings only in its own commands; here SystemExit gets past the signal's net."""
    django.setup()
    try:
        BaseCommand().check()
    except SystemCheckError as wrong:
        raise SystemExit(f"Pourplan cannot start: {wrong}") from wrong


worker_init.connect(stop_on_wrong_settings)
beat_init.connect(stop_on_wrong_settings)
