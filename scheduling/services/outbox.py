"""The outbox: a text is kept before it is sent, sent at most once, and never sent when it no longer holds."""

import logging
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, F, OuterRef, Q
from django.utils import translation

from scheduling.errors import Refusal
from scheduling.models import Message, MessageKind, MessagePour, MessageState, Pour, PourState, Reminder, User
from scheduling.queries.papers import state_told
from scheduling.roles import Role
from scheduling.services import consent
from scheduling.services.brake import Leaves, held_until
from scheduling.services.nudge import nudge
from scheduling.texting import dispatch
from scheduling.texting.gateways import gateway_named
from scheduling.texting.handover import Fault, Gateway, PerhapsSent, TextFailed

log = logging.getLogger(__name__)

FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
JITTER = 0.5  # waits are spread over as much again as half of them (our choice)
LOST_AFTER = timedelta(minutes=5)
LONGEST_REASON = 300  # as the column is
# A sweep stops here and leaves the rest to the next one, so that no claim is old when it is made.
SWEEP_S = 60.0
# How long word to dispatch is of use (our choice).
WORTH_TELLING = timedelta(hours=4)
# Not to go, and what dispatch must see to: such a text goes first, and no brake holds it.
ALWAYS_URGENT = frozenset({MessageKind.CALL_OFF, MessageKind.DISPATCH})
# With more due than this, a second worker is asked to help.
ENOUGH_FOR_TWO = 10


# --- into the outbox --------------------------------------------------------------------------


def queue_message(
    *,
    key: str,
    kind: MessageKind,
    recipient: User,
    body: str,
    due_at: datetime,
    useful_until: datetime,
    pours: Iterable[Pour],
    now: datetime,
    reminder: Reminder | None = None,
    is_urgent: bool = False,
) -> Message | None:
    """Keep a text to be sent from `due_at` on; None where one with this key was kept before.

    `is_urgent` says that somebody must not go, or not pour; some kinds of text are urgent in any case.
    """
    with transaction.atomic():
        message, is_new = Message.objects.get_or_create(
            key=key,
            defaults={
                "kind": kind,
                "is_urgent": is_urgent or kind in ALWAYS_URGENT,
                "recipient": recipient,
                "language": recipient.language,
                "body": body,
                "made_at": now,
                "due_at": due_at,
                "useful_until": useful_until,
                "next_try_at": due_at,
                "reminder": reminder,
            },
        )
        if not is_new:
            return None
        MessagePour.objects.bulk_create(
            MessagePour(
                message=message,
                pour=pour,
                pour_version=pour.version,
                pour_state=state_told(pour),
                plan_id=pour.plan_id,
            )
            for pour in pours
        )
    return message


def tell(
    *,
    person: User,
    body: Callable[[], str],
    key: str,
    kind: MessageKind,
    now: datetime,
    useful_until: datetime,
    pours: Iterable[Pour],
    is_urgent: bool = False,
) -> int:
    """Keep a text that goes at once, worded while its reader's language is in force; how many are new."""
    with translation.override(person.language):
        worded = body()
    text = queue_message(
        key=key,
        kind=kind,
        recipient=person,
        body=worded,
        due_at=now,
        useful_until=useful_until,
        pours=pours,
        now=now,
        is_urgent=is_urgent,
    )
    return int(text is not None)


def tell_dispatch(
    *,
    key: str,
    body: Callable[[], str],
    now: datetime,
    useful_until: datetime,
    about: User | None = None,
    pours: Iterable[Pour] = (),
) -> int:
    """Keep a text to everybody who dispatches, but for whom it is about; how many are new.

    `body` is asked for each of them, while their own language is in force.
    """
    pours = list(pours)
    count = sum(
        tell(
            person=person,
            body=body,
            key=f"dispatch:{key}:{person.pk}",
            kind=MessageKind.DISPATCH,
            now=now,
            useful_until=useful_until,
            pours=pours,
        )
        for person in dispatchers()
        if person != about
    )
    if count:
        nudge("scheduling.tasks.send_due_messages")
    return count


def dispatchers() -> list[User]:
    """Everybody who dispatches and has a phone; the office where nobody does."""
    told = User.objects.filter(is_active=True).exclude(phone="")
    return list(told.filter(role=Role.DISPATCHER) or told.filter(role=Role.OFFICE))


