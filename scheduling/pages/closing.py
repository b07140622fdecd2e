"""How a day went: what was planned beside what came, as far as it was noted."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import NoteKind, Plan, SiteNote
from scheduling.pages.brief import moment
from scheduling.pages.clock import lasting
from scheduling.pages.wording import Words, about
from scheduling.quantities import Dimension

Json = Mapping[str, Any]

SAME_WITHIN = timedelta(minutes=5)  # nobody plans or notes more exactly: our choice
HOUR = timedelta(hours=1)
PHASE_DONE = (("finish", NoteKind.FINISHING_DONE, "Finished"), ("cut", NoteKind.CUT_DONE, "Cut"))


@dataclass(frozen=True)
class WentRow:
    what: str
    planned: str
    came: str
    differs: str


def how_it_went(
    plan: Plan, loads: Sequence[Json], notes: Sequence[SiteNote], zone: ZoneInfo, words: Words
) -> tuple[WentRow, ...]:
    """Rows of the plan beside what was noted; none until a truck was noted as empty.

    `loads` are those of the pour as it stands, of which only what was noted counts.
    """
    emptied = [load for load in loads if load["stand"] == "empty"]
    if not emptied:
        return ()
    numbers = {load["number"] for load in emptied}
    planned = [load for load in plan.result["delivery"]["loads"] if load["number"] in numbers]
    return (*_of_trucks(planned, emptied, zone, words), *_of_phases(plan, notes, zone, words))


def _of_trucks(
    planned: Sequence[Json], came: Sequence[Json], zone: ZoneInfo, words: Words
) -> Iterator[WentRow]:
    last = f"Load {came[-1]['number']} empty"
    yield _times("First concrete", _at(planned[0], "starts_at"), _at(came[0], "starts_at"), zone, words)
    yield _times(last, _at(planned[-1], "ends_at"), _at(came[-1], "ends_at"), zone, words)
    asked, placed = (sum(load["m3"] for load in loads) for loads in (planned, came))
    yield WentRow("Concrete in these loads", words.volume(asked), words.volume(placed), "")
    yield WentRow("Rate while a truck discharged", _rate(planned, words), _rate(came, words), "")
    for what, waited in (("Trucks waited", _trucks_waited), ("The crew waited for trucks", _crew_waited)):
        yield WentRow(what, lasting(waited(planned)), lasting(waited(came)), "")


def _of_phases(plan: Plan, notes: Sequence[SiteNote], zone: ZoneInfo, words: Words) -> Iterator[WentRow]:
    ends = {phase.kind: phase.ends_at for phase in plan.phases.all()}
    for phase, kind, what in PHASE_DONE:
        done = [note.happened_at for note in notes if note.kind == kind]
        if done and phase in ends:
            yield _times(what, ends[phase], done[-1], zone, words)


def _times(what: str, planned_at: datetime, came_at: datetime, zone: ZoneInfo, words: Words) -> WentRow:
    late = came_at - planned_at
    differs = "as planned"
    if abs(late) >= SAME_WITHIN:
        differs = f"{lasting(abs(late))} {'later' if late > timedelta() else 'sooner'}"
    return WentRow(what, words.clock(about(planned_at), zone), words.clock(came_at, zone), differs)


def _at(load: Json, name: str) -> datetime:
    return moment(load[name])


def _rate(loads: Sequence[Json], words: Words) -> str:
    taken = sum((_at(load, "ends_at") - _at(load, "starts_at") for load in loads), timedelta())
    if taken <= timedelta():
        return "?"
    return words.amount(sum(load["m3"] for load in loads) / (taken / HOUR), Dimension.VOLUME_RATE)


def _trucks_waited(loads: Sequence[Json]) -> timedelta:
    return sum((_at(load, "starts_at") - _at(load, "arrives_at") for load in loads), timedelta())


def _crew_waited(loads: Sequence[Json]) -> timedelta:
    gaps = (_at(after, "starts_at") - _at(before, "ends_at") for before, after in pairwise(loads))
    return sum((max(gap, timedelta()) for gap in gaps), timedelta())
