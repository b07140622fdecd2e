"""The outbox: a text is kept before it is sent, sent at most once, and never sent when it no longer holds."""

import logging
import time
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q

from scheduling.models import Message, MessageKind, MessagePour, MessageState, Pour, PourState, User
from scheduling.texting.gateways import Gateway, TextFailed, gateway_named

log = logging.getLogger(__name__)

FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
LOST_AFTER = timedelta(minutes=5)
LONGEST_REASON = 300  # as the column is
# A sweep stops here and leaves the rest to the next one, so that no claim is old when it is made.
SWEEP_S = 60.0


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
) -> Message | None:
    """Keep a text to be sent from `due_at` on; None where one with this key was kept before."""
    with transaction.atomic():
        message, is_new = Message.objects.get_or_create(
            key=key,
            defaults={
                "kind": kind,
                "recipient": recipient,
                "body": body,
                "made_at": now,
                "due_at": due_at,
                "useful_until": useful_until,
                "next_try_at": due_at,
            },
        )
        if not is_new:
            return None
        MessagePour.objects.bulk_create(
            MessagePour(message=message, pour=pour, pour_version=pour.version) for pour in pours
        )
    return message


def withdraw(*, message: Message, reason: str) -> bool:
    """Take back a text that still waits; False where a worker has it already."""
    waiting = Message.objects.filter(pk=message.pk, state=MessageState.QUEUED)
    return waiting.update(state=MessageState.EXPIRED, reason=reason) == 1


def send_due(*, now: datetime, limit: int = 200) -> int:
    """Send what is due, oldest first; the number that left the house."""
    gateway = gateway_named(settings.TEXT_GATEWAY)
    due = Message.objects.filter(state=MessageState.QUEUED, next_try_at__lte=now)
    began = time.monotonic()
    sent = 0
    for pk in list(due.order_by("next_try_at", "id").values_list("pk", flat=True)[:limit]):
        if time.monotonic() - began > SWEEP_S:
            break
        try:
            sent += _send(pk, gateway, now)
        except Exception:  # whatever is wrong with this one, the next must still go
            log.exception("Text %s was not worked through", pk)
    return sent


def _send(pk: int, gateway: Gateway, now: datetime) -> bool:
    """Claim one text and send it, unless another worker was first or it should not be sent any more."""
    claimed = Message.objects.filter(pk=pk, state=MessageState.QUEUED).update(
        state=MessageState.SENDING, claimed_at=now, tries=F("tries") + 1
    )
    if claimed != 1:
        return False
    message = Message.objects.select_related("recipient").get(pk=pk)
    kept_back = _reason_to_keep_back(message, now)
    if kept_back:
        state, reason = kept_back
        _settle(message, state=state, reason=reason)
        return False
    return _hand_over(message, gateway, now)


def _reason_to_keep_back(message: Message, now: datetime) -> tuple[MessageState, str] | None:
    person = message.recipient
    if message.useful_until <= now:
        return MessageState.EXPIRED, f"its time has passed. {message.reason}".strip()
    if person.texts_stopped_at:
        return MessageState.WITHHELD, f"{person} asked for no texts: phone instead"
    if not person.phone:
        return MessageState.FAILED, f"{person} has no phone number"
    if _speaks_of_changed_pour(message):
        return MessageState.EXPIRED, "the pour changed since"
    return None


def _speaks_of_changed_pour(message: Message) -> bool:
    changed = Q(pour__state=PourState.CANCELLED) | ~Q(pour__version=F("pour_version"))
    return message.about.filter(changed).exists()


def _hand_over(message: Message, gateway: Gateway, now: datetime) -> bool:
    phone = message.recipient.phone
    try:
        key = gateway.send(phone=str(phone), body=message.body)
    except TextFailed as failed:
        _note_failure(message, failed, now)
        return False
    except Exception as fault:  # it may have left all the same: sending it again is for a person to decide
        log.exception("The gateway broke on text %s", message.pk)
        _settle(message, state=MessageState.UNKNOWN, phone=phone, reason=f"the gateway broke: {fault!r}")
        return False
    _settle(message, state=MessageState.SENT, phone=phone, sent_at=now, gateway_key=key, reason="")
    return True


def _note_failure(message: Message, failed: TextFailed, now: datetime) -> None:
    if failed.permanent:
        _settle(message, state=MessageState.FAILED, reason=failed.message)
        return
    wait = min(FIRST_WAIT * 2 ** (message.tries - 1), LONGEST_WAIT)
    _settle(message, state=MessageState.QUEUED, next_try_at=now + wait, reason=failed.message)


def _settle(message: Message, *, state: MessageState, reason: str, **changes: object) -> None:
    """Note how the claimed text ended, also where it was given up for lost while the gateway was slow."""
    own = Message.objects.filter(
        pk=message.pk,
        claimed_at=message.claimed_at,
        state__in=(MessageState.SENDING, MessageState.UNKNOWN),
    )
    own.update(state=state, reason=reason[:LONGEST_REASON], **changes)


def mark_lost(*, now: datetime) -> int:
    """Mark texts whose worker stopped between sending and noting it: perhaps sent, so never sent again."""
    lost = Message.objects.filter(state=MessageState.SENDING, claimed_at__lt=now - LOST_AFTER)
    count = lost.update(
        state=MessageState.UNKNOWN, reason="the worker stopped while sending: ask before sending again"
    )
    if count:
        log.warning("%d texts were perhaps sent, perhaps not", count)
    return count
