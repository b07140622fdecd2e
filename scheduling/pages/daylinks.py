"""The link to the lead's day and the photos that came by it, for those who see the pour in the office."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages as notices
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from scheduling.errors import Refusal
from scheduling.models import DayLink, NoteKind, Pour, SiteNote
from scheduling.pages.access import needs, person, pour_or_404
from scheduling.pages.phone import photo_answer
from scheduling.pages.wording import Words
from scheduling.roles import Right
from scheduling.services import daylinks

LINKS_SHOWN = 4


@dataclass(frozen=True)
class LinkRow:
    pk: int
    lead: str
    stand: str
    opens: bool


@dataclass(frozen=True)
class PhotoRow:
    pk: int
    at: str
    words: str


@dataclass(frozen=True)
class PhonePanel:
    pour: int
    lead: str
    links: tuple[LinkRow, ...]
    photos: tuple[PhotoRow, ...]


def phone_panel(pour: Pour, words: Words, now: datetime) -> PhonePanel:
    """What the pour's page says of the lead's phone."""
    lead = str(pour.crew.lead) if pour.crew and pour.crew.lead else ""
    links = daylinks.links_of(pour)[:LINKS_SHOWN]
    return PhonePanel(
        pour.pk, lead, tuple(_link(link, words, now) for link in links), tuple(_photos(pour, words))
    )


def _link(link: DayLink, words: Words, now: datetime) -> LinkRow:
    if link.revoked_at:
        by = f" by {link.revoked_by}" if link.revoked_by else ""
        stand = f"taken back {words.day_and_time(link.revoked_at, words.office)}{by}"
    elif link.ends_at <= now:
        stand = f"ended {words.day_and_time(link.ends_at, words.office)}"
    elif link.last_used_at:
        stand = f"opened last {words.day_and_time(link.last_used_at, words.office)}"
    else:
        stand = "not opened yet"
    return LinkRow(link.pk, str(link.lead), stand, link.revoked_at is None and link.ends_at > now)


def _photos(pour: Pour, words: Words) -> Iterator[PhotoRow]:
    taken = pour.site_notes.filter(kind=NoteKind.PHOTO, undone_at__isnull=True)
    for note in taken.order_by("-happened_at", "-pk"):
        at = words.day_and_time(note.happened_at, words.office)
        yield PhotoRow(note.pk, at, note.words or "Photo")


@require_POST
@needs(Right.ASSIGN)
def renew(request: HttpRequest, pk: int) -> HttpResponse:
    """Text the lead a new link; the one before opens nothing from now on."""
    pour = pour_or_404(request, pk)
    try:
        text = daylinks.renew(pour=pour, by=person(request), now=timezone.now())
        notices.success(request, f"A new link goes to {text.recipient}. The one before opens nothing now.")
    except Refusal as refused:
        notices.error(request, refused.message)
    return redirect("pour", pk)


@require_POST
@needs(Right.ASSIGN)
def revoke(request: HttpRequest, pk: int, link: int) -> HttpResponse:
    """Take a link back."""
    pour = pour_or_404(request, pk)
    kept = get_object_or_404(DayLink, pk=link, crew=pour.crew)
    try:
        daylinks.revoke(link=kept, by=person(request), now=timezone.now())
        notices.success(request, "Taken back: that link opens nothing now.")
    except Refusal as refused:
        notices.error(request, refused.message)
    return redirect("pour", pk)


@require_GET
@needs(Right.SEE_WEEK)
def photo(request: HttpRequest, pk: int, note: int) -> FileResponse:
    """A photo of the pour, for those who may see the pour."""
    pour = pour_or_404(request, pk)
    return photo_answer(get_object_or_404(SiteNote, pk=note, pour=pour, undone_at__isnull=True))
