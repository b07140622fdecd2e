"""The record of what happened to a pour."""

from datetime import datetime
from typing import Any

from scheduling.models import EventKind, Pour, PourEvent, User


def record(pour: Pour, kind: EventKind, *, by: User | None, now: datetime, **facts: Any) -> PourEvent:
    """Add an event to the pour's record."""
    return PourEvent.objects.create(pour=pour, kind=kind, at=now, by=by, facts=facts)
