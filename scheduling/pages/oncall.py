"""What is due, what comes next and what needs a person, and who may be texted at all."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from http import HTTPStatus

from django.contrib import messages as notices
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from scheduling.errors import Refusal
from scheduling.models import Company, ConsentWay, Message, MessageState, Reminder, ReminderKind, Reply, User
from scheduling.pages.access import needs, person
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import lasting
from scheduling.pages.wording import Words
from scheduling.queries import oncall
from scheduling.roles import Right
from scheduling.services import consent, inbox
from scheduling.services.turns import OFFICE_KINDS

CURE = "nothing is sent. Start the worker and its clock."
WAYS = {ConsentWay.IN_PERSON, ConsentWay.ON_PAPER}


@dataclass(frozen=True)
class ComingRow:
    at: str
    what: str
    to: str
    pour: int | None = None


@dataclass(frozen=True)
class TextRow:
    pk: int
    due: str
    to: str
    state: str
    reason: str
    begins: str
    is_unknown: bool


@dataclass(frozen=True)
class ReplyRow:
    pk: int
    at: str
    who: str
    phone: str
    body: str
    meaning: str


@dataclass(frozen=True)
class PersonRow:
    pk: int
    name: str
    role: str
    phone: str
    trouble: str
    agreed: str
    can_agree: bool
    can_stop: bool


# --- for machines that watch ------------------------------------------------------------------


@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """200 while the clock ticks and nothing due lies about, 503 otherwise. It tells nobody's name."""
    now = timezone.now()
    try:
        seen = oncall.health(now)
    except DatabaseError:
        return JsonResponse({"well": False, "database": "away"}, status=HTTPStatus.SERVICE_UNAVAILABLE)
    told = {
        "well": seen.is_well,
        "clock": "stopped" if seen.clock_stopped else "ticking",
        "clock_ticked_s_ago": _seconds(seen.clock_at, now),
        "texts": "stuck" if seen.stuck else "going",
        "oldest_due_s_ago": _seconds(seen.oldest_due_at, now),
    }
    return JsonResponse(told, status=HTTPStatus.OK if seen.is_well else HTTPStatus.SERVICE_UNAVAILABLE)


def _seconds(moment: datetime | None, now: datetime) -> int | None:
    return None if moment is None else round((now - moment).total_seconds())


# --- for people -------------------------------------------------------------------------------


@needs(Right.SEE_MESSAGES)
def on_call(request: HttpRequest) -> HttpResponse:
    """One page to look at when somebody says that no text came."""
    now = timezone.now()
    words, seen = Words.of(Company.objects.first()), oncall.on_call(now)
    shown = {
        "here": "messages",
        "problems": tuple(_problems(seen.health, now)),
        "clock": _ago(seen.health.clock_at, now) if seen.health.clock_at else "",
        "waiting": tuple(_text(text, words) for text in seen.waiting),
        "coming": tuple(_coming(one, words) for one in seen.coming),
        "texts": tuple(_text(text, words) for text in seen.texts),
        "replies": tuple(_reply(reply, words) for reply in seen.replies),
        "people": tuple(_person(user, words) for user in oncall.people_to_text()),
    }
    return render(request, "pages/oncall.html", shown)


def _ago(moment: datetime | None, now: datetime) -> str:
    return f"{lasting(now - moment)} ago" if moment else "never"


def _problems(seen: oncall.Health, now: datetime) -> Iterator[str]:
    if seen.clock_at is None:
        yield f"The clock has never run: {CURE}"
    elif seen.clock_stopped:
        yield f"The clock stopped {_ago(seen.clock_at, now)}: {CURE}"
    if seen.stuck and seen.oldest_due_at:
        yield f"Something was due {_ago(seen.oldest_due_at, now)} and has not gone."


def _coming(one: oncall.Coming, words: Words) -> ComingRow:
    if one.message:
        at = words.day_and_time(one.due_at, words.office)
        return ComingRow(at, one.message.get_kind_display(), str(one.message.recipient))
    if one.reminder is None:
        raise LookupError("What is coming is a text or a reminder.")
    pour = one.reminder.pour
    at = words.day_and_time(one.due_at, site_zone(pour))
    what = f"{one.reminder.get_kind_display()}, {pour_name(pour)}"
    return ComingRow(at, what, _told(one.reminder), pour.pk)


def _told(reminder: Reminder) -> str:
    crew = reminder.pour.crew
    if reminder.kind == ReminderKind.UNANSWERED:
        return "dispatch, if need be"
    if reminder.kind in OFFICE_KINDS or not (crew and crew.lead):
        return "the office"
    lead = f"{crew.lead}, {crew}"
    return f"dispatch and {lead}" if reminder.kind == ReminderKind.EVENING else lead


def _text(text: Message, words: Words) -> TextRow:
    return TextRow(
        pk=text.pk,
        due=words.day_and_time(text.due_at, words.office),
        to=str(text.recipient),
        state=text.get_state_display(),
        reason=text.reason,
        begins=text.body.split("\n", 1)[0],
        is_unknown=text.state == MessageState.UNKNOWN,
    )


def _reply(reply: Reply, words: Words) -> ReplyRow:
    return ReplyRow(
        pk=reply.pk,
        at=words.day_and_time(reply.received_at, words.office),
        who=str(reply.person or "Nobody we know"),
        phone=reply.phone.as_national if reply.phone and reply.phone.is_valid() else str(reply.phone),
        body=reply.body,
        meaning=reply.get_meaning_display(),
    )


def _person(user: User, words: Words) -> PersonRow:
    agreed = user.texts_agreed_at
    return PersonRow(
        pk=user.pk,
        name=str(user),
        role=user.get_role_display(),
        phone=user.phone.as_national if user.phone else "no number",
        trouble=consent.reason_not_to_text(user) if user.phone else "",
        agreed=f"agreed {words.day_and_time(agreed, words.office)}" if agreed else "",
        can_agree=bool(user.phone) and not agreed and not user.texts_stopped_at,
        can_stop=not user.texts_stopped_at and agreed is not None,
    )


@require_POST
@needs(Right.ANSWER_TEXTS)
def seen(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody has read what was texted."""
    try:
        inbox.mark_seen(reply=get_object_or_404(Reply, pk=pk), by=person(request), now=timezone.now())
    except Refusal as refused:
        notices.error(request, refused.message)
    return redirect("on-call")


@require_POST
@needs(Right.KEEP_COMPANY)
def agreed(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody told us that they agree to get texts."""
    user = get_object_or_404(oncall.people_to_text(), pk=pk)
    way = request.POST.get("way", "")
    try:
        if way not in WAYS:
            raise Refusal("Say how they agreed.")
        consent.record_agreement(person=user, way=ConsentWay(way), by=person(request), now=timezone.now())
        notices.success(request, f"Noted: {user} agreed to get texts.")
    except Refusal as refused:
        notices.error(request, refused.message)
    return redirect("on-call")


@require_POST
@needs(Right.KEEP_COMPANY)
def stopped(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody told us that they want no more texts."""
    user = get_object_or_404(oncall.people_to_text(), pk=pk)
    consent.stop_texts(person=user, way=ConsentWay.IN_PERSON, by=person(request), now=timezone.now())
    notices.success(request, f"Noted: {user} gets no more texts until they text START.")
    return redirect("on-call")
