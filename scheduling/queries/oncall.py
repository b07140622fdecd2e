"""What whoever is on call must know of texts: do they go, what waits, what is next, what needs a person."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import QuerySet

from scheduling.models import Heartbeat, Message, MessageState, Reminder, ReminderState, Reply, User

# Three turns of the timetable missed, and what a text may wait before somebody must look (our choice).
CLOCK_STOPPED_AFTER = timedelta(minutes=3)
STUCK_AFTER = timedelta(minutes=10)
LATELY = timedelta(days=2)
MOST_ROWS = 20
NEEDS_A_PERSON = (MessageState.UNKNOWN, MessageState.FAILED, MessageState.WITHHELD)


@dataclass(frozen=True)
class Health:
    """Read from rows alone: it asks neither the worker nor the broker."""

    clock_at: datetime | None
    clock_stopped: bool
    oldest_due_at: datetime | None  # of the texts and reminders that should have gone and still could
    stuck: bool

    @property
    def is_well(self) -> bool:
        return not self.clock_stopped and not self.stuck


@dataclass(frozen=True)
class Coming:
    """A text or a reminder that is due next."""

    due_at: datetime
    message: Message | None = None
    reminder: Reminder | None = None


@dataclass(frozen=True)
class OnCall:
    health: Health
    waiting: tuple[Message, ...]  # due and not sent, oldest first
    coming: tuple[Coming, ...]
    texts: tuple[Message, ...]  # of the last days, that need a person
    replies: tuple[Reply, ...]  # to be read


def health(now: datetime) -> Health:
    """Whether the clock ticks and nothing that is due lies about."""
    clock_at = Heartbeat.objects.values_list("at", flat=True).first()
    text = due_unsent(now).values_list("due_at", flat=True).first()
    reminder = _reminders(now).filter(due_at__lte=now).values_list("due_at", flat=True).first()
    oldest = min((at for at in (text, reminder) if at), default=None)
    return Health(
        clock_at=clock_at,
        clock_stopped=clock_at is None or now - clock_at > CLOCK_STOPPED_AFTER,
        oldest_due_at=oldest,
        stuck=oldest is not None and now - oldest > STUCK_AFTER,
    )


def due_unsent(now: datetime) -> QuerySet[Message]:
    """Texts that should have gone by now and could still be of use, the oldest first."""
    waiting = Message.objects.filter(state=MessageState.QUEUED, due_at__lte=now, useful_until__gt=now)
    return waiting.select_related("recipient").order_by("due_at", "id")


def _reminders(now: datetime) -> QuerySet[Reminder]:
    waiting = Reminder.objects.filter(state=ReminderState.WAITING, useful_until__gt=now)
    return waiting.select_related("pour__job__site", "pour__crew__lead").order_by("due_at", "id")


def on_call(now: datetime) -> OnCall:
    """All of it in a handful of queries."""
    texts = Message.objects.filter(state__in=NEEDS_A_PERSON, due_at__gt=now - LATELY, due_at__lte=now)
    return OnCall(
        health=health(now),
        waiting=tuple(due_unsent(now)[:MOST_ROWS]),
        coming=_coming(now),
        texts=tuple(texts.select_related("recipient").order_by("-due_at", "-id")[:MOST_ROWS]),
        replies=tuple(replies_to_read()[:MOST_ROWS]),
    )


def _coming(now: datetime) -> tuple[Coming, ...]:
    queued = Message.objects.filter(state=MessageState.QUEUED, due_at__gt=now).select_related("recipient")
    texts = [Coming(text.due_at, message=text) for text in queued.order_by("due_at", "id")[:MOST_ROWS]]
    due = _reminders(now).filter(due_at__gt=now)[:MOST_ROWS]
    both = texts + [Coming(reminder.due_at, reminder=reminder) for reminder in due]
    return tuple(sorted(both, key=lambda one: one.due_at)[:MOST_ROWS])


def replies_to_read() -> QuerySet[Reply]:
    """What people texted that nobody has seen to yet, the latest first."""
    unread = Reply.objects.filter(needs_a_look=True, seen_at=None)
    return unread.select_related("person").order_by("-received_at", "-id")


def people_to_text() -> QuerySet[User]:
    """Everybody who works here and may be texted."""
    return User.objects.filter(is_active=True).select_related("crew_led").order_by("first_name", "username")
