"""The clock's own sign of life, so that anybody can see when it has stopped."""

from datetime import datetime

from scheduling.models import Heartbeat


def tick(*, now: datetime) -> None:
    """Note that the clock ticked and a worker heard it; only the timetable asks for this."""
    Heartbeat.objects.update_or_create(pk=1, defaults={"at": now})
