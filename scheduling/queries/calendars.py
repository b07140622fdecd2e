"""The pours of a person's calendar."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db.models import Max, Q

from scheduling.models import EventKind, Pour, PourEvent, PourState, User
from scheduling.queries.visible import pours_for

BEHIND, AHEAD = timedelta(days=30), timedelta(days=400)
CANCELLED_FOR = timedelta(days=7)  # long enough for a phone that was away to take the pour off
MOST_POURS = 3000


@dataclass(frozen=True)
class CalendarPour:
    """A pour with what its entry rests on: who is kept busy until when, and when it last changed."""

    pour: Pour
    ends_at: datetime
    changed_at: datetime
    sequence: int


def calendar_of(person: User, now: datetime) -> list[CalendarPour]:
    """The pours a person's calendar shows, by start; a cancelled one for a week, and then no more.

    Days are counted whole, from midnight UTC, so that what is shown changes by itself but once a day.
    """
    today = day_of(now)
    rows = (
        pours_for(person)
        .filter(starts_at__gte=today - BEHIND, starts_at__lt=today + AHEAD)
        .annotate(
            changed_at=Max("events__at"),
            cancelled_at=Max("events__at", filter=Q(events__kind=EventKind.CANCELLED)),
        )
        .exclude(state=PourState.CANCELLED, cancelled_at__lt=today - CANCELLED_FOR)
        .defer("plan__inputs", "plan__result")
        .prefetch_related("plan__phases")
        .order_by("starts_at", "id")
    )
    return [_entry(pour) for pour in rows[:MOST_POURS]]


def _entry(pour: Pour) -> CalendarPour:
    plan = pour.plan
    ends = [phase.ends_at for phase in plan.phases.all() if phase.kind != "cut"] if plan else []
    return CalendarPour(
        pour=pour,
        ends_at=max(ends, default=pour.starts_at + timedelta(hours=1)),
        changed_at=getattr(pour, "changed_at", None) or pour.booked_at,
        # Both only ever rise, and whatever a reader would see change raises one of them.
        sequence=pour.version - 1 + (plan.number if plan else 0),
    )


def day_of(now: datetime) -> datetime:
    """The midnight, UTC, that the day began with."""
    return now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)


def last_change(now: datetime) -> datetime:
    """When any calendar last may have changed: with the last thing that happened, or with the day."""
    happened: Sequence[datetime] = [at for at in [PourEvent.objects.aggregate(at=Max("at"))["at"]] if at]
    return max([*happened, day_of(now)])
