"""The day of a pour as it happens: where each truck is, what to ask of the plant, and what to note."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import Refusal
from scheduling.localtime import moment_of
from scheduling.models import Company, NoteKind, Pour, SiteNote, Units
from scheduling.pages.access import needs, person, pour_or_404
from scheduling.pages.brief import moment
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import lasting, long_day
from scheduling.pages.closing import WentRow, how_it_went
from scheduling.pages.fields import PlainForm
from scheduling.pages.plans import FindingWords, finding_words
from scheduling.pages.slabrows import (
    STEPS,
    AlarmWords,
    LeftWords,
    StripRow,
    alarms_of,
    asks_measure,
    clock_words,
    left_words,
    plants_to_phone,
    rain_words,
    strips_of,
)
from scheduling.pages.wording import Words, about
from scheduling.quantities import Dimension, QuantityError, parse
from scheduling.queries import sitenotes
from scheduling.roles import Right
from scheduling.services import alarms, live

Json = Mapping[str, Any]

TIME_TOLD = "Give the time as on a clock, such as 7:35 am."
PEOPLE_TOLD = "Give how many people are there as a number."
LOADS_OFFERED = 3  # the next ones; a fourth truck in the street is for the plant to hear of
NOTES_SHOWN = 12
NEXT_STEP = {
    "coming": NoteKind.TRUCK_ARRIVED,
    "waiting": NoteKind.TRUCK_STARTED,
    "emptying": NoteKind.TRUCK_EMPTY,
}
PRESSED = {
    NoteKind.TRUCK_ARRIVED: "On site",
    NoteKind.TRUCK_STARTED: "Discharging",
    NoteKind.TRUCK_EMPTY: "Empty",
}
KEYED = ("people_there", "problem", "measured", "balance_asked", "balance_step", "ready_to_finish")
OTHER_BUTTONS = (
    NoteKind.RAIN,
    NoteKind.RAIN_OVER,
    NoteKind.READY_TO_FINISH,
    NoteKind.FINISHING_DONE,
    NoteKind.RAVELS,
    NoteKind.CUT_DONE,
)


class NoteForm(PlainForm):
    """One press: what happened, and where it was not just now, when."""

    key = forms.CharField(max_length=80, widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=NoteKind.choices, widget=forms.HiddenInput)
    load = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)
    at = forms.TimeField(required=False, error_messages={"invalid": TIME_TOLD})
    batched = forms.TimeField(required=False, error_messages={"invalid": TIME_TOLD})
    people = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=200,
        error_messages={"invalid": PEOPLE_TOLD},
    )
    amount = forms.CharField(required=False, max_length=30)
    strip = forms.IntegerField(required=False, min_value=1)
    confirmed = forms.BooleanField(required=False)
    words = forms.CharField(required=False, max_length=300)


@dataclass(frozen=True)
class LoadRow:
    """One truck: what was noted stands as it is, what is foreseen says about."""

    number: int
    amount: str
    asked: str
    stand: str
    arrives: str
    empty: str
    age: str
    is_too_old: bool


@dataclass(frozen=True)
class Press:
    """A button that notes the next thing of a load."""

    key: str
    kind: str
    load: int
    words: str
    asks_batch_time: bool


@dataclass(frozen=True)
class NoteWords:
    pk: int
    at: str
    words: str
    by: str
    may_undo: bool


@dataclass(frozen=True)
class DayPage:
    day: str
    findings: tuple[FindingWords, ...]
    ends: str
    rows: tuple[LoadRow, ...]
    presses: tuple[Press, ...]
    notes: tuple[NoteWords, ...]
    is_standing: bool
    planned_people: int
    alarms: tuple[AlarmWords, ...]
    plants: tuple[str, ...]
    strips: tuple[StripRow, ...]
    finished: str
    rain: str
    left: LeftWords
    balance_steps: tuple[tuple[str, str], ...]
    asks_measure: bool
    went: tuple[WentRow, ...]
    crew_pk: int | None


@needs(Right.SEE_WEEK)
def day(request: HttpRequest, pk: int) -> HttpResponse:
    """How the pour stands; `?part=standing` gives that part alone, for the page to renew itself."""
    pour = pour_or_404(request, pk)
    template = "pages/standing.html" if request.GET.get("part") == "standing" else "pages/day.html"
    return _page(request, pour, template=template)


@require_POST
@needs(Right.NOTE_DAY)
def note(request: HttpRequest, pk: int) -> HttpResponse:
    pour = pour_or_404(request, pk)
    form = NoteForm(request.POST)
    if not form.is_valid():
        told = " ".join(str(problem) for problems in form.errors.values() for problem in problems)
        return _page(request, pour, problem=told, typed=form, status=400)
    try:
        _note(request, pour, form.cleaned_data)
    except Refusal as refused:
        return _page(request, pour, problem=refused.message, typed=form, status=refused.status)
    messages.success(request, "Noted.")
    return redirect("pour-day", pk)


@require_POST
@needs(Right.NOTE_DAY)
def undo(request: HttpRequest, pk: int, note: int) -> HttpResponse:
    pour = pour_or_404(request, pk)
    try:
        live.undo(note=get_object_or_404(pour.site_notes, pk=note), by=person(request), now=timezone.now())
    except Refusal as refused:
        return _page(request, pour, problem=refused.message, status=refused.status)
    messages.success(request, "Taken back.")
    return redirect("pour-day", pk)


@require_POST
@needs(Right.NOTE_DAY)
def seen(request: HttpRequest, pk: int, alarm: int) -> HttpResponse:
    """Somebody sees to a trouble: it is not passed on."""
    pour = pour_or_404(request, pk)
    try:
        alarms.acknowledge(
            alarm=get_object_or_404(pour.alarms, pk=alarm), by=person(request), now=timezone.now()
        )
    except Refusal as refused:
        return _page(request, pour, problem=refused.message, status=refused.status)
    messages.success(request, "You see to it.")
    return redirect("today") if request.POST.get("back") == "today" else redirect("pour-day", pk)


def _note(request: HttpRequest, pour: Pour, said: dict[str, Any]) -> None:
    now = timezone.now()
    happened_at = _on_the_day(pour, said["at"], now) or now
    live.note(
        pour=pour,
        kind=NoteKind(said["kind"]),
        key=said["key"],
        happened_at=happened_at,
        by=person(request),
        now=now,
        load=said["load"],
        batch_at=_on_the_day(pour, said["batched"], now),
        people=said["people"],
        m3=_volume(said["amount"]),
        strip=said["strip"],
        confirmed=said["confirmed"],
        words=said["words"],
    )


def _volume(said: str) -> float | None:
    """A volume as typed, in cubic yards or metres where no unit is."""
    if not said.strip():
        return None
    words = Words.of(Company.objects.first())
    try:
        return parse(said, Dimension.VOLUME, "yd3" if words.units == Units.US else "m3")
    except QuantityError as wrong:
        raise Refusal(str(wrong), code=wrong.code, field="amount") from wrong


def _on_the_day(pour: Pour, clock: time | None, now: datetime) -> datetime | None:
    """A clock time of today, as the site has today."""
    if clock is None:
        return None
    zone = site_zone(pour)
    return moment_of(datetime.combine(now.astimezone(zone).date(), clock), zone, field="at")


# --- the page ---------------------------------------------------------------------------------


def _page(
    request: HttpRequest,
    pour: Pour,
    *,
    problem: str = "",
    typed: NoteForm | None = None,
    template: str = "pages/day.html",
    status: int = 200,
) -> HttpResponse:
    words = Words.of(Company.objects.first())
    try:
        run = live.as_it_stands(pour=pour, now=timezone.now())
        slab = live.slab_as_it_stands(pour=pour, now=timezone.now())
    except Refusal as refused:
        shown = {"problem": refused.message, "pk": pour.pk, "name": pour_name(pour)}
        return render(request, "pages/day.html", shown, status=refused.status)
    shown = {
        "pk": pour.pk,
        "name": pour_name(pour),
        "day": _shown(request, pour, run, slab, words),
        "problem": problem,
        "typed": typed or NoteForm(),
        "keys": {kind: live.new_key() for kind in KEYED},
        "others": [(kind.value, kind.label.capitalize(), live.new_key()) for kind in OTHER_BUTTONS],
    }
    return render(request, template, shown, status=status)


def _shown(request: HttpRequest, pour: Pour, run: Json, slab: Json | None, words: Words) -> DayPage:
    zone, balance = site_zone(pour), live.balance_as_it_stands(pour=pour, now=timezone.now())
    return DayPage(
        day=long_day(pour.starts_at.astimezone(zone).date(), words.units),
        findings=tuple(finding_words(finding, zone, words) for finding in run["findings"]),
        ends=_ends(pour, run, zone, words),
        rows=tuple(_rows(pour, run, zone, words)),
        presses=tuple(_presses(run["loads"])),
        notes=tuple(_notes(request, pour, zone, words)),
        is_standing=pour.is_standing,
        planned_people=pour.people,
        alarms=tuple(alarms_of(pour, run, zone, words)),
        plants=tuple(plants_to_phone(pour, run)),
        strips=tuple(strips_of(slab, zone, words)),
        finished=words.clock(about(moment(slab["finished_at"])), zone) if slab else "",
        rain=rain_words(slab),
        left=left_words(balance, zone, words, timezone.now()),
        balance_steps=STEPS.get((balance or {}).get("step") or "", ()),
        asks_measure=asks_measure(pour, run),
        went=_went(pour, run, zone, words),
        crew_pk=pour.crew_id,
    )


def _went(pour: Pour, run: Json, zone: ZoneInfo, words: Words) -> tuple[WentRow, ...]:
    if pour.plan is None:
        return ()
    return how_it_went(pour.plan, run["loads"], sitenotes.standing_notes(pour), zone, words)


def _ends(pour: Pour, run: Json, zone: ZoneInfo, words: Words) -> str:
    """When the last load will be out, against the plan."""
    ends_at = moment(run["ends_at"])
    said = words.clock(about(ends_at), zone)
    planned_at = pour.plan.placed_at if pour.plan else ends_at
    behind = ends_at - planned_at
    if abs(behind.total_seconds()) < 5 * 60:
        return f"about {said}, as planned"
    return (
        f"about {said}, {lasting(abs(behind))} {'later' if ends_at > planned_at else 'sooner'} than planned"
    )


def _rows(pour: Pour, run: Json, zone: ZoneInfo, words: Words) -> Iterator[LoadRow]:
    old = {finding["facts"]["load"] for finding in run["findings"] if finding["code"] == "load_expires"}
    planned = pour.plan.result["delivery"]["loads"] if pour.plan else []
    for load, asked in zip(run["loads"], planned, strict=False):
        here, empty = load["stand"] != "coming", load["stand"] == "empty"
        yield LoadRow(
            number=load["number"],
            amount=words.ordered(load["m3"]),
            asked=words.clock(moment(asked.get("asked_at", asked["arrives_at"])), zone),
            stand=load["stand"],
            arrives=clock_words(moment(load["arrives_at"]), here, zone, words),
            empty=clock_words(moment(load["ends_at"]), empty, zone, words),
            age=f"{round(load['age_min'])} min" if load["age_min"] is not None else "?",
            is_too_old=load["number"] in old,
        )


def _presses(loads: Sequence[Json]) -> Iterator[Press]:
    """The next thing to note of the next few loads; only one truck discharges at a time."""
    going = [load for load in loads if load["stand"] != "empty"]
    for load in going[:LOADS_OFFERED]:
        kind = NEXT_STEP[load["stand"]]
        yield Press(live.new_key(), kind.value, load["number"], PRESSED[kind], kind == NoteKind.TRUCK_ARRIVED)


def _notes(request: HttpRequest, pour: Pour, zone: ZoneInfo, words: Words) -> Iterator[NoteWords]:
    now = timezone.now()
    notes = pour.site_notes.filter(undone_at__isnull=True).select_related("by").order_by("-noted_at", "-id")
    for one in notes[:NOTES_SHOWN]:
        yield NoteWords(
            pk=one.pk,
            at=words.clock(one.happened_at, zone),
            words=_note_words(one, zone, words),
            by=str(one.by) if one.by else "",
            may_undo=now - one.noted_at <= live.UNDO_WITHIN and person(request).may(Right.NOTE_DAY),
        )


def _note_words(one: SiteNote, zone: ZoneInfo, words: Words) -> str:
    said = one.get_kind_display().capitalize()
    if one.load is not None:
        said = f"Load {one.load}: {one.get_kind_display()}"
    if one.slump_mm is not None:
        said += f", {words.amount(one.slump_mm, Dimension.SLUMP)}"
    if one.concrete_c is not None:
        said += f", {words.temperature(one.concrete_c)}"
    if one.ticket_mix or one.ticket_address:
        said += f", {one.ticket_mix} for {one.ticket_address}"
    if one.batch_at:
        said += f", batched {words.clock(one.batch_at, zone)}"
    if one.people is not None:
        said = f"{one.people} {'person' if one.people == 1 else 'people'} on site"
    if one.m3 is not None:
        said += f": {words.volume(one.m3)}"
    if one.strip is not None:
        said += f", strip {one.strip}"
    return f"{said}: {one.words}" if one.words else said
