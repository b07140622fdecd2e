"""The grade sheet: how much lower than the high edge every screed pad lies."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scheduling.models import Units
from scheduling.pages.bays import section_names
from scheduling.pages.drawings import corners
from scheduling.pages.wording import Words
from scheduling.quantities import format_length_feet_inches

Json = Mapping[str, Any]

MOST_PADS = 400  # past it only some lines of pads are shown, so that the page stays light
SAME_LINE_DIGITS = 3  # to the millimetre
FOOT_M = 0.3048


@dataclass(frozen=True)
class Drop:
    """How much lower a pad is, the company's own way first."""

    first: str
    others: tuple[str, ...]


@dataclass(frozen=True)
class PadRow:
    """A line of pads; in a list it is a single one, and `along` says how far from the left it lies."""

    up: str
    along: str
    drops: tuple[Drop, ...]


@dataclass(frozen=True)
class GradeTable:
    """One section's pads: on a plain grid with `columns`, from the left; otherwise a list without."""

    title: str
    fall: str
    columns: tuple[str, ...]
    rows: tuple[PadRow, ...]
    every: int

    @property
    def only_some(self) -> str:
        """Which pads are shown where not all are."""
        if self.every == 1:
            return ""
        return f"One in {self.every} {'lines of pads' if self.columns else 'pads'} is shown."


def grade_tables(result: Json, sections: Sequence[Json], words: Words) -> Iterator[GradeTable]:
    """A table for each section whose top falls; none for a plan kept before there were any."""
    grades = result.get("grades") or [None] * len(sections)
    for name, section, sheet in zip(section_names(sections), sections, grades, strict=True):
        if sheet is not None and sheet["highest_m"] > sheet["lowest_m"]:
            yield _table(name, section, sheet, words)


def _table(name: str, section: Json, sheet: Json, words: Words) -> GradeTable:
    left, bottom = (min(at) for at in zip(*corners(section), strict=True))
    lower_m = {
        _at(pad["x_m"] - left, pad["y_m"] - bottom): sheet["highest_m"] - pad["height_m"]
        for pad in sheet["points"]
    }
    xs, ys = sorted({x for x, _ in lower_m}), sorted({y for _, y in lower_m}, reverse=True)
    fall = f"{words.depth(sheet['highest_m'] - sheet['lowest_m'])} altogether, {sheet['fall_percent']:.2f}%"
    if len(xs) * len(ys) == len(lower_m):
        every = _every(len(lower_m), dimensions=2)
        xs, ys = _thinned(xs, every), _thinned(ys, every)
        columns = tuple(words.length(x) for x in xs)
        rows = (PadRow(words.length(y), "", tuple(drop(lower_m[x, y], words) for x in xs)) for y in ys)
        return GradeTable(name, fall, columns, tuple(rows), every)
    every = _every(len(lower_m), dimensions=1)
    pads = sorted(lower_m, key=lambda pad: (-pad[1], pad[0]))[::every]
    listed = (PadRow(words.length(y), words.length(x), (drop(lower_m[x, y], words),)) for x, y in pads)
    return GradeTable(name, fall, (), tuple(listed), every)


def _at(x_m: float, y_m: float) -> tuple[float, float]:
    return round(x_m, SAME_LINE_DIGITS) + 0.0, round(y_m, SAME_LINE_DIGITS) + 0.0


def _every(pads: int, dimensions: int) -> int:
    return math.ceil(max(1.0, pads / MOST_PADS) ** (1 / dimensions))


def _thinned(lines: list[float], every: int) -> list[float]:
    """One in so many, and always the last."""
    return lines[::every] if (len(lines) - 1) % every == 0 else [*lines[::every], lines[-1]]


def drop(lower_m: float, words: Words) -> Drop:
    """In feet and inches to the sixteenth, in feet to the thousandth, in millimetres."""
    said = [format_length_feet_inches(lower_m), f"{lower_m / FOOT_M + 0.0:.3f} ft"]
    metres = f"{round(1000 * lower_m)} mm"
    first, *others = [metres, *said] if words.units == Units.METRIC else [*said, metres]
    return Drop(first, tuple(others))
