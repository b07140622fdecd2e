"""Cutting a section into bays, and in what order they are placed so that nobody is shut in.

Bays lie in strips that run away from the side the trucks come from. A strip is placed from its far
end back to that side, so the crew and a truck on the base always have the unplaced rest to leave by.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple, TypeAlias

import shapely

from scheduling.engine.inputs import BadInput, Outline, Rectangle, require_positive
from scheduling.engine.surface import drawn_outline

LONGEST_BAY_M = (
    18 * 0.3048
)  # a board is pulled over 17 to 18 ft before it is lifted: common practice, no source
SMALL_SHARE = 0.25  # a clipped piece under this share of a whole bay goes with its neighbour: our choice
TRUCK_WIDTH_M = 8.5 * 0.3048  # the widest the US road law lets through, from memory
MOST_BAYS = 20_000  # our choice: past any slab that is struck by hand, surely a slip of the pen
NOISE_M = 1e-6

Corners: TypeAlias = tuple[tuple[float, float], ...]


class Side(StrEnum):
    """A side of the section: front is its least y, left its least x."""

    FRONT = "front"
    BACK = "back"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class TruckStand:
    """Where trucks may stand for a section: anywhere along `side`, or only at `points_m`.

    Points are in the section's own axes. One inside the outline is a truck on the base: it drives in
    straight from `side`, may stop anywhere on that lane, and draws back along it as its lane fills.
    """

    side: Side = Side.FRONT
    points_m: Corners = ()

    def __post_init__(self) -> None:
        if not all(math.isfinite(x) and math.isfinite(y) for x, y in self.points_m):
            raise BadInput("points_m", "not_finite", "Every place for a truck needs two finite numbers.")


@dataclass(frozen=True, slots=True)
class Grid:
    """Where strips and bays end, in the section's own axes, outer edges among them, each rising."""

    x_m: tuple[float, ...]
    y_m: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """A bay as drawn. `strip` counts from 1 in placing order; `needed_m` is how far the concrete must go.

    `width_m` is what the board spans, `length_m` how far it is pulled.
    """

    strip: int
    corners_m: Corners
    area_m2: float
    centre_m: tuple[float, float]
    width_m: float
    length_m: float
    needed_m: float


class Spot(NamedTuple):
    """A place seen from the trucks' side: `across_m` along it, `in_m` away from it."""

    across_m: float
    in_m: float


@dataclass(frozen=True, slots=True)
class _View:
    """The section as the trucks see it, and how finely it is cut."""

    polygon: shapely.Polygon
    bounds_m: tuple[float, float, float, float]
    stand: TruckStand
    strike_width_m: float
    reach_m: float

    def spot(self, x_m: float, y_m: float) -> Spot:
        west, south, east, north = self.bounds_m
        match self.stand.side:
            case Side.FRONT:
                return Spot(x_m - west, y_m - south)
            case Side.BACK:
                return Spot(x_m - west, north - y_m)
            case Side.LEFT:
                return Spot(y_m - south, x_m - west)
            case Side.RIGHT:
                return Spot(y_m - south, east - x_m)

    @property
    def upright(self) -> bool:
        """Whether strips run along y."""
        return self.stand.side in (Side.FRONT, Side.BACK)

    @property
    def sizes_m(self) -> Spot:
        west, south, east, north = self.bounds_m
        return Spot(east - west, north - south) if self.upright else Spot(north - south, east - west)

    @property
    def along_side(self) -> bool:
        """Whether one board spans the whole depth, as on a walk: bays then follow along the side."""
        return self.sizes_m.in_m <= self.strike_width_m + NOISE_M

    @property
    def counts(self) -> tuple[int, int]:
        """How many strips, and how many bays deep each."""
        sizes = self.sizes_m
        if self.along_side:
            return _at_most(sizes.across_m, LONGEST_BAY_M), 1
        deep_m = min(LONGEST_BAY_M, self.reach_m)
        return _at_most(sizes.across_m, self.strike_width_m), _at_most(sizes.in_m, deep_m)


def _at_most(length_m: float, part_m: float) -> int:
    """The fewest equal parts none of which is longer than `part_m`."""
    return math.ceil(length_m / part_m - NOISE_M)


