"""Today's pours on one clock: each as its strip, with its trucks above it as asked for, on site and gone."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import Pour, PourState
from scheduling.pages.brief import clock_after, key_times, moment
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import lasting, same_clock
from scheduling.pages.plans import plan_stretches
from scheduling.pages.slabrows import rain_words
from scheduling.pages.strips import SAID, DayClock, Stretch, Strip, day_clock, next_day_words, strip
from scheduling.pages.wording import Words, about
from scheduling.queries.today import TodayView

Json = Mapping[str, Any]

LANES = 2  # trucks stand beside each other on the drawing, odd and even ones
NEAR = timedelta(minutes=5)
COMING_NAMED = 3  # trucks to come that are named with their times
WINDOWS = ("Takes a trowel", "Try the first cut")
STAND_SAID = {"emptying": "discharging since", "waiting": "on site since"}


@dataclass(frozen=True)
class TruckMark:
    """A load as drawn, in percents of the clock: where it was asked for, and how long it stands on site."""

    stand: str
    asked_x: float
    x: float
    width: float
    lane: int


@dataclass(frozen=True)
class TodayRow:
    pk: int
    name: str
    starts: str
    crew: str
    on_hold: bool
    has_plan: bool
    is_watched: bool  # whether anybody notes its trucks
    stand: str
    ends: str
    is_behind: bool
    trucks: tuple[str, ...]
    windows: tuple[str, ...]
    marks: tuple[TruckMark, ...]
    strip: Strip | None
    later: str


@dataclass(frozen=True)
class TodayBoard:
    clock: DayClock
    now_x: float
    rows: tuple[TodayRow, ...]
    zone: str
    key: tuple[tuple[str, str], ...] = tuple(SAID.items())


def today_board(view: TodayView, runs: Mapping[int, Json], words: Words) -> TodayBoard:
    """The pours in order of time on the office's clock; `runs` are those that somebody notes."""
    clock = day_clock(_spans(view, runs))
    return TodayBoard(
        clock=clock,
        now_x=clock.percent(view.now, view.day, view.zone),
        rows=tuple(_row(pour, runs.get(pour.pk), view, clock, words) for pour in view.pours),
        zone=f"{view.now.astimezone(view.zone):%Z}",
    )


def _spans(view: TodayView, runs: Mapping[int, Json]) -> Iterator[tuple[datetime, datetime, ZoneInfo]]:
    """What of each plan falls on the office's day."""
    midnight = datetime.combine(view.day, time(), view.zone)
    next_midnight = datetime.combine(view.day + timedelta(days=1), time(), view.zone)
    for pour in view.pours:
        for one in _stretches(pour, runs.get(pour.pk)):
            if one.ends_at > midnight and one.starts_at < next_midnight:
                yield max(one.starts_at, midnight), one.ends_at, view.zone


def _stretches(pour: Pour, run: Json | None) -> list[Stretch]:
    """What keeps people busy: by the slab's placing once concrete is out, else by the plan."""
    planned = plan_stretches(pour, pour.plan.result) if pour.plan else []
    return list(_as_placed(planned, run, run["slab"])) if run and run["slab"] else planned


def _as_placed(planned: Iterable[Stretch], run: Json, slab: Json) -> Iterator[Stretch]:
    first_at, placed_at = min(moment(load["starts_at"]) for load in run["loads"]), moment(slab["placed_at"])
    begins_at, sawing = max(moment(slab["finishing_from_at"]), placed_at), slab["sawing"]
    for one in planned:
        if one.kind == "on_site":
            yield replace(one, ends_at=max(one.starts_at, first_at))
        elif one.kind == "place":
            yield replace(one, starts_at=first_at, ends_at=placed_at)
        elif one.kind == "finish":
            yield replace(one, starts_at=begins_at, ends_at=max(moment(slab["finished_at"]), begins_at))
        elif one.kind == "cut" and sawing["starts_at"]:
            yield replace(one, starts_at=moment(sawing["starts_at"]), ends_at=moment(sawing["ends_at"]))
        else:
            yield one


def _row(pour: Pour, run: Json | None, view: TodayView, clock: DayClock, words: Words) -> TodayRow:
    zone, stretches = site_zone(pour), _stretches(pour, run)
    planned = pour.plan.result["delivery"]["loads"] if pour.plan else []
    loads = run["loads"] if run else [{**load, "stand": "coming"} for load in planned]
    ends_at = moment(run["ends_at"]) if run else pour.plan.placed_at if pour.plan else None
    behind = ends_at - pour.plan.placed_at if ends_at and pour.plan else timedelta()
    return TodayRow(
        pk=pour.pk,
        name=pour_name(pour),
        starts=_starts(pour, view, words),
        crew=f"{pour.crew}" if pour.crew else "No crew yet",
        on_hold=pour.state == PourState.ON_HOLD,
        has_plan=bool(pour.plan),
        is_watched=run is not None,
        stand=_stand(loads, is_watched=run is not None),
        ends=_ends(loads, ends_at, behind, zone, words) if ends_at else "",
        is_behind=behind >= NEAR,
        trucks=tuple(_truck_words(loads, view.now, zone, words)) if run else (),
        windows=tuple(_windows(pour, run, words)),
        marks=tuple(_marks(loads, planned, view, clock)),
        strip=strip(stretches, (), clock, view.day, view.zone, words.units) if stretches else None,
        later=next_day_words(stretches, view.day, view.zone, words.units),
    )


