"""What the text service says became of a text: late, twice, out of order, or of nobody's text."""

import logging
from datetime import datetime

from django.db import transaction
from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce

from scheduling.models import Message, MessageState
from scheduling.services import consent, outbox
from scheduling.texting.handover import Fault
from scheduling.texting.twilio_sms import fault_of_code

log = logging.getLogger(__name__)

ARRIVED = frozenset({"delivered", "read"})
LOST = frozenset({"undelivered", "failed"})
ON_ITS_WAY = frozenset({"accepted", "scheduled", "queued", "sending", "sent"})

# What a text may be in when a receipt says that it left: a receipt can be quicker than the worker's own note.
LEAVING = (MessageState.SENDING, MessageState.UNKNOWN)


def note_receipt(
    *, gateway_key: str, status: str, code: int | None, text: int | None, again: int, now: datetime
) -> bool:
    """Note what a receipt tells; False where it is for no text of ours or tells nothing new.

    `text` and `again` are our own words in the receipt's address, which tell the text apart also
    where a worker died before it could note what the service calls it.
    """
    message = _message(gateway_key, text)
    if message is None:
        log.warning("A receipt (%s) is for no text of ours", status)
        return False
    rows = Message.objects.filter(pk=message.pk)
    if status in ARRIVED:
        return _arrived(rows, gateway_key, now)
    # Of an earlier sending only its arrival matters any more.
    if message.resends != again or message.gateway_key not in ("", gateway_key):
        return False
    if status in LOST:
        return _lost(message, code, now)
    return status in ON_ITS_WAY and _left(rows, gateway_key, now)


def _message(gateway_key: str, text: int | None) -> Message | None:
    by_name = Message.objects.select_related("recipient").filter(gateway_key=gateway_key).first()
    if by_name or text is None:
        return by_name
    return Message.objects.select_related("recipient").filter(pk=text).first()


def _arrived(rows: QuerySet[Message], gateway_key: str, now: datetime) -> bool:
    """Final: nothing that comes later changes it, and one about to be sent again is not."""
    return (
        rows.exclude(state=MessageState.DELIVERED).update(
            state=MessageState.DELIVERED,
            delivered_at=now,
            sent_at=Coalesce(F("sent_at"), now),
            gateway_key=gateway_key,
            reason="",
        )
        == 1
    )


def _left(rows: QuerySet[Message], gateway_key: str, now: datetime) -> bool:
    leaving = rows.filter(state__in=LEAVING)
    return leaving.update(state=MessageState.SENT, sent_at=now, gateway_key=gateway_key, reason="") == 1


@transaction.atomic
def _lost(message: Message, code: int | None, now: datetime) -> bool:
    said = f"not delivered, error {code}" if code else "not delivered"
    fault = fault_of_code(code) or Fault.LASTING
    under_way = Message.objects.filter(pk=message.pk, state__in=(MessageState.SENT, *LEAVING))
    if under_way.update(state=MessageState.FAILED, reason=said) != 1:
        return False
    state, reason = consent.after_refusal(message, fault, said, now)
    Message.objects.filter(pk=message.pk).update(state=state, reason=reason[: outbox.LONGEST_REASON])
    outbox.report_loss(message=message, reason=reason, now=now)
    return True