def bay_cells(
    outline: Outline, strike_width_m: float, stand: TruckStand, reach_m: float
) -> tuple[tuple[Cell, ...], Grid]:
    """Cut one section into bays, in the order they are placed.

    Strips are of equal width, none wider than the board strikes, and start at the end farthest from
    where trucks may stand, or at the low end of the side where they may stand all along it. A
    section no deeper than the board is wide is one row of bays along the side.

    Parameters
    ----------
    outline : Outline
        A plain area is cut as a square; anything but a rectangle is clipped, its smallest pieces put
        to their neighbours in the same strip.
    strike_width_m : float
        What is struck in one pull.
    stand : TruckStand
    reach_m : float
        How far the method brings concrete from where the truck stands; infinite where it has no
        bound. No bay is made longer than it, nor longer than 18 ft.

    Returns
    -------
    tuple of (tuple of Cell, Grid)

    Raises
    ------
    BadInput
        A width or reach that is not positive, an outline that crosses itself, bays past counting.
    """
    require_positive("strike_width_m", strike_width_m)
    if not reach_m > 0:
        raise BadInput("reach_m", "not_positive", "reach_m must be more than 0.")
    polygon = drawn_outline(outline)
    view = _View(polygon, polygon.bounds, stand, strike_width_m, reach_m)
    if math.prod(view.counts) > MOST_BAYS:
        raise BadInput("outline", "too_many_bays", f"The section would make more than {MOST_BAYS} bays.")
    grid = _grid(view)
    strips = _strips(view, grid, whole=isinstance(outline, Rectangle))
    order = _strip_order(view, [_span(view, pieces) for pieces in strips])
    lanes = _Lanes.of(view, [_span(view, strips[at]) for at in order])
    return tuple(_cells(view, [strips[at] for at in order], lanes)), grid


# --- cutting ----------------------------------------------------------------------------------


def _grid(view: _View) -> Grid:
    west, south, east, north = view.bounds_m
    across, deep = view.counts
    columns, rows = (across, deep) if view.upright else (deep, across)
    return Grid(_lines(west, east, columns), _lines(south, north, rows))


def _lines(start_m: float, end_m: float, parts: int) -> tuple[float, ...]:
    return (*(start_m + (end_m - start_m) * part / parts for part in range(parts)), end_m)


def _strips(view: _View, grid: Grid, *, whole: bool) -> list[list[shapely.Polygon]]:
    """The pieces of each strip, strips in rising order along the side; strips without any left out."""
    columns, rows = list(pairwise(grid.x_m)), list(pairwise(grid.y_m))
    boxes = [
        [shapely.box(x1, y1, x2, y2) for y1, y2 in rows for x1, x2 in columns[at : at + 1]]
        if view.upright
        else [shapely.box(x1, y1, x2, y2) for x1, x2 in columns for y1, y2 in rows[at : at + 1]]
        for at in range(view.counts[0])
    ]
    if whole:
        return boxes
    small_m2 = SMALL_SHARE * boxes[0][0].area
    strips = [_joined(_clipped(strip, view.polygon), small_m2) for strip in boxes]
    return [strip for strip in strips if strip]


def _clipped(boxes: Sequence[shapely.Polygon], polygon: shapely.Polygon) -> list[shapely.Polygon]:
    parts = shapely.get_parts(shapely.intersection(boxes, polygon))
    return [part for part in parts if isinstance(part, shapely.Polygon) and part.area > 0]


def _joined(pieces: list[shapely.Polygon], small_m2: float) -> list[shapely.Polygon]:
    """Put every small piece to the neighbour it shares the longest edge with, smallest first."""
    pieces = sorted(pieces, key=lambda piece: piece.area)
    alone = []
    while pieces and pieces[0].area < small_m2:
        small, *pieces = pieces
        shared_m = [small.intersection(other).length for other in pieces]
        if not pieces or max(shared_m) <= NOISE_M:
            alone.append(small)
            continue
        at = shared_m.index(max(shared_m))
        merged = shapely.union(small, pieces.pop(at))
        pieces = sorted([*pieces, merged], key=lambda piece: piece.area)
    return alone + pieces


# --- the order --------------------------------------------------------------------------------


class _Span(NamedTuple):
    start_m: float
    end_m: float

    @property
    def middle_m(self) -> float:
        return (self.start_m + self.end_m) / 2