def _starts(pour: Pour, view: TodayView, words: Words) -> str:
    """Its start on the site's clock, with the day or the zone where they differ from here."""
    zone = site_zone(pour)
    if pour.starts_at.astimezone(zone).date() != view.now.astimezone(zone).date():
        return f"{pour.starts_at.astimezone(zone):%a} {words.clock(pour.starts_at, zone)}"
    said = words.clock(pour.starts_at, zone)
    same = same_clock(zone, view.zone, pour.starts_at)
    return said if same else f"{said} {pour.starts_at.astimezone(zone):%Z}"


# --- its trucks -------------------------------------------------------------------------------


def _stand(loads: Sequence[Json], *, is_watched: bool) -> str:
    """2 of 4 loads empty; or that nobody says."""
    if not loads:
        return ""
    if not is_watched:
        return f"{len(loads)} load{'s' if len(loads) > 1 else ''}, none noted yet"
    empty = sum(load["stand"] == "empty" for load in loads)
    return "all loads empty" if empty == len(loads) else f"{empty} of {len(loads)} loads empty"


def _ends(loads: Sequence[Json], ends_at: datetime, behind: timedelta, zone: ZoneInfo, words: Words) -> str:
    done = bool(loads) and all(load["stand"] == "empty" for load in loads)
    said = (
        f"the last at {words.clock(ends_at, zone)}"
        if done
        else f"the last about {words.clock(about(ends_at), zone)}"
    )
    if abs(behind) < NEAR:
        return said
    return f"{said}, {lasting(abs(behind))} {'later' if behind > timedelta() else 'sooner'} than planned"


def _truck_words(loads: Sequence[Json], now: datetime, zone: ZoneInfo, words: Words) -> Iterator[str]:
    """What each truck does that is not gone; of those to come the next few."""
    for load in loads:
        if load["stand"] in STAND_SAID:
            since = moment(load["starts_at"] if load["stand"] == "emptying" else load["arrives_at"])
            yield f"Load {load['number']} {STAND_SAID[load['stand']]} {words.clock(since, zone)}"
    coming = [load for load in loads if load["stand"] == "coming"]
    for load in coming[:COMING_NAMED]:
        arrives_at = moment(load["arrives_at"])
        expected = f"about {words.clock(about(arrives_at), zone)}" if arrives_at > now else "not seen yet"
        yield f"Load {load['number']} {expected}"
    if coming[COMING_NAMED:]:
        yield f"{len(coming) - COMING_NAMED} more after that"


def _marks(
    loads: Sequence[Json], planned: Sequence[Json], view: TodayView, clock: DayClock
) -> Iterator[TruckMark]:
    """Nothing is drawn of what is over since before this day began."""
    for load, asked in zip(loads, planned, strict=False):
        x, end = (
            clock.percent(moment(load[name]), view.day, view.zone) for name in ("arrives_at", "ends_at")
        )
        asked_at = moment(asked.get("asked_at", asked["arrives_at"]))
        if end > 0:
            yield TruckMark(
                stand=load["stand"],
                asked_x=clock.percent(asked_at, view.day, view.zone),
                x=x,
                width=max(0.3, round(end - x, 2)),
                lane=load["number"] % LANES,
            )


def _windows(pour: Pour, run: Json | None, words: Words) -> Iterator[str]:
    """When the slab takes a trowel and a cut: by its placing once concrete is out, else by the plan."""
    if not pour.plan:
        return
    if run and run["slab"]:
        yield from _windows_now(pour, run["slab"], words)
        return
    for one in key_times(pour, pour.plan.result, pour.starts_at, words):
        if one.label in WINDOWS:
            yield f"{one.label} {one.value}"


def _windows_now(pour: Pour, slab: Json, words: Words) -> Iterator[str]:
    zone = site_zone(pour)

    def clock(said: str) -> str:
        return clock_after(about(moment(said)), pour.starts_at, zone, words)

    trowel, cut = WINDOWS
    ready = sum(strip["found_ready"] for strip in slab["strips"])
    found = f", {ready} of {len(slab['strips'])} strips found ready" if ready else ""
    yield f"{trowel} from {clock(slab['ready_early_at'])}{found}"
    yield f"finished about {clock(slab['finished_at'])}"
    if slab["sawing"]["starts_at"]:
        yield f"{cut} {clock(slab['sawing']['opens_at'])}"
    if said := rain_words(slab):
        yield said.rstrip(".").lower()
