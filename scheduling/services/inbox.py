"""The inbox: what comes in is kept once, read, acted on, and passed on where a person must see it."""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial

from django.db import transaction
from django.db.models import Max

from scheduling.errors import Refusal
from scheduling.models import (
    Answer,
    Company,
    ConsentWay,
    Meaning,
    Message,
    MessageKind,
    MessageState,
    Pour,
    Reminder,
    Reply,
    User,
)
from scheduling.services import consent, outbox
from scheduling.services.rearming import try_first_cut_again
from scheduling.texting import answers, dispatch
from scheduling.texting.replies import might_mean_stop, plain, read

log = logging.getLogger(__name__)

# The same words from the same phone within this are one text that came twice (our choice).
SAME_WITHIN = timedelta(minutes=2)
# How far back a text may lie that a reply answers (our choice).
ANSWERS_WITHIN = timedelta(hours=18)
WORTH_TELLING = timedelta(hours=4)
LONGEST_BODY = 1600  # what ten segments hold, the most a service hands over
OUT_THERE = (MessageState.SENT, MessageState.DELIVERED, MessageState.UNKNOWN)
ABOUT_CONSENT = frozenset({Meaning.STOP, Meaning.START, Meaning.HELP})


def take_in(*, gateway_key: str, phone: str, body: str, service_heard: str = "", now: datetime) -> str:
    """Keep a text and do what it says; what to text back at once, or nothing.

    `service_heard` is STOP, START or HELP where the text service itself understood and answered that.
    A text handed over twice is answered as the first time and does nothing more.
    """
    kept = Reply.objects.filter(gateway_key=gateway_key).first()
    if kept:
        return kept.answered_with
    with transaction.atomic():
        people = _people_at(phone)
        reply, is_new = Reply.objects.get_or_create(
            gateway_key=gateway_key, defaults=_columns(phone, body, service_heard, people, now)
        )
        if is_new:
            _act(reply, people, now)
            if service_heard:
                reply.answered_with = ""
            reply.save()
    return reply.answered_with


def mark_seen(*, reply: Reply, by: User, now: datetime) -> None:
    """Somebody has read it; of two people at once the second is told."""
    open_still = Reply.objects.filter(pk=reply.pk, needs_a_look=True, seen_at=None)
    if open_still.update(seen_by=by, seen_at=now) != 1:
        raise Refusal("Somebody has seen to this already.", code="seen")


# --- keeping ----------------------------------------------------------------------------------


def _people_at(phone: str) -> list[User]:
    """Those who get texts at this number, held until the reply is kept: its copy has to wait."""
    if not phone:
        return []
    return list(User.objects.select_for_update().filter(phone=phone).order_by("-is_active", "pk"))


def _columns(
    phone: str, body: str, service_heard: str, people: list[User], now: datetime
) -> dict[str, object]:
    body = body[:LONGEST_BODY]
    reading = read(service_heard or body)
    return {
        "phone": phone,
        "person": people[0] if people else None,
        "body": body,
        "received_at": now,
        "meaning": Meaning(reading.said.value),
        "late_min": reading.late_min,
        "repeats": _same_before(phone, body, now),
    }


def _same_before(phone: str, body: str, now: datetime) -> Reply | None:
    words = plain(body)
    before = Reply.objects.filter(phone=phone, repeats=None, received_at__gt=now - SAME_WITHIN)
    return next((reply for reply in before if plain(reply.body) == words), None)


# --- acting -----------------------------------------------------------------------------------


def _act(reply: Reply, people: list[User], now: datetime) -> None:
    """Consent counts however often it is said; whatever else comes twice does nothing the second time."""
    meaning = Meaning(reply.meaning)
    if meaning in ABOUT_CONSENT:
        _consent(reply, meaning, people, now)
        return
    if reply.repeats:
        reply.answered_with = reply.repeats.answered_with
        return
    if reply.person is None:
        reply.needs_a_look = True
        return
    reply.message = _last_text_to(reply.person, now)
    ACTS[meaning](reply, reply.person, now)