def report_loss(*, message: Message, reason: str, now: datetime) -> None:
    """A text that will never arrive is for dispatch to phone through; word to dispatch itself is not."""
    if message.kind != MessageKind.DISPATCH:
        tell_dispatch(
            key=f"lost:{message.pk}",
            body=partial(dispatch.lost_text, reason, message.body),
            about=message.recipient,
            now=now,
            useful_until=now + WORTH_TELLING,
        )


def withdraw(*, message: Message, reason: str) -> bool:
    """Take back a text that still waits; False where a worker has it already."""
    waiting = Message.objects.filter(pk=message.pk, state=MessageState.QUEUED)
    return waiting.update(state=MessageState.EXPIRED, reason=reason) == 1


# --- out of the house -------------------------------------------------------------------------


class TryLater(Exception):
    """Nothing more should go just now: the minute's texts are gone, or the gateway is busy."""


@dataclass
class Sweep:
    """One worker's way through what is due."""

    gateway: Gateway
    began_at: datetime
    leaves: Leaves = field(default_factory=Leaves)
    began_s: float = field(default_factory=time.monotonic)

    def seconds(self) -> float:
        return time.monotonic() - self.began_s

    def at(self) -> datetime:
        """The moment it is, counted from the one the sweep was given."""
        return self.began_at + timedelta(seconds=self.seconds())


def send_due(*, now: datetime, limit: int = 200) -> int:
    """Send what is due, urgent texts first, then the oldest; the number that left the house."""
    due = Message.objects.filter(state=MessageState.QUEUED, next_try_at__lte=now)
    in_order = due.order_by("-is_urgent", "next_try_at", "id")
    found = list(in_order.values_list("pk", "is_urgent")[:limit])
    sweep = Sweep(gateway_named(settings.TEXT_GATEWAY), now)
    sent = 0
    for pk, is_urgent in found:
        if sweep.seconds() > SWEEP_S:
            break
        try:
            if _send(pk, sweep, is_urgent=is_urgent):
                sent += 1
                _call_help(sent, len(found))
        except TryLater:
            break
        except Exception:  # whatever is wrong with this one, the next must still go
            log.exception("Text %s was not worked through", pk)
    return sent


def _call_help(sent: int, found: int) -> None:
    """Once the first text has gone, so that the brakes are off, ask one more worker where there is much."""
    if sent == 1 and found > ENOUGH_FOR_TWO:
        nudge("scheduling.tasks.send_due_messages")


def _send(pk: int, sweep: Sweep, *, is_urgent: bool) -> bool:
    """Claim one text and send it, unless another worker was first or it should not be sent any more."""
    now = sweep.at()
    if not sweep.leaves.has_room(now) and not is_urgent:
        raise TryLater
    claimed = Message.objects.filter(pk=pk, state=MessageState.QUEUED).update(
        state=MessageState.SENDING, claimed_at=now, tries=F("tries") + 1
    )
    if claimed != 1:
        return False
    called_off = Q(pour__state=PourState.CANCELLED) & ~Q(message__kind=MessageKind.CALL_OFF)
    changed = called_off | ~Q(pour__version=F("pour_version"))
    told_of = MessagePour.objects.filter(changed, message=OuterRef("pk"))
    message = Message.objects.select_related("recipient").annotate(out_of_date=Exists(told_of)).get(pk=pk)
    kept_back = _reason_to_keep_back(message, now)
    if kept_back:
        state, reason = kept_back
        _settle(message, state=state, reason=reason)
        return False
    if held := held_until(message, now):
        _put_off(message, held)
        return False
    sweep.leaves.spend()
    return _hand_over(message, sweep)


def _reason_to_keep_back(message: Message, now: datetime) -> tuple[MessageState, str] | None:
    person = message.recipient
    if message.useful_until <= now:
        return MessageState.EXPIRED, f"its time has passed. {message.reason}".strip()
    if not person.phone:
        return MessageState.FAILED, f"{person} has no phone number"
    if reason := consent.reason_not_to_text(person):
        return MessageState.WITHHELD, reason
    if message.out_of_date:  # type: ignore[attr-defined]  # annotated
        return MessageState.EXPIRED, "the pour changed since"
    return None


