"""What the clock sets off. Each task works through rows that are due; what it does is in a service."""

from celery import shared_task
from django.utils import timezone

from scheduling.services import forecastwatch, heartbeat, live, morning, outbox, reminders, week


@shared_task
def write_morning_texts() -> None:
    morning.write_due(now=timezone.now())


@shared_task
def send_due_reminders() -> None:
    reminders.send_due(now=timezone.now())


@shared_task
def send_due_messages() -> None:
    outbox.send_due(now=timezone.now())


@shared_task
def mark_lost_messages() -> None:
    outbox.mark_lost(now=timezone.now())


@shared_task
def fetch_weather() -> None:
    forecastwatch.fetch_due(now=timezone.now())


@shared_task
def watch_pours() -> None:
    live.watch(now=timezone.now())


@shared_task
def propose_weeks() -> None:
    week.work_due(clock=timezone.now)


@shared_task
def tick() -> None:
    heartbeat.tick(now=timezone.now())