def _consent(reply: Reply, meaning: Meaning, people: list[User], now: datetime) -> None:
    """For everybody at this number: whoever holds the phone speaks for it."""
    company = Company.objects.first()
    name = company.name if company else ""
    for person in people:
        if meaning == Meaning.STOP:
            consent.stop_texts(person=person, way=ConsentWay.BY_TEXT, by=None, now=now)
        if meaning == Meaning.START:
            consent.start_texts(person=person, now=now)
    language = people[0].language if people else "en"
    reply.answered_with = answers.answer(meaning.value, language, name)
    reply.needs_a_look = meaning == Meaning.STOP and bool(people) and not reply.repeats


def _last_text_to(person: User, now: datetime, **kind: object) -> Message | None:
    texts = Message.objects.filter(recipient=person, state__in=OUT_THERE, **kind)
    return texts.filter(due_at__gt=now - ANSWERS_WITHIN, due_at__lte=now).order_by("-due_at", "-pk").first()


def _answer(message: Message, answer: Answer, now: datetime) -> None:
    """The last word counts: who said yes may still say no."""
    Message.objects.filter(pk=message.pk).update(answer=answer, answered_at=now)


def _yes(reply: Reply, person: User, now: datetime) -> None:
    """To the day's assignment, or to whatever was said last."""
    reply.message = _last_text_to(person, now, kind=MessageKind.MORNING) or reply.message
    if reply.message:
        _answer(reply.message, Answer.YES, now)


def _no(reply: Reply, person: User, now: datetime) -> None:
    reply.message = _last_text_to(person, now, kind=MessageKind.MORNING) or reply.message
    if reply.message:
        _answer(reply.message, Answer.NO, now)
    body = reply.message.body if reply.message else ""
    _tell(reply, person, partial(dispatch.no_text, _name(person), str(person.phone), body), now)


def _late(reply: Reply, person: User, now: datetime) -> None:
    reply.message = _last_text_to(person, now, kind=MessageKind.MORNING) or reply.message
    text = partial(dispatch.late_text, _name(person), str(person.phone), reply.late_min, reply.body)
    _tell(reply, person, text, now)


def _done(reply: Reply, person: User, now: datetime) -> None:
    """The reminder told last that nobody has answered yet."""
    open_still = {"reminder__isnull": False, "reminder__answered_at": None, "answered_at": None}
    message = _last_text_to(person, now, **open_still)
    if message is None:
        _unclear(reply, person, now)
        return
    reply.message = message
    _answer(message, Answer.DONE, now)
    Reminder.objects.filter(messages=message).update(answered_at=now)


def _ravels(reply: Reply, person: User, now: datetime) -> None:
    again_at = try_first_cut_again(lead=person, now=now)
    if again_at is None:
        _unclear(reply, person, now)
        return
    minutes = round((again_at - now).total_seconds() / 60)
    reply.answered_with = answers.answer("try_again", person.language, minutes=minutes)


def _unclear(reply: Reply, person: User, now: datetime) -> None:
    text = partial(dispatch.unclear_text, _name(person), str(person.phone), reply.body)
    _tell(reply, person, text, now)
    if might_mean_stop(reply.body):
        reply.answered_with = answers.answer("how_to_stop", person.language)


def _tell(reply: Reply, person: User, body: Callable[[], str], now: datetime) -> None:
    """To dispatch as a text, and into what needs somebody's look until it is seen to."""
    pours = Pour.objects.filter(texts__message=reply.message) if reply.message else Pour.objects.none()
    until = max(now + WORTH_TELLING, pours.aggregate(last=Max("starts_at"))["last"] or now)
    outbox.tell_dispatch(key=f"reply:{reply.pk}", body=body, about=person, now=now, useful_until=until)
    reply.needs_a_look = True
    reply.answered_with = answers.answer("passed_on", person.language)


def _name(person: User) -> str:
    """With the crew: dispatch thinks in crews."""
    crew = getattr(person, "crew_led", None)
    return f"{person}, {crew}" if crew else str(person)


ACTS: dict[Meaning, Callable[[Reply, User, datetime], None]] = {
    Meaning.YES: _yes,
    Meaning.NO: _no,
    Meaning.LATE: _late,
    Meaning.DONE: _done,
    Meaning.RAVELS: _ravels,
    Meaning.UNCLEAR: _unclear,
}
