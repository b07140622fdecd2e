"""Cutting a section into bays, and in what order they are placed so that nobody is shut in.

Bays lie in strips that run away from the side the trucks come from. A strip is placed from its far
end back to that side, so the crew and a truck on the base always have the unplaced rest to leave by.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import shapely

from scheduling.engine.inputs import BadInput, Outline, PlainArea, Rectangle, Side, require_positive
from scheduling.engine.pieces import Box, Corners, Piece, clipped_boxes, whole_boxes
from scheduling.engine.surface import drawn_outline

LONGEST_BAY_M = (
    18 * 0.3048
)  # a board is pulled over 17 to 18 ft before it is lifted: common practice, no source
TRUCK_WIDTH_M = 8.5 * 0.3048  # the widest the US road law lets through, from memory
MOST_BAYS = 20_000  # our choice: past any slab that is struck by hand, surely a slip of the pen
NOISE_M = 1e-6


@dataclass(frozen=True, slots=True)
class TruckStand:
    """Where trucks may stand for a section: anywhere along `side`, or only at `points_m`.

    Without points they may stand along the sides in `also` too, which brings more bays within reach
    while the strips still run away from `side`. Points are in the section's own axes. One inside the
    outline is a truck on the base: it drives in straight from `side`, may stop anywhere on that lane,
    and draws back along it as its lane fills. With `on_base` one backs down the middle of every strip and
    draws back as the bay under it fills.
    """

    side: Side = Side.FRONT
    points_m: Corners = ()
    also: tuple[Side, ...] = ()
    on_base: bool = False

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

    def farthest_m(self, bay: _Seen) -> float:
        """How far it is to the place in a bay that lies farthest from every side trucks may stand along.

        A bay that is not a rectangle is taken as the box around it.
        """
        west, south, east, north = self.bounds_m
        sides = {self.stand.side, *self.stand.also}
        across, deep = zip(*bay.piece.corners_m, strict=True)
        return min(
            _between_m(across, west, east, Side.LEFT in sides, Side.RIGHT in sides),
            _between_m(deep, south, north, Side.FRONT in sides, Side.BACK in sides),
        )

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


def _between_m(
    places_m: Sequence[float], least_m: float, most_m: float, from_least: bool, from_most: bool
) -> float:
    """The farthest of a stretch of places from the open ends of a longer one; infinite where none is open."""
    start_m, end_m = min(places_m), max(places_m)
    if from_least and from_most:
        middle_m = min(max((least_m + most_m) / 2, start_m), end_m)
        return min(middle_m - least_m, most_m - middle_m)
    if from_least:
        return end_m - least_m
    return most_m - start_m if from_most else math.inf


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
    boxes = _boxes(view, grid)
    plain = isinstance(outline, Rectangle | PlainArea)
    pieces = whole_boxes(boxes) if plain else clipped_boxes(boxes, polygon)
    strips = [_Strip.seen(view, strip) for strip in pieces]
    placed = [strips[at] for at in _strip_order(view, strips)]
    return tuple(_cells(view, placed, _Lanes.of(view, placed))), grid


# --- cutting ----------------------------------------------------------------------------------


def _grid(view: _View) -> Grid:
    west, south, east, north = view.bounds_m
    across, deep = view.counts
    columns, rows = (across, deep) if view.upright else (deep, across)
    return Grid(_lines(west, east, columns), _lines(south, north, rows))


def _lines(start_m: float, end_m: float, parts: int) -> tuple[float, ...]:
    return (*(start_m + (end_m - start_m) * part / parts for part in range(parts)), end_m)


def _boxes(view: _View, grid: Grid) -> list[list[Box]]:
    """The boxes of each strip, strips in rising order along the side."""
    columns, rows = list(pairwise(grid.x_m)), list(pairwise(grid.y_m))
    if view.upright:
        return [[(x1, y1, x2, y2) for y1, y2 in rows] for x1, x2 in columns]
    return [[(x1, y1, x2, y2) for x1, x2 in columns] for y1, y2 in rows]


# --- the order --------------------------------------------------------------------------------


class _Seen(NamedTuple):
    """A piece as the trucks see it."""

    piece: Piece
    spots: tuple[Spot, ...]
    left_m: float
    right_m: float
    near_m: float
    far_m: float

    @classmethod
    def of(cls, view: _View, piece: Piece) -> _Seen:
        spots = tuple(view.spot(x, y) for x, y in piece.corners_m)
        across_m, in_m = [spot.across_m for spot in spots], [spot.in_m for spot in spots]
        return cls(piece, spots, min(across_m), max(across_m), min(in_m), max(in_m))


class _Strip(NamedTuple):
    """The bays of a strip from the far end back, and what it covers along the side."""

    bays: tuple[_Seen, ...]
    start_m: float
    end_m: float

    @classmethod
    def seen(cls, view: _View, pieces: Sequence[Piece]) -> _Strip:
        bays = [_Seen.of(view, piece) for piece in pieces]
        bays.sort(key=lambda bay: (-bay.near_m, -bay.far_m))
        return cls(tuple(bays), min(bay.left_m for bay in bays), max(bay.right_m for bay in bays))

    @property
    def middle_m(self) -> float:
        return (self.start_m + self.end_m) / 2


def _strip_order(view: _View, strips: Sequence[_Strip]) -> list[int]:
    """From either end inwards to the strip where the trucks stand; end to end where they stand all along."""
    points = [view.spot(x, y).across_m for x, y in view.stand.points_m]
    if not points:
        return list(range(len(strips)))
    middle_m = math.fsum(points) / len(points)
    nearest = min(range(len(strips)), key=lambda at: abs(strips[at].middle_m - middle_m))
    return [*range(nearest), *range(len(strips) - 1, nearest, -1), nearest]


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
    view: _View
    lanes: tuple[_Lane, ...]

    @classmethod
    def of(cls, view: _View, strips: Sequence[_Strip]) -> _Lanes:
        return cls(view, tuple(_lane(view, strips, x, y) for x, y in view.stand.points_m))

    def needed_m(self, bay: _Seen, strip: int) -> float:
        """How far the concrete must go to a bay's farthest corner, each from the nearest truck."""
        if self.view.stand.on_base:
            return min(bay.right_m - bay.left_m, bay.far_m - bay.near_m) / 2
        if not self.lanes:
            return self.view.farthest_m(bay)
        return max(min(lane.from_m(spot, strip, bay.near_m) for lane in self.lanes) for spot in bay.spots)


def _lane(view: _View, strips: Sequence[_Strip], x_m: float, y_m: float) -> _Lane:
    spot = view.spot(x_m, y_m)
    if not view.polygon.contains(shapely.Point(x_m, y_m)):
        return _Lane(spot.across_m, spot.in_m, ())
    left_m, right_m = spot.across_m - TRUCK_WIDTH_M / 2, spot.across_m + TRUCK_WIDTH_M / 2
    crossed = (at for at, strip in enumerate(strips) if strip.start_m < right_m and strip.end_m > left_m)
    return _Lane(spot.across_m, spot.in_m, tuple(crossed))


def _cells(view: _View, strips: Sequence[_Strip], lanes: _Lanes) -> Iterator[Cell]:
    for number, strip in enumerate(strips):
        for bay in strip.bays:
            across_m, in_m = bay.right_m - bay.left_m, bay.far_m - bay.near_m
            yield Cell(
                strip=number + 1,
                corners_m=bay.piece.corners_m,
                area_m2=bay.piece.area_m2,
                centre_m=bay.piece.centre_m,
                width_m=in_m if view.along_side else across_m,
                length_m=across_m if view.along_side else in_m,
                needed_m=lanes.needed_m(bay, number),
            )
