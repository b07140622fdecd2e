"""Every text: what went to whom, when, in what state it is, and why."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from django.contrib import messages as notices
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import Refusal
from scheduling.models import Company, Message, MessageState
from scheduling.pages.access import needs, person
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.wording import Words, length_words
from scheduling.queries.visible import messages_for
from scheduling.roles import Right
from scheduling.services import outbox
from scheduling.services.drafts import length_of

A_PAGE = 50
NEEDS_A_LOOK = (MessageState.FAILED, MessageState.UNKNOWN, MessageState.WITHHELD)


@dataclass(frozen=True)
class About:
    pk: int
    name: str


@dataclass(frozen=True)
class MessageRow:
    due: str
    to: str
    phone: str
    kind: str
    about: tuple[About, ...]
    body: str
    state: str
    needs_a_look: bool
    sent: str
    delivered: str
    reason: str
    is_unknown: bool
    length: str
    pk: int


@needs(Right.SEE_WEEK)
def messages(request: HttpRequest) -> HttpResponse:
    """The texts this person may see, the latest first."""
    company = Company.objects.first()
    words = Words.of(company)
    texts = messages_for(person(request)).prefetch_related("about__pour__job__site")
    page = Paginator(texts.order_by("-due_at", "-id"), A_PAGE).get_page(request.GET.get("page"))
    rows = tuple(_rows(page.object_list, words))
    return render(request, "pages/messages.html", {"rows": rows, "page": page, "here": "messages"})


@require_POST
@needs(Right.ANSWER_TEXTS)
def arrived(request: HttpRequest, pk: int) -> HttpResponse:
    """Nobody knew what became of the text; the reader does, from the recipient."""
    return _decided(request, pk, outbox.say_it_arrived, "Noted as arrived.")


@require_POST
@needs(Right.ANSWER_TEXTS)
def again(request: HttpRequest, pk: int) -> HttpResponse:
    """Nobody knew what became of the text, and the recipient has none: once more."""
    return _decided(request, pk, outbox.send_again, "It goes out again now.")


def _decided(request: HttpRequest, pk: int, decide: Callable[..., None], done: str) -> HttpResponse:
    text = get_object_or_404(messages_for(person(request)), pk=pk)
    try:
        decide(message=text, by=person(request), now=timezone.now())
        notices.success(request, done)
    except Refusal as refused:
        notices.error(request, refused.message)
    return redirect("messages")


def _rows(texts: Iterable[Message], words: Words) -> Iterator[MessageRow]:
    for text in texts:
        about = [one.pour for one in text.about.all()]
        zone = site_zone(about[0]) if about else words.office
        yield MessageRow(
            due=words.day_and_time(text.due_at, zone),
            to=str(text.recipient),
            phone=text.phone.as_national if text.phone else "",
            kind=text.get_kind_display(),
            about=tuple(About(pour.pk, pour_name(pour)) for pour in about),
            body=text.body,
            state=text.get_state_display(),
            needs_a_look=text.state in NEEDS_A_LOOK,
            sent=words.day_and_time(text.sent_at, zone) if text.sent_at else "",
            delivered=words.day_and_time(text.delivered_at, zone) if text.delivered_at else "",
            reason=text.reason,
            is_unknown=text.state == MessageState.UNKNOWN,
            length=length_words(length_of(text.body)),
            pk=text.pk,
        )
