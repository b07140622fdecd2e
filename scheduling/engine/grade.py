"""The grade sheet: how high the top lies at each screed pad, for a rod and a laser receiver."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from scheduling.engine.baygrid import Grid
from scheduling.engine.inputs import BadInput, Circle, Fact, Finding, Polygon, Section, Severity, Trapezoid
from scheduling.engine.surface import Surface, drawn_outline, surface_of

DRAINING_PERCENT = (
    100 * 0.125 / 12
)  # 1/8 in per ft, of 1/8 to 1/4 in for drainage: common practice, no source
SAME_POINT_DIGITS = 3  # to the millimetre
NOISE = 1e-9


@dataclass(frozen=True, slots=True)
class GradePoint:
    """One screed pad, in the section's own axes. `height_m` is above the benchmark, below it negative.

    `rod_m` is what a rod held on it reads at the laser; None where the laser's height is not given.
    """

    x_m: float
    y_m: float
    height_m: float
    rod_m: float | None


@dataclass(frozen=True, slots=True)
class GradeSheet:
    """Pads row by row from the front, each left to right. `fall_percent` is along the fall, 0 if level."""

    points: tuple[GradePoint, ...]
    highest_m: float
    lowest_m: float
    fall_percent: float
    findings: tuple[Finding, ...]


def grade_sheet(
    section: Section, grid: Grid, high_edge_m: float = 0.0, instrument_m: float | None = None
) -> GradeSheet:
    """Work out the height of the top at every screed pad of a section.

    Parameters
    ----------
    section : Section
        Its top falls as its depths say, over the outline's extent; otherwise it is level.
    grid : Grid
        Where its bays end: a pad stands where two lines cross, where a line meets the outline, and at
        every corner of a trapezoid or polygon; on a circle also at its four farthest points.
    high_edge_m : float
        How far the top's high edge lies above the benchmark.
    instrument_m : float, optional
        How far the laser's plane lies above the benchmark.

    Returns
    -------
    GradeSheet
        NOTE ``fall_is_flat`` where the top falls, but less than 1/8 in per ft (common practice, no
        source).

    Raises
    ------
    BadInput
        A height that is no number, or a laser below the highest pad.
    """
    for name, value in (("high_edge_m", high_edge_m), ("instrument_m", instrument_m or 0.0)):
        if not math.isfinite(value):
            raise BadInput(name, "not_finite", f"{name} must be a finite number.")
    surface = surface_of(section)
    points = tuple(
        _point(x_m, y_m, high_edge_m - surface.drop_m(x_m, y_m), instrument_m)
        for x_m, y_m in _pads(section, grid)
    )
    highest_m, lowest_m = max(p.height_m for p in points), min(p.height_m for p in points)
    if instrument_m is not None and instrument_m < highest_m:
        message = f"The laser must stand above the highest pad, which is {highest_m:g} m above the benchmark."
        raise BadInput("instrument_m", "instrument_too_low", message)
    return GradeSheet(
        points=points,
        highest_m=highest_m,
        lowest_m=lowest_m,
        fall_percent=100 * surface.fall_m / surface.run_m,
        findings=tuple(_flat_findings(section, surface)),
    )


def _point(x_m: float, y_m: float, height_m: float, instrument_m: float | None) -> GradePoint:
    return GradePoint(x_m, y_m, height_m, None if instrument_m is None else instrument_m - height_m)


def _pads(section: Section, grid: Grid) -> list[tuple[float, float]]:
    """Every place for a pad once, row by row."""
    polygon = drawn_outline(section.outline)
    found: dict[tuple[float, float], tuple[float, float]] = {}
    for x_m, y_m in _candidates(section, polygon, grid):
        found.setdefault((round(y_m, SAME_POINT_DIGITS), round(x_m, SAME_POINT_DIGITS)), (x_m, y_m))
    return [found[key] for key in sorted(found)]


def _candidates(section: Section, polygon: shapely.Polygon, grid: Grid) -> Iterator[tuple[float, float]]:
    if isinstance(section.outline, Polygon | Trapezoid):
        yield from polygon.exterior.coords[:-1]
    crossings = [(x, y) for x in grid.x_m for y in grid.y_m]
    on_it = shapely.covers(polygon.buffer(NOISE), shapely.points(crossings))
    yield from (at for at, covered in zip(crossings, on_it, strict=True) if covered)
    west, south, east, north = polygon.bounds
    if isinstance(section.outline, Circle):
        # A round pad in a single bay has neither corners nor crossings.
        middle = (west + east) / 2, (south + north) / 2
        yield from ((middle[0], south), (east, middle[1]), (middle[0], north), (west, middle[1]))
    lines = [((x, south), (x, north)) for x in grid.x_m[1:-1]]
    lines += [((west, y), (east, y)) for y in grid.y_m[1:-1]]
    meets = shapely.intersection(shapely.linestrings(lines), polygon.boundary) if lines else []
    yield from ((x, y) for x, y in shapely.get_coordinates(meets).tolist())


def _flat_findings(section: Section, surface: Surface) -> Iterator[Finding]:
    percent = 100 * surface.fall_m / surface.run_m
    if 0 < percent < DRAINING_PERCENT - NOISE:
        facts: dict[str, Fact] = {
            "section": section.label or "slab",
            "fall_m": surface.fall_m,
            "run_m": surface.run_m,
            "percent": percent,
            "draining_percent": DRAINING_PERCENT,
        }
        yield Finding(Severity.NOTE, "fall_is_flat", facts, "common practice, no source")