def _corners(piece: shapely.Polygon) -> Corners:
    return tuple((float(x), float(y)) for x, y in piece.exterior.coords[:-1])


def _span(view: _View, pieces: Sequence[shapely.Polygon]) -> _Span:
    """What a strip covers along the side."""
    across_m = [view.spot(x, y).across_m for piece in pieces for x, y in _corners(piece)]
    return _Span(min(across_m), max(across_m))


def _strip_order(view: _View, spans: Sequence[_Span]) -> list[int]:
    """From either end inwards to the strip where the trucks stand; end to end where they stand all along."""
    points = [view.spot(x, y).across_m for x, y in view.stand.points_m]
    if not points:
        return list(range(len(spans)))
    middle_m = math.fsum(points) / len(points)
    nearest = min(range(len(spans)), key=lambda at: abs(spans[at].middle_m - middle_m))
    return [*range(nearest), *range(len(spans) - 1, nearest, -1), nearest]


@dataclass(frozen=True, slots=True)
class _Lane:
    """A truck's way in, to stop anywhere from the side up to `in_m`. `strips` are those it drives over."""

    across_m: float
    in_m: float
    strips: tuple[int, ...]

    def from_m(self, corner: Spot, strip: int, near_m: float) -> float:
        """How far it is to a corner of a bay of the strip placed `strip`-th; the bay begins at `near_m`."""
        free_m = self.in_m
        if self.strips:
            first = self.strips[0]
            free_m = free_m if first > strip else min(free_m, near_m) if first == strip else 0.0
            return math.hypot(corner.across_m - self.across_m, max(0.0, corner.in_m - free_m))
        return math.hypot(corner.across_m - self.across_m, corner.in_m - self.in_m)


@dataclass(frozen=True, slots=True)
class _Lanes:
    lanes: tuple[_Lane, ...]

    @classmethod
    def of(cls, view: _View, spans: Sequence[_Span]) -> _Lanes:
        return cls(tuple(_lane(view, spans, x, y) for x, y in view.stand.points_m))

    def needed_m(self, corners: Sequence[Spot], strip: int) -> float:
        """How far the concrete must go to a bay's farthest corner, each from the nearest truck."""
        near_m = min(corner.in_m for corner in corners)
        if not self.lanes:
            return max(corner.in_m for corner in corners)
        return max(min(lane.from_m(corner, strip, near_m) for lane in self.lanes) for corner in corners)


def _lane(view: _View, spans: Sequence[_Span], x_m: float, y_m: float) -> _Lane:
    spot = view.spot(x_m, y_m)
    if not view.polygon.contains(shapely.Point(x_m, y_m)):
        return _Lane(spot.across_m, spot.in_m, ())
    left_m, right_m = spot.across_m - TRUCK_WIDTH_M / 2, spot.across_m + TRUCK_WIDTH_M / 2
    crossed = (at for at, span in enumerate(spans) if span.start_m < right_m and span.end_m > left_m)
    return _Lane(spot.across_m, spot.in_m, tuple(crossed))


def _cells(view: _View, strips: Sequence[Sequence[shapely.Polygon]], lanes: _Lanes) -> Iterator[Cell]:
    for number, pieces in enumerate(strips):
        for piece in sorted(pieces, key=_far_first(view)):
            corners = _corners(piece)
            spots = [view.spot(x, y) for x, y in corners]
            across_m = max(s.across_m for s in spots) - min(s.across_m for s in spots)
            in_m = max(s.in_m for s in spots) - min(s.in_m for s in spots)
            yield Cell(
                strip=number + 1,
                corners_m=corners,
                area_m2=piece.area,
                centre_m=(piece.centroid.x, piece.centroid.y),
                width_m=in_m if view.along_side else across_m,
                length_m=across_m if view.along_side else in_m,
                needed_m=lanes.needed_m(spots, number),
            )


def _far_first(view: _View) -> Callable[[shapely.Polygon], tuple[float, float]]:
    def key(piece: shapely.Polygon) -> tuple[float, float]:
        spots = [view.spot(x, y) for x, y in _corners(piece)]
        return -min(spot.in_m for spot in spots), -max(spot.in_m for spot in spots)

    return key
