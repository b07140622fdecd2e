"""Who may be texted: people agree to it, may end it at any time, and some numbers cannot be reached."""

import logging
from datetime import datetime

from django.db import transaction

from scheduling.errors import Refusal
from scheduling.models import Consent, ConsentKind, ConsentWay, Message, MessageState, User
from scheduling.texting.handover import Fault

log = logging.getLogger(__name__)

LONGEST_REASON = 300  # as the column is


def reason_not_to_text(person: User) -> str:
    """Why this person gets no texts; empty where they do."""
    if person.texts_stopped_at:
        return f"{person} asked for no texts: phone instead"
    if not person.texts_agreed_at:
        return f"{person} has not agreed to get texts: phone instead, and ask"
    if person.phone_is_bad:
        return f"texts do not reach {person.phone}: phone {person}, and correct the number"
    return ""


@transaction.atomic
def record_agreement(*, person: User, way: ConsentWay, by: User | None, now: datetime) -> None:
    """Somebody of ours writes down that the person agreed.

    Raises
    ------
    Refusal
        If they asked for no texts since: only they themselves can take that back, by texting START.
    """
    if person.texts_stopped_at:
        raise Refusal(
            f"{person} asked for no texts. Only they can take that back, by texting START.", code="stopped"
        )
    if not person.phone:
        raise Refusal(f"{person} has no phone number yet.", code="no_phone")
    if not person.texts_agreed_at:
        person.texts_agreed_at = now
        person.save(update_fields=["texts_agreed_at"])
        _keep(person, ConsentKind.AGREED, way, now, by)


@transaction.atomic
def stop_texts(*, person: User, way: ConsentWay, by: User | None, now: datetime) -> None:
    """From this moment they get no text, until they text START."""
    if not person.texts_stopped_at:
        person.texts_stopped_at = now
        person.save(update_fields=["texts_stopped_at"])
        _keep(person, ConsentKind.STOPPED, way, now, by)


@transaction.atomic
def start_texts(*, person: User, now: datetime) -> None:
    """They texted START: that is an agreement, too."""
    person.texts_stopped_at = None
    person.texts_agreed_at = person.texts_agreed_at or now
    person.save(update_fields=["texts_stopped_at", "texts_agreed_at"])
    _keep(person, ConsentKind.STARTED, ConsentWay.BY_TEXT, now, None)


def after_refusal(message: Message, fault: Fault, said: str, now: datetime) -> tuple[MessageState, str]:
    """Note on the person what the gateway says of them; the state the text ends in, and why."""
    person = message.recipient
    if fault == Fault.OPTED_OUT:
        stop_texts(person=person, way=ConsentWay.BY_SERVICE, by=None, now=now)
        return MessageState.WITHHELD, reason_not_to_text(person)
    if fault == Fault.BAD_NUMBER:
        flag_number(person=person, reason=said, now=now)
        return MessageState.FAILED, f"{reason_not_to_text(person)} ({said})"
    return MessageState.FAILED, said


def flag_number(*, person: User, reason: str, now: datetime) -> None:
    """No more texts to this number; another number that the office enters gets its chance."""
    person.bad_phone, person.bad_phone_at = person.phone, now
    person.bad_phone_reason = reason[:LONGEST_REASON]
    person.save(update_fields=["bad_phone", "bad_phone_at", "bad_phone_reason"])
    log.warning("Texts do not reach person %s: %s", person.pk, reason)


def _keep(person: User, kind: ConsentKind, way: ConsentWay, now: datetime, by: User | None) -> None:
    Consent.objects.create(person=person, kind=kind, way=way, phone=person.phone, at=now, by=by)
