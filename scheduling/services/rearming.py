"""A trial cut that ravels comes too early: the crew is reminded to try again a little later."""

from datetime import datetime, timedelta

from scheduling.models import Reminder, ReminderKind, ReminderState, User

# Common practice, no source.
BETWEEN_TRIALS = timedelta(minutes=30)
# How far around now the reminder may lie that is meant (our choice).
AROUND = timedelta(hours=12)


def try_first_cut_again(*, lead: User, now: datetime) -> datetime | None:
    """Arm the reminder of the first cut once more; when it comes, or None where there is none to arm."""
    again_at = now + BETWEEN_TRIALS
    cuts = Reminder.objects.filter(
        kind=ReminderKind.FIRST_CUT,
        pour__crew__lead=lead,
        state__in=(ReminderState.SENT, ReminderState.WAITING),
        due_at__gt=now - AROUND,
        due_at__lt=now + AROUND,
        useful_until__gt=again_at,
    )
    # The one told last; where none has been, the next: they tried before they were told.
    cut = cuts.filter(due_at__lte=now).order_by("-due_at").first() or cuts.order_by("due_at").first()
    if cut is None:
        return None
    due_at = max(again_at, cut.due_at) if cut.state == ReminderState.WAITING else again_at
    armed = Reminder.objects.filter(pk=cut.pk, state=cut.state)
    armed.update(state=ReminderState.WAITING, due_at=due_at, not_before=due_at, answered_at=None)
    return due_at
