"""One pour: its plan, its order, what happened to it, and what can be done about it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from scheduling.errors import Clashes, OutOfDate, Refusal
from scheduling.localtime import moment_of
from scheduling.models import Company, PlantOrder, Pour, PourState
from scheduling.pages.access import needs, person
from scheduling.pages.clashes import ClashWords, clash_words, pour_name, refused_words, site_zone
from scheduling.pages.clock import long_day, same_clock
from scheduling.pages.daylinks import phone_panel
from scheduling.pages.forms import CalledForm, ConfirmedForm, MoveForm, ReasonForm, SpotterForm, VersionForm
from scheduling.pages.papers import PaperRow, paper_rows
from scheduling.pages.placing import placing_words
from scheduling.pages.plans import PlanSheet, plan_sheet
from scheduling.pages.records import (
    OrderWords,
    Row,
    earlier_orders,
    order_words,
    pour_records,
    standing_order,
)
from scheduling.pages.slabs import kept_columns
from scheduling.pages.weather import weather_panel
from scheduling.pages.wording import Words, about
from scheduling.queries.clashes import PourClash, clashes_of
from scheduling.queries.heat import HeatStart, heat_starts
from scheduling.queries.people import crew_names
from scheduling.queries.saws import shared_saw
from scheduling.queries.visible import pours_for
from scheduling.roles import Right
from scheduling.services import booking, ordering

Act = Callable[[Pour, dict[str, Any]], Any]
Forms = dict[str, forms.Form]

# What each small form is made of; "plain" carries the version alone, for buttons without a field.
FORMS: dict[str, type[forms.Form]] = {
    "move": MoveForm,
    "hold": ReasonForm,
    "cancel": ReasonForm,
    "spotter": SpotterForm,
    "plain": VersionForm,
    "called": CalledForm,
    "confirmed": ConfirmedForm,
}
SEEN = ("version", "revision")


@dataclass(frozen=True)
class PourPage:
    """What the page shows beside its forms."""

    pk: int
    name: str
    day: str
    week: str
    state: str
    is_standing: bool
    on_hold: bool
    trucks_back: bool
    spotter: str
    site: str
    address: str
    directions: str
    crew: str
    crew_pk: int | None
    customer: str
    notes: str
    placing: list[tuple[str, str]]
    zone: str
    plant_zone: str  # only where the plant's clock differs
    clashes: tuple[ClashWords, ...]
    new_to_heat: tuple[str, ...]  # only for those who may see it
    sheet: PlanSheet | None
    saw: str
    papers: tuple[PaperRow, ...]
    order: OrderWords | None
    earlier_orders: tuple[Row, ...]

    @property
    def awaits_papers(self) -> bool:
        return any(row.is_open for row in self.papers)


@needs(Right.SEE_WEEK)
def pour(request: HttpRequest, pk: int) -> HttpResponse:
    """The pour; `?start=` fills in the form that moves it, `?all` shows at once what else would follow."""
    found = _found(request, pk)
    kept = _beside(request, found) if "all" in request.GET else {}
    return _page(request, found, fresh_forms(found, start=request.GET.get("start", "")), **kept)


@require_safe
@needs(Right.SEE_WEEK)
def beside(request: HttpRequest, pk: int) -> HttpResponse:
    """What is kept beside the pour's plan, for its page to show below."""
    return render(request, "pages/pour_records.html", _beside(request, _found(request, pk)))


def _beside(request: HttpRequest, pour: Pour) -> dict[str, Any]:
    words, now = Words.of(Company.objects.first()), timezone.now()
    return {
        "pk": pour.pk,
        "records": pour_records(pour, person(request), words),
        "weather": weather_panel(pour, person(request), words, now) if pour.is_standing else None,
        "panel": phone_panel(pour, words, now),
    }


def _found(request: HttpRequest, pk: int) -> Pour:
    """The pour with its orders and its plan's forecast, as long as this person may see it."""
    pours = pours_for(person(request)).select_related("plan__forecast").defer("plan__forecast__hours")
    orders = Prefetch("orders", PlantOrder.objects.select_related("plant", "mix"))
    return get_object_or_404(pours.prefetch_related(orders), pk=pk)