def _hand_over(message: Message, sweep: Sweep) -> bool:
    """No transaction is open here, so no row is locked while the network takes its time."""
    phone = message.recipient.phone
    try:
        key = sweep.gateway.send(
            phone=str(phone),
            body=message.body,
            key=f"{message.key}#{message.resends}",
            text=message.pk,
            again=message.resends,
        )
    except TextFailed as failed:
        _note_failure(message, failed, sweep.at())
        if failed.wait_s is not None:
            raise TryLater from failed
        return False
    except PerhapsSent as perhaps:
        _settle(message, state=MessageState.UNKNOWN, phone=phone, reason=str(perhaps))
        return False
    except Exception as fault:  # it may have left all the same: sending it again is for a person to decide
        log.exception("The gateway broke on text %s", message.pk)
        _settle(message, state=MessageState.UNKNOWN, phone=phone, reason=f"the gateway broke: {fault!r}")
        return False
    sent_at = sweep.at()
    _settle(message, state=MessageState.SENT, phone=phone, sent_at=sent_at, gateway_key=key, reason="")
    return True


def _put_off(message: Message, until: datetime) -> None:
    """Not a try: nothing was handed over."""
    reason = "too many texts to them within the hour"
    _settle(message, state=MessageState.QUEUED, next_try_at=until, tries=F("tries") - 1, reason=reason)


def _note_failure(message: Message, failed: TextFailed, now: datetime) -> None:
    phone = message.recipient.phone
    if failed.fault == Fault.PASSING:
        next_try_at = now + wait_before_next_try(message, failed.wait_s)
        _settle(message, state=MessageState.QUEUED, next_try_at=next_try_at, reason=failed.message)
        return
    with transaction.atomic():
        state, reason = consent.after_refusal(message, failed.fault, failed.message, now)
        _settle(message, state=state, phone=phone, reason=reason)
        report_loss(message=message, reason=reason, now=now)


def wait_before_next_try(message: Message, asked_s: float | None = None) -> timedelta:
    """Twice as long each time, spread by the text's own key, and never shorter than the gateway asked."""
    doubled = min(FIRST_WAIT * 2 ** (message.tries - 1), LONGEST_WAIT)
    drawn = int.from_bytes(sha256(f"{message.key}:{message.tries}".encode()).digest()[:4]) / 2**32
    return max(doubled * (1 + JITTER * drawn), timedelta(seconds=asked_s or 0))


def _settle(message: Message, *, state: MessageState, reason: str, **changes: object) -> None:
    """Note how the claimed text ended, also where it was given up for lost while the gateway was slow."""
    own = Message.objects.filter(
        pk=message.pk,
        claimed_at=message.claimed_at,
        state__in=(MessageState.SENDING, MessageState.UNKNOWN),
    )
    own.update(state=state, reason=reason[:LONGEST_REASON], **changes)


# --- when nobody knows ------------------------------------------------------------------------


def mark_lost(*, now: datetime) -> int:
    """Mark texts whose worker stopped between sending and noting it: perhaps sent, so never sent again."""
    lost = Message.objects.filter(state=MessageState.SENDING, claimed_at__lt=now - LOST_AFTER)
    count = lost.update(
        state=MessageState.UNKNOWN, reason="the worker stopped while sending: ask before sending again"
    )
    if count:
        log.warning("%d texts were perhaps sent, perhaps not", count)
    return count


def say_it_arrived(*, message: Message, by: User, now: datetime) -> None:
    """Somebody asked the recipient, who has the text."""
    reason = f"{by} says it arrived"
    _decide(message, by, now, state=MessageState.DELIVERED, delivered_at=now, reason=reason)


def send_again(*, message: Message, by: User, now: datetime) -> None:
    """Somebody asked the recipient, who has no text: it goes out once more."""
    if message.useful_until <= now:
        raise Refusal("It is too late for this text: what it says is over. Phone them.", code="too_late")
    _decide(
        message,
        by,
        now,
        state=MessageState.QUEUED,
        next_try_at=now,
        claimed_at=None,
        resends=F("resends") + 1,
        reason=f"{by} sends it again",
    )
    nudge("scheduling.tasks.send_due_messages")


def _decide(message: Message, by: User, now: datetime, **changes: object) -> None:
    """Of two people at once the second is told; a receipt may have been quicker than both."""
    unknown = Message.objects.filter(pk=message.pk, state=MessageState.UNKNOWN)
    if unknown.update(decided_by=by, decided_at=now, **changes) != 1:
        raise Refusal("It is known by now what became of this text.", code="decided")
