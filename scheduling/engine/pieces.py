"""Cutting an outline along the lines of a grid into pieces, strip by strip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

SMALL_SHARE = 0.25  # a clipped piece under this share of a whole box goes with its neighbour: our choice
TOUCHING_M = 1e-6  # pieces that share less of an edge only meet at a corner

Corners: TypeAlias = tuple[tuple[float, float], ...]
Box: TypeAlias = tuple[float, float, float, float]  # least x and y, most x and y
_Shapes: TypeAlias = NDArray[Any]


class Piece(NamedTuple):
    corners_m: Corners
    area_m2: float
    centre_m: tuple[float, float]


def whole_boxes(strips: Sequence[Sequence[Box]]) -> list[list[Piece]]:
    """Take every box as it is: what a rectangle is cut into."""
    return [[_box(*box) for box in strip] for strip in strips]


def _box(x1: float, y1: float, x2: float, y2: float) -> Piece:
    corners_m = ((x1, y1), (x2, y1), (x2, y2), (x1, y2))
    return Piece(corners_m, (x2 - x1) * (y2 - y1), ((x1 + x2) / 2, (y1 + y2) / 2))


def clipped_boxes(strips: Sequence[Sequence[Box]], outline: shapely.Polygon) -> list[list[Piece]]:
    """Clip every box to an outline; small pieces go with a neighbour in their strip, where they have one.

    Parameters
    ----------
    strips : sequence of sequences of Box
        Boxes of one size.
    outline : shapely.Polygon
        Without holes.

    Returns
    -------
    list of lists of Piece
        Strips that the outline leaves nothing of are left out.
    """
    boxes = np.array([box for strip in strips for box in strip])
    numbers = np.repeat(np.arange(len(strips)), [len(strip) for strip in strips])
    shapes, of_box = _clipped(shapely.box(*boxes.T), outline)
    small_m2 = SMALL_SHARE * _box(*strips[0][0]).area_m2
    kept = [_joined(shapes[numbers[of_box] == number], small_m2) for number in range(len(strips))]
    return [_pieces(strip) for strip in kept if len(strip)]


def _clipped(boxes: _Shapes, outline: shapely.Polygon) -> tuple[_Shapes, _Shapes]:
    """What the outline leaves of each box, and of which box each part is."""
    shapely.prepare(outline)
    left = boxes.copy()
    cut = ~shapely.covers(outline, boxes)
    left[cut] = shapely.intersection(boxes[cut], outline)
    parts, of_box = shapely.get_parts(left, return_index=True)
    solid = shapely.area(parts) > 0
    return parts[solid], of_box[solid]


def _joined(shapes: _Shapes, small_m2: float) -> _Shapes:
    """Put every small shape to the one it shares the longest edge with, smallest first."""
    alone: list[shapely.Polygon] = []
    while len(shapes) and shapely.area(shapes).min() < small_m2:
        at = int(shapely.area(shapes).argmin())
        small, shapes = shapes[at], np.delete(shapes, at)
        shared_m = shapely.length(shapely.intersection(small, shapes))
        if not len(shapes) or shared_m.max() <= TOUCHING_M:
            alone.append(small)
            continue
        mate = int(shared_m.argmax())
        shapes[mate] = shapely.union(small, shapes[mate])
    return np.append(shapes, alone)


def _pieces(shapes: _Shapes) -> list[Piece]:
    corners, of_shape = shapely.get_coordinates(shapes, return_index=True)
    rings = np.split(corners, np.flatnonzero(np.diff(of_shape)) + 1)
    centres = shapely.get_coordinates(shapely.centroid(shapes))
    rows = zip(rings, shapely.area(shapes), centres, strict=True)
    return [
        Piece(tuple((x, y) for x, y in ring[:-1].tolist()), float(area), (float(at[0]), float(at[1])))
        for ring, area, at in rows
    ]
