"""Morning texts before they go: as their readers will see them, how long they are, in which language."""

from dataclasses import dataclass
from datetime import timedelta

from django.contrib import messages as notices
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import Refusal
from scheduling.models import Company, Language, User
from scheduling.pages.access import needs, person
from scheduling.pages.clock import long_day
from scheduling.pages.weekplace import asked_day
from scheduling.pages.wording import Words, length_words
from scheduling.queries.week import office_zone
from scheduling.roles import Right
from scheduling.services import drafts, people

DAY = timedelta(days=1)


@dataclass(frozen=True)
class DraftRow:
    pk: int
    to: str
    language: str
    body: str
    length: str
    is_dear: bool


@needs(Right.SEE_WEEK)
def drafts_of_day(request: HttpRequest) -> HttpResponse:
    """What every lead will read on a day, tomorrow where none is said."""
    tomorrow = timezone.now().astimezone(office_zone()).date() + DAY
    day = asked_day(request.GET.get("day", ""), tomorrow)
    found = drafts.morning_drafts(day=day, by=person(request))
    rows = [
        DraftRow(
            one.reader.pk,
            str(one.reader),
            one.reader.language,
            one.body,
            length_words(one.length),
            one.length.is_wide,
        )
        for one in found
    ]
    shown = {
        "rows": rows,
        "day": long_day(day, Words.of(Company.objects.first()).units),
        "before": day - DAY,
        "after": day + DAY,
        "on": day,
        "languages": Language.choices,
        "own": person(request),
        "here": "messages",
    }
    return render(request, "pages/drafts.html", shown)


@require_POST
@needs(Right.SEE_WEEK)
def language(request: HttpRequest, pk: int) -> HttpResponse:
    """The language of somebody's texts: one's own, or for the office anybody's."""
    asked = person(request)
    reader = asked if asked.pk == pk else get_object_or_404(User, pk=pk)
    try:
        people.choose_language(person=reader, language=request.POST.get("language", ""), by=asked)
        notices.success(request, f"Texts to {reader} are in {reader.get_language_display()} from now on.")
    except Refusal as refused:
        notices.error(request, refused.message)
    return redirect("drafts")
