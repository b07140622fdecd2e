"""Strip by strip: when it bears each pass, when it is too hard, when it is cut, and when it bears people."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.pages.clock import day_words
from scheduling.pages.wording import Words, about

Json = Mapping[str, Any]

PASSES = {"power_float": "float", "trowel": "trowel", "broom": "broom"}
BEARS = {
    "forms_off_at": "Edge forms off",
    "walked_on_at": "Walk on it",
    "light_things_at": "Light things on it",
}
BEARS_BY_THE_DAY = {"cars_at": "Cars", "heavy_at": "Full loads"}  # an hour of that day would be a pretence


@dataclass(frozen=True)
class StripRow:
    """One strip; `passes` has a cell for each kind of pass, empty where the strip is lost."""

    bays: str
    struck: str
    passes: tuple[str, ...]
    hard: str
    cut: str
    lost: bool


@dataclass(frozen=True)
class StripTable:
    """The strips as they are finished, and what follows on the whole slab."""

    heads: tuple[str, ...]
    rows: tuple[StripRow, ...]
    has_cuts: bool
    cure: str
    bears: tuple[tuple[str, str], ...]


def strip_table(result: Json, zone: ZoneInfo, words: Words) -> StripTable | None:
    """The strips of a plan; None where it was kept before there were any."""
    strips = result["finishing"].get("strips")
    if not strips:
        return None
    times = _Times(zone, words, _moment(result["starts_at"]).astimezone(zone).date())
    has_cuts = bool(result["sawing"]["starts_at"])
    cuts = {cut["number"]: cut for cut in result["sawing"]["strips"]} if has_cuts else {}
    return StripTable(
        heads=tuple(PASSES.get(kind, kind).capitalize() for kind, _ in _kinds(strips[0])),
        rows=tuple(_row(strip, cuts.get(strip["number"]), times) for strip in strips),
        has_cuts=has_cuts,
        cure=_cure(result["curing"], times),
        bears=(
            *((said, times.dated(result["curing"][name])) for name, said in BEARS.items()),
            *((said, times.day_after(result["curing"][name])) for name, said in BEARS_BY_THE_DAY.items()),
        ),
    )


@dataclass(frozen=True)
class _Times:
    """Moments to five minutes, with their weekday where that is not the pour's."""

    zone: ZoneInfo
    words: Words
    day: date

    def of(self, said: str) -> str:
        at = about(_moment(said))
        clock = self.words.clock(at, self.zone)
        here = at.astimezone(self.zone)
        return clock if here.date() == self.day else f"{here:%a} {clock}"

    def day_after(self, said: str) -> str:
        """The first day that is wholly after it."""
        day = _moment(said).astimezone(self.zone).date() + timedelta(days=1)
        return day_words(day, self.words.units)

    def dated(self, said: str) -> str:
        return self.words.day_and_time(about(_moment(said)), self.zone)


def _moment(said: str) -> datetime:
    return datetime.fromisoformat(said)


def _kinds(strip: Json) -> Iterator[tuple[str, list[Json]]]:
    """The passes of a strip by kind: three trowel passes stand in one cell."""
    for kind, passes in groupby(strip["passes"], key=lambda one: str(one["kind"])):
        yield kind, list(passes)


def _row(strip: Json, cut: Json | None, times: _Times) -> StripRow:
    first, last = strip["first_bay"], strip["last_bay"]
    return StripRow(
        bays=str(first) if first == last else f"{first}–{last}",
        struck=times.of(strip["placed_at"]),
        passes=tuple(_cell(passes, times) for _, passes in _kinds(strip)),
        hard=times.of(strip["hard_at"]),
        cut=times.of(cut["opens_at"]) if cut else "",
        lost=strip["lost"],
    )


def _cell(passes: list[Json], times: _Times) -> str:
    return ", ".join(times.of(one["starts_at"]) for one in passes if one["starts_at"])


def _cure(curing: Json, times: _Times) -> str:
    compound, first, last = (
        times.of(curing[name]) for name in ("compound_from_at", "cover_from_at", "cover_all_at")
    )
    return (
        f"Curing compound goes on strip by strip from {compound}; sheets or water leave no mark on the first "
        f"strip from {first}, on the last from {last}. Keep it cured until {times.dated(curing['ends_at'])}."
    )
