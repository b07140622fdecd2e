"""The week on one page: what needs somebody, who is booked twice, and its days with pours and weather."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from scheduling.errors import Refusal
from scheduling.models import Company, Crew, Plant, Pour, User
from scheduling.pages.access import needs, person, pour_or_404
from scheduling.pages.betterweek import better_week
from scheduling.pages.broken import BrokenKind, broken_kinds
from scheduling.pages.clashes import clash_words, pour_name
from scheduling.pages.clock import long_day
from scheduling.pages.weather import weather_trouble
from scheduling.pages.weekboard import board
from scheduling.pages.weekmove import (
    MoveOnWeekForm,
    MovePanel,
    asked_changes,
    fresh_form,
    panel,
    refused_panel,
    stands_words,
    typed,
)
from scheduling.pages.weekneeds import Need, needs_words
from scheduling.pages.weekplace import Place, place_of
from scheduling.pages.wording import Words
from scheduling.queries.attention import attention
from scheduling.queries.clashes import PourClash
from scheduling.queries.week import WeekView, local_day, nearest_pour, week_span, week_view
from scheduling.queries.weekrules import broken_rules
from scheduling.roles import Right
from scheduling.services import booking


@dataclass(frozen=True)
class Choice:
    """Something the week can be narrowed to."""

    pk: int
    name: str
    is_chosen: bool


@dataclass(frozen=True)
class Nearest:
    """Where there is something to see, for a week that has nothing."""

    said: str
    url: str


@dataclass(frozen=True)
class Anyway:
    """Of a proposal, what clashes and may be taken all the same: one pour, or 0 for all that are left."""

    proposal: int
    pour: int


@needs(Right.SEE_WEEK)
def week(request: HttpRequest) -> HttpResponse:
    """The week of `?day=`, or this one.

    `?crew=` and `?plant=` narrow it, `?move=` opens a pour's form, `?lost=` the form of a day rained out.
    """
    return show_week(request)


def show_week(
    request: HttpRequest,
    day: date | None = None,
    problem: str = "",
    status: int = 200,
    clashing: Sequence[PourClash] = (),
    *,
    anyway: Anyway | None = None,
    moving: MovePanel | None = None,
    with_rules: bool = False,
) -> HttpResponse:
    """The page of the week that holds that day, with what could not be done and what it would run into."""
    user, now, company = person(request), timezone.now(), Company.objects.first()
    words = Words.of(company)
    today = now.astimezone(words.office).date()
    place = place_of(request, today, day or _day_of_move(request))
    view = week_view(user, place.day, place.only, company)
    shown = {
        "board": board(view, place, today, words, may_move=user.may(Right.BOOK)),
        "place": place,
        "crews": _crew_choices(view, place),
        "plants": _plant_choices(view, place),
        "moving": moving or _asked_move(request, view, place, words),
        # The script puts in the pour that was dropped.
        "drop_to": _action(view.pours[0], place) if view.pours else "",
        "needs": _needs(view, place, user, words, now),
        "nearest": None if view.pours else _nearest(view, place, user, words),
        "better": better_week(view, user, words, request.GET.get("lost", "")),
        "broken": _broken(view, user, words, now) if with_rules else [],
        "with_rules": with_rules,
        "problem": problem,
        "anyway": anyway,
        "clashing": [clash_words(clash, words.units) for clash in clashing],
        "weather_trouble": weather_trouble(user, now),
        "here": "week",
    }
    return render(request, "pages/week.html", shown, status=status)


def _needs(view: WeekView, place: Place, user: User, words: Words, now: datetime) -> tuple[Need, ...]:
    """For those who plan; it looks past the week that is shown, and at all of it."""
    if not user.may(Right.SEE_ALL_POURS):
        return ()
    _, end = week_span(view.monday, view.zone)
    return needs_words(attention(user, end, now), place, words, now)


def _crew_choices(view: WeekView, place: Place) -> list[Choice]:
    offered = {crew.pk: crew.name for crew in view.crews}
    if place.only.crew and place.only.crew not in offered:
        offered |= dict(Crew.objects.filter(pk=place.only.crew).values_list("pk", "name"))
    return [Choice(pk, name, pk == place.only.crew) for pk, name in offered.items()]


def _plant_choices(view: WeekView, place: Place) -> list[Choice]:
    offered = {plant.pk: plant.name for plant in view.plants}
    if place.only.plant and place.only.plant not in offered:
        offered |= dict(Plant.objects.filter(pk=place.only.plant).values_list("pk", "name"))
    return [Choice(pk, name, pk == place.only.plant) for pk, name in offered.items()]


def _nearest(view: WeekView, place: Place, user: User, words: Words) -> Nearest | None:
    _, end = week_span(view.monday, view.zone)
    found = nearest_pour(user, end)
    if found is None or view.monday <= local_day(found) < view.after:
        return None
    day = local_day(found)
    which = "The next pour is" if day >= view.after else "The last pour was"
    return Nearest(f"{which} on {long_day(day, words.units)}", place.address(day))


# --- rules of the week ------------------------------------------------------------------------


@require_GET
@needs(Right.SEE_ALL_POURS)
def rules(request: HttpRequest) -> HttpResponse:
    """Rules the week breaks beside people booked twice; alone for the page, which asks once it stands."""
    if "HX-Request" not in request.headers:
        return show_week(request, with_rules=True)
    user, now, company = person(request), timezone.now(), Company.objects.first()
    words = Words.of(company)
    place = place_of(request, now.astimezone(words.office).date())
    view = week_view(user, place.day, place.only, company)
    shown = {"broken": _broken(view, user, words, now), "with_rules": True, "place": place}
    return render(request, "pages/rules.html", shown)


def _broken(view: WeekView, user: User, words: Words, now: datetime) -> list[BrokenKind]:
    """Those of the pours that are looked at, for those who see all of the week."""
    if not user.may(Right.SEE_ALL_POURS) or not view.pours:
        return []
    start, end = week_span(view.monday, view.zone)
    seen = {pour.pk for pour in view.pours}
    found = broken_rules(start, end, now)
    return broken_kinds([rule for rule in found if any(pour.pk in seen for pour in rule.pours)], words)


# --- moving a pour ----------------------------------------------------------------------------


def _asked_move(request: HttpRequest, view: WeekView, place: Place, words: Words) -> MovePanel | None:
    """The form of `?move=`, for those who may; a pour that is not there opens none."""
    asked = request.GET.get("move", "")
    if not asked.isdecimal() or not person(request).may(Right.BOOK):
        return None
    pour = next((one for one in view.pours if str(one.pk) == asked), None)
    pour = pour or pour_or_404(request, int(asked[:15]))
    form = fresh_form(pour, view.crews, request.GET.get("start", ""))
    return panel(pour, form, place, words, _action(pour, place))


def _day_of_move(request: HttpRequest) -> date | None:
    """The day of the pour whose form is asked for, where the address names no day."""
    asked = request.GET.get("move", "")
    if request.GET.get("day") or not asked.isdecimal():
        return None
    return local_day(pour_or_404(request, int(asked[:15])))


def _action(pour: Pour, place: Place) -> str:
    return place.address().replace(reverse("week-of"), reverse("week-move", args=[pour.pk]), 1)


@require_POST
@needs(Right.BOOK)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Move the pour to the day, crew and time that were dropped on or typed; nothing typed is lost."""
    company = Company.objects.first()
    words = Words.of(company)
    place = place_of(request, timezone.now().astimezone(words.office).date())
    pour, crews = pour_or_404(request, pk), list(Crew.objects.filter(active=True))
    crews += [pour.crew] if pour.crew and pour.crew not in crews else []
    sent = typed(request.POST.dict())
    form = MoveOnWeekForm(sent, crews=crews)
    if not form.is_valid():
        shown = panel(pour, form, place, words, _action(pour, place))
        return show_week(request, place.day, status=400, moving=shown)
    try:
        moved = _moved(pour, form.cleaned_data, request)
    except Refusal as refused:
        now_is = pour_or_404(request, pk)
        shown = refused_panel(now_is, refused, sent, crews, place, words, _action(pour, place))
        return show_week(request, place.day, status=refused.status, moving=shown)
    if moved is None:
        messages.success(request, f"{pour_name(pour)} stays where it is: {stands_words(pour, words)}.")
    else:
        told = stands_words(moved, words)
        messages.success(request, f"{pour_name(moved)} is moved, and planned afresh: {told}.")
    return redirect(f"{place.address(local_day(moved or pour))}#pour-{pk}")


def _moved(pour: Pour, said: dict[str, object], request: HttpRequest) -> Pour | None:
    """The pour as it stands then; None where it stands there already, and nobody changed it meanwhile."""
    changes = asked_changes(pour, said)
    if not changes and said["version"] == pour.version:
        return None
    return booking.change_pour(
        pour=pour,
        version=int(str(said["version"])),
        by=person(request),
        now=timezone.now(),
        accept_clashes="move_anyway" in request.POST,
        **changes,
    )
