"""Rules that a week breaks in words, and the page that tries what would cure one."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from scheduling.errors import Clashes, Refusal
from scheduling.models import Company, Crew, Pour
from scheduling.pages.access import needs, person, pour_or_404
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import day_words
from scheduling.pages.week import show_week
from scheduling.pages.weekplace import place_of
from scheduling.pages.wording import Words
from scheduling.queries.week import local_day
from scheduling.roles import Right
from scheduling.services import booking
from scheduling.services.cures import TriedCure, cures

REMEDIES = {
    "later": "Start {pour} at {at} instead",
    "earlier": "Start {pour} earlier, at {at}",
    "other_crew": "Give {pour} to {crew}",
    "borrow": "Borrow {borrowed} of {crew} for {pour}",
    "early_saw": "Cut {pour} with an early-entry saw",
    "other_day": "Move {pour} to {day}, {at}",
    "plan_afresh": "Plan {pour} afresh: its loads then keep to what the road bears",
    "call_order": "Call the order of {pour} in now: the time to call was {by}",
    "release_forms": "Have the forms of {pour} looked at and released",
    "pass_inspection": "Have {pour} inspected and note that it passed",
    "ask_plant": "Ask {plant} whether it batches on {day}, and enter what it says",
}
ANCHORS = {
    "call_order": "#order",
    "release_forms": "#papers",
    "pass_inspection": "#papers",
    "plan_afresh": "#acts",
}  # where on the pour's page it is done
NOT_HERE = {
    "borrow": "Settle it with the two leads; there is nothing to change here.",
    "ask_plant": "What it says is entered among its openings and closures.",
}


@dataclass(frozen=True)
class CureWords:
    said: str
    pour: int
    version: int
    starts_at: str
    crew: int | str
    saw: str
    url: str  # where it is done, if not here
    not_here: str


class CureForm(forms.Form):
    """What a pour would say with the cure."""

    version = forms.IntegerField(min_value=1)
    starts_at = forms.DateTimeField()
    crew = forms.ModelChoiceField(Crew.objects.all(), required=False)
    saw = forms.CharField(max_length=20)


@require_GET
@needs(Right.ASSIGN)
def week_cures(request: HttpRequest) -> HttpResponse:
    """Up to three changes that were tried on the week and shown to work."""
    words, key = Words.of(Company.objects.first()), request.GET.get("clash", "")
    try:
        found, problem, status = cures(key=key, now=timezone.now()), "", 200
    except Refusal as refused:
        found, problem, status = [], refused.message, refused.status
    day = local_day(found[0].pour) if found else timezone.now().astimezone(words.office).date()
    place = place_of(request, day, day)
    shown = {
        "cures": list(_worded(found, words)),
        "by_doing": any(cure.is_act for cure in found),
        "problem": problem,
        "place": place,
        "here": "week",
    }
    return render(request, "pages/cures.html", shown, status=status)


def _worded(found: list[TriedCure], words: Words) -> Iterator[CureWords]:
    for cure in found:
        pour, zone = cure.pour, site_zone(cure.pour)
        plant_zone = ZoneInfo(pour.plant.time_zone)
        said = REMEDIES[cure.remedy].format(
            pour=pour_name(pour),
            at=words.clock(cure.starts_at, zone),
            day=day_words(cure.starts_at.astimezone(zone).date(), words.units),
            crew=cure.crew.name if cure.crew else "another crew",
            borrowed=f"{cure.borrowed} {'person' if cure.borrowed == 1 else 'people'}",
            by=words.day_and_time(cure.by_at, plant_zone) if cure.by_at else "",
            plant=pour.plant.name,
        )
        anchor = ANCHORS.get(cure.remedy)
        yield CureWords(
            said=said,
            pour=pour.pk,
            version=pour.version,
            starts_at=cure.starts_at.isoformat(),
            crew=cure.crew.pk if cure.crew else "",
            saw=cure.saw,
            url=reverse("pour", args=[pour.pk]) + anchor if anchor else "",
            # Who is lent for a phase is between the leads: a pour has one crew.
            not_here=NOT_HERE.get(cure.remedy, ""),
        )


@require_POST
@needs(Right.ASSIGN)
def apply_cure(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the pour as the cure says, and go back to its week."""
    pour, form = pour_or_404(request, pk), CureForm(request.POST)
    day = local_day(pour)
    if not form.is_valid():
        return show_week(request, day, "Choose a cure.", 400)
    said = form.cleaned_data
    try:
        changed = booking.change_pour(
            pour=pour,
            version=said["version"],
            by=person(request),
            now=timezone.now(),
            **_changes(pour, said["starts_at"], said["crew"], said["saw"]),
        )
    except Refusal as refused:
        clashing = refused.facts["clashes"] if isinstance(refused, Clashes) else ()
        return show_week(request, day, refused.message, refused.status, clashing)
    messages.success(request, f"{pour_name(changed)} is changed, and planned afresh.")
    return redirect(place_of(request, day).address(local_day(changed)) + f"#pour-{pk}")


def _changes(pour: Pour, starts_at: datetime, crew: Crew | None, saw: str) -> dict[str, Any]:
    said = {"starts_at": starts_at, "crew": crew, "saw": saw}
    return {name: value for name, value in said.items() if getattr(pour, name) != value}
