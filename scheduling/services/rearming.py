"""A trial cut that ravels comes too early: the crew is reminded to try again a little later."""

from datetime import datetime, timedelta

from django.db.models import QuerySet

from scheduling import bridge
from scheduling.engine.forecast import Forecast
from scheduling.engine.sawcut import wait_after_ravelling
from scheduling.models import Pour, Reminder, ReminderKind, ReminderState, User

# How far around now the reminder may lie that is meant (our choice).
AROUND = timedelta(hours=12)


def try_first_cut_again(*, lead: User, now: datetime) -> datetime | None:
    """Arm the reminder of a lead's first cut once more; when it comes, or None where there is none."""
    return _again(_first_cuts(now).filter(pour__crew__lead=lead), now)


def try_cut_of_pour_again(*, pour: Pour, now: datetime) -> datetime | None:
    """The same where it is known which slab was tried."""
    return _again(_first_cuts(now).filter(pour=pour), now)


def _first_cuts(now: datetime) -> QuerySet[Reminder]:
    return Reminder.objects.filter(
        kind=ReminderKind.FIRST_CUT,
        state__in=(ReminderState.SENT, ReminderState.WAITING),
        due_at__gt=now - AROUND,
        due_at__lt=now + AROUND,
        useful_until__gt=now,
    ).select_related("pour__plan")


def _again(cuts: QuerySet[Reminder], now: datetime) -> datetime | None:
    # The one told last; where none has been, the next: they tried before they were told.
    cut = cuts.filter(due_at__lte=now).order_by("-due_at").first() or cuts.order_by("due_at").first()
    if cut is None:
        return None
    again_at = now + wait_after_ravelling(_air_c(cut, now))
    if again_at >= cut.useful_until:  # the last call is nearer than another trial
        return None
    due_at = max(again_at, cut.due_at) if cut.state == ReminderState.WAITING else again_at
    armed = Reminder.objects.filter(pk=cut.pk, state=cut.state)
    armed.update(state=ReminderState.WAITING, due_at=due_at, not_before=due_at, answered_at=None)
    return due_at


def _air_c(cut: Reminder, now: datetime) -> float | None:
    """The air as the pour's plan has it."""
    plan = cut.pour.plan
    return Forecast(bridge.forecast_hours(plan.inputs["forecast"])).at(now).air_c if plan else None