@require_POST
@needs(Right.BOOK)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        starts_at = moment_of(datetime.combine(said["day"], said["time"]), site_zone(pour), field="time")
        booking.move_pour(
            pour=pour,
            version=said["version"],
            starts_at=starts_at,
            by=person(request),
            now=timezone.now(),
            accept_clashes="move_anyway" in request.POST,
        )

    return _act(request, pk, "move", act, "Moved, and planned afresh.")


@require_POST
@needs(Right.BOOK)
def hold(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        booking.hold_pour(pour=pour, by=person(request), now=timezone.now(), **said)

    return _act(request, pk, "hold", act, "On hold: nobody is sent until it is released.")


@require_POST
@needs(Right.BOOK)
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        booking.cancel_pour(pour=pour, by=person(request), now=timezone.now(), **said)

    done = "Cancelled, with its order. Tell the plant if the order was called in."
    return _act(request, pk, "cancel", act, done)


@require_POST
@needs(Right.BOOK)
def spotter(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        booking.change_pour(pour=pour, by=person(request), now=timezone.now(), **said)

    return _act(request, pk, "spotter", act, "Noted: the crew is told who guides the trucks in.")


@require_POST
@needs(Right.BOOK)
def release(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        booking.release_pour(pour=pour, by=person(request), now=timezone.now(), **said)

    return _act(request, pk, "plain", act, "Released.")


@require_POST
@needs(Right.BOOK)
def plan_again(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        booking.replan_pour(pour=pour, by=person(request), now=timezone.now(), **said)

    return _act(request, pk, "plain", act, "Planned afresh with the newest forecast.")


@require_POST
@needs(Right.ORDER)
def order_called(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        order = _read_order(pour, said["revision"])
        ordering.call_in(order=order, taken_by=said["taken_by"], by=person(request), now=timezone.now())

    return _act(request, pk, "called", act, "Noted: the order is called in.")


@require_POST
@needs(Right.ORDER)
def order_confirmed(request: HttpRequest, pk: int) -> HttpResponse:
    def act(pour: Pour, said: dict[str, Any]) -> None:
        order = _read_order(pour, said["revision"])
        ordering.confirm(order=order, ticket=said["ticket"], by=person(request), now=timezone.now())

    return _act(request, pk, "confirmed", act, "Noted: the plant has confirmed.")


def _read_order(pour: Pour, revision: int) -> PlantOrder:
    """The standing order, as long as it still is the one its reader saw."""
    order = ordering.standing_order(pour)
    if order is None or order.revision != revision:
        raise OutOfDate("The order changed since you read it.", code="out_of_date", field="revision")
    return order


def _act(request: HttpRequest, pk: int, name: str, act: Act, done: str) -> HttpResponse:
    """Do what a form asks and go back to the pour; what cannot be done is said beside what was typed."""
    found = _found(request, pk)
    form = FORMS[name](request.POST, auto_id=f"{name}_%s")
    if not form.is_valid():
        return _page(request, found, {**fresh_forms(found), name: form}, status=400)
    try:
        act(found, form.cleaned_data)
    except Refusal as refused:
        return _refused(request, pk, name, refused)
    messages.success(request, done)
    return redirect("today") if request.POST.get("back") == "today" else redirect("pour", pk)


def _refused(request: HttpRequest, pk: int, name: str, refused: Refusal) -> HttpResponse:
    """The page as things stand now with what was typed, so that sending it again speaks of this version."""
    found = _found(request, pk)
    fresh = fresh_forms(found)
    if name not in fresh:
        return _page(request, found, fresh, problem=refused.message, status=refused.status)
    seen = {key: str(value) for key, value in fresh[name].initial.items() if key in SEEN}
    again = FORMS[name]({**request.POST.dict(), **seen}, auto_id=f"{name}_%s")
    problem = refused.message
    if again.is_valid() and refused.field in again.fields and refused.field not in SEEN:
        again.add_error(refused.field, refused.message)
        problem = ""
    elif isinstance(refused, OutOfDate):
        problem += " What you typed is still here: look at what stands now, then send it again."
    clashing = refused.facts["clashes"] if isinstance(refused, Clashes) else ()
    return _page(request, found, {**fresh, name: again}, problem, clashing, refused.status)


# --- the page ---------------------------------------------------------------------------------


def fresh_forms(pour: Pour, start: str = "") -> Forms:
    """Forms filled in with what stands; without a standing order there is none about it."""
    wall = pour.starts_at.astimezone(site_zone(pour))
    day, _, time = start.partition("T")
    order = standing_order(pour)
    initial: dict[str, dict[str, Any]] = {
        "move": {"day": day or wall.date(), "time": time or wall.time()},
        "hold": {},
        "cancel": {},
        "spotter": {"spotter": pour.spotter},
        "plain": {},
        **({"called": {}, "confirmed": {}} if order else {}),
    }
    seen = {"version": pour.version, "revision": order.revision if order else None}
    return {
        name: FORMS[name](initial={**values, **seen}, auto_id=f"{name}_%s")
        for name, values in initial.items()
    }


def _page(
    request: HttpRequest,
    pour: Pour,
    small_forms: Forms,
    problem: str = "",
    clashing: Sequence[PourClash] = (),
    status: int = 200,
    **kept: Any,
) -> HttpResponse:
    """The page; `clashing` is what a move asked for would run into, `kept` what else is shown at once."""
    words = Words.of(Company.objects.first())
    if pour.job.site.trucks_must_back and isinstance(naming := small_forms["spotter"], SpotterForm):
        naming.offer(crew_names(pour.crew))
    shown = {
        "pour": _shown(pour, request, words),
        "forms": small_forms,
        "problem": problem,
        "clashing": [refused_words(clash, words.units) for clash in clashing],
        **kept,
    }
    return render(request, "pages/pour.html", shown, status=status)


def _shown(pour: Pour, request: HttpRequest, words: Words) -> PourPage:
    zone, plant_zone, site = site_zone(pour), ZoneInfo(pour.plant.time_zone), pour.job.site
    day = pour.starts_at.astimezone(zone).date()
    standing = clashes_of(pour) if person(request).may(Right.SEE_ALL_POURS) else []
    return PourPage(
        pk=pour.pk,
        name=pour_name(pour),
        day=long_day(day, words.units),
        week=day.isoformat(),
        state=pour.get_state_display(),
        is_standing=pour.is_standing,
        on_hold=pour.state == PourState.ON_HOLD,
        trucks_back=site.trucks_must_back,
        spotter=pour.spotter,
        site=site.name if site.name != pour.job.name else "",
        address=site.address,
        directions=site.directions,
        crew=pour.crew.name if pour.crew else "No crew yet",
        crew_pk=pour.crew_id,
        customer=pour.job.customer_name,
        notes=pour.notes,
        placing=placing_words(pour, words),
        zone=f"{pour.starts_at.astimezone(zone):%Z}",
        plant_zone=""
        if same_clock(zone, plant_zone, pour.starts_at)
        else f"{pour.starts_at.astimezone(plant_zone):%Z}",
        clashes=tuple(clash_words(clash, words.units) for clash in standing),
        new_to_heat=tuple(_heat_words(start) for start in heat_starts(pour, person(request))),
        sheet=_sheet(pour, words),
        saw=_saw(pour, words, sees_all=person(request).may(Right.SEE_ALL_POURS)),
        papers=paper_rows(pour, list(pour.papers.all()), words),
        order=order_words(pour, words, timezone.now()),
        earlier_orders=earlier_orders(pour, words),
    )


def _heat_words(start: HeatStart) -> str:
    """Ray Okafor: day 2, at most 40% of a usual day's work."""
    what = "day {} back in the heat" if start.returning else "day {} in the heat"
    return f"{start.name}: {what.format(start.day)}, at most {start.share:.0%} of a usual day’s work"


def _saw(pour: Pour, words: Words, *, sees_all: bool) -> str:
    """Where the saw must come from first, and whether that is too late; empty where it waits for nobody."""
    shared = shared_saw(pour) if pour.plan else None
    if shared is None:
        return ""
    zone = site_zone(pour)
    at, by = (words.day_and_time(about(when), zone) for when in (shared.starts_at, shared.last_call_at))
    there = pour_name(shared.comes_from) if sees_all else "another site"
    said = f"The saw is at {there} first and can be here by about {at}."
    return f"{said} That is too late to cut all by {by}: find another saw." if shared.late else said


def _sheet(pour: Pour, words: Words) -> PlanSheet | None:
    if pour.plan is None:
        return None
    columns = [kept_columns(section) for section in pour.sections.all()]
    order = standing_order(pour)
    by = order.order_by if order else ordering.order_by(pour.plant, pour.starts_at)
    return plan_sheet(pour, pour.plan.result, columns, by, words)
