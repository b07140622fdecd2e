"""What crews have placed by each method, and what is learned of it. Nothing learned is kept: it is worked out
from the notes each time, so that a note taken back or a reset counts at once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from scheduling.engine.inputs import Method
from scheduling.engine.learning import Emptied, Learned, LeftOut, PouredBefore, learn
from scheduling.models import Crew, NoteKind, Pour, PourState, RateReset, SiteNote

OVER_AFTER = timedelta(hours=20)  # what is not noted by then is not noted any more (our choice)
MOST_POURS = 60  # our choice: by one method; a crew changes over the years
RANGE = 0.8
# By these people set the pace also while they fetch the concrete themselves.
CARRIED_BY_PEOPLE = frozenset({Method.BARROW})
OF_A_STRETCH = {NoteKind.TRUCK_STARTED: "started_at", NoteKind.TRUCK_EMPTY: "emptied_at"}


@dataclass(frozen=True, slots=True)
class Lesson:
    """One pour and what it taught: `why_not` is None where it counts."""

    pour: int
    name: str
    starts_at: datetime
    time_zone: str
    m3: float
    minutes: float
    rate_m3_h: float
    factor: float | None
    why_not: LeftOut | None


@dataclass(frozen=True, slots=True)
class CrewRate:
    """What a crew places by one method; `usual_m3_h` is the default for the pour last placed.

    `low` and `high` bound eight of ten next pours. `since` is the last reset, None without one.
    """

    method: Method
    learned: Learned
    low: float
    high: float
    usual_m3_h: float | None
    since: datetime | None
    reset_by: str
    lessons: tuple[Lesson, ...]


def learned_of(crew: Crew, method: Method, now: datetime) -> Learned | None:
    """What is learned of the crew by that method; None where it never placed so."""
    rate = next((rate for rate in crew_rates(crew, now, only=method)), None)
    return rate.learned if rate and rate.learned.pours else None


def crew_rates(crew: Crew, now: datetime, only: Method | None = None) -> list[CrewRate]:
    """What the crew places by each method it has placed by, or that was reset."""
    resets = _last_resets(crew, only)
    pours = _poured(crew, now, resets, only)
    methods = [method for method in Method if method in pours or method in resets]
    return [_rate(crew, method, pours.get(method, []), resets.get(method)) for method in methods]


def _last_resets(crew: Crew, only: Method | None) -> dict[Method, RateReset]:
    resets = RateReset.objects.filter(crew=crew).select_related("by").order_by("at", "id")
    resets = resets.filter(method=only.value) if only else resets
    return {Method(reset.method): reset for reset in resets}


def _poured(
    crew: Crew, now: datetime, resets: dict[Method, RateReset], only: Method | None
) -> dict[Method, list[tuple[Lesson, PouredBefore]]]:
    notes = _stretches(crew, now, only)
    found: dict[Method, list[tuple[Lesson, PouredBefore]]] = defaultdict(list)
    for pour in _rows(notes):
        method = Method(pour["method"])
        reset = resets.get(method)
        taught = _poured_before(pour, notes[pour["pk"]])
        is_old = reset is not None and pour["starts_at"] < reset.at
        if taught is not None and not is_old and len(found[method]) < MOST_POURS:
            found[method].append((_lesson(pour, taught), taught))
    return dict(found)


def _stretches(crew: Crew, now: datetime, only: Method | None) -> dict[int, list[SiteNote]]:
    """Of each pour of the crew that is over, the notes that time its loads and say what is left to tell."""
    wanted = (*OF_A_STRETCH, NoteKind.TICKET, NoteKind.PEOPLE_THERE)
    notes = SiteNote.objects.filter(
        pour__crew=crew,
        pour__plan__isnull=False,
        pour__starts_at__lt=now - OVER_AFTER,
        kind__in=wanted,
        undone_at__isnull=True,
    ).exclude(pour__state=PourState.CANCELLED)
    notes = notes.filter(pour__method=only.value) if only else notes
    of_pours: dict[int, list[SiteNote]] = defaultdict(list)
    for note in notes.order_by("happened_at", "id"):
        of_pours[note.pour_id].append(note)
    return of_pours


def _rows(pours: Iterable[int]) -> list[dict[str, Any]]:
    """What the plans of the pours say of the placing, newest first, without the rest of a plan."""
    rows: Any = Pour.objects.filter(pk__in=list(pours)).order_by("-starts_at", "-id")
    return list(
        rows.values(
            "pk", "method", "starts_at", "people", "job__name", "job__site__time_zone",
            "plan__result__line", "plan__result__delivery__loads", "plan__inputs__placing__rate_factor",
        )
    )  # fmt: skip


def _poured_before(pour: dict[str, Any], notes: list[SiteNote]) -> PouredBefore | None:
    line, planned = pour["plan__result__line"], pour["plan__result__delivery__loads"]
    loads = tuple(_emptied(notes, {load["number"]: load["m3"] for load in planned}))
    if not loads:
        return None
    there = [note.people for note in notes if note.people]
    share = min(1.0, there[-1] / pour["people"]) if there else 1.0
    by_people = line["limited_by"] != "unload" or Method(pour["method"]) in CARRIED_BY_PEOPLE
    return PouredBefore(
        default_m3_h=line["rate_m3_h"] * share / (pour["plan__inputs__placing__rate_factor"] or 1.0),
        loads=loads,
        crew_limited=by_people,
    )


def _emptied(notes: list[SiteNote], planned_m3: dict[int, float]) -> Iterable[Emptied]:
    """The loads whose discharge was timed; a ticket says better than the plan what was in the truck."""
    times: dict[int, dict[str, datetime]] = defaultdict(dict)
    told_m3 = dict(planned_m3)
    for note in notes:
        if note.load is None:
            continue
        if note.kind == NoteKind.TICKET:
            told_m3[note.load] = note.ticket_m3 or told_m3.get(note.load, 0.0)
        else:
            times[note.load][OF_A_STRETCH[NoteKind(note.kind)]] = note.happened_at
    for load, at in sorted(times.items()):
        if len(at) == len(OF_A_STRETCH) and told_m3.get(load):
            minutes = (at["emptied_at"] - at["started_at"]) / timedelta(minutes=1)
            yield Emptied(told_m3[load], minutes)


def _lesson(pour: dict[str, Any], taught: PouredBefore) -> Lesson:
    counted = taught.counted
    m3, minutes = sum(load.m3 for load in counted), taught.minutes
    return Lesson(
        pour=pour["pk"],
        name=pour["job__name"],
        starts_at=pour["starts_at"],
        time_zone=pour["job__site__time_zone"],
        m3=m3,
        minutes=minutes,
        rate_m3_h=60 * m3 / minutes if minutes else 0.0,
        factor=taught.factor if counted else None,
        why_not=None,
    )


def _rate(
    crew: Crew, method: Method, pours: list[tuple[Lesson, PouredBefore]], reset: RateReset | None
) -> CrewRate:
    learned = learn([taught for _, taught in pours], crew.rate_factor)
    low, high = learned.next_pour(RANGE)
    lessons = tuple(
        replace(lesson, why_not=why) for (lesson, _), why in zip(pours, learned.left_out, strict=True)
    )
    return CrewRate(
        method=method,
        learned=learned,
        low=low,
        high=high,
        usual_m3_h=pours[0][1].default_m3_h if pours else None,
        since=reset.at if reset else None,
        reset_by=str(reset.by) if reset and reset.by else "",
        lessons=lessons,
    )
