"""Where the control joints go: panels near square, no wider than the thickness allows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
import shapely.affinity

from scheduling.engine.inputs import BadInput, Outline, PlainArea, Polygon, SawType, require_positive
from scheduling.engine.volume import outline_polygon

# 24 to 36 times the thickness (ACI 302.1R, ACI FAQ 915), and not over 15 ft (CSA A23.1-94: 5 m).
# We aim for the middle and stop at the end.
AIM_THICKNESSES = 30
MOST_THICKNESSES = 36
MOST_SPACING_M = 15 * 0.3048
MOST_ASPECT = 1.5  # ACI 302.1R (from memory)

INCH_M = 0.0254
EARLY_ENTRY_SHALLOW_TO_M = 9 * INCH_M
MOST_PANELS = 2000  # in one direction: some miles of slab, surely a slip of the pen
STRAIGHT_DEG = 0.5  # closer to the axes than this lies on them (our choice)
NOISE_M = 1e-6
SHORTEST_JOINT_M = 0.3  # a clipped end shorter than this is not worth a cut (our choice)


@dataclass(frozen=True, slots=True)
class Joint:
    """One straight cut, in the section's own axes."""

    x1_m: float
    y1_m: float
    x2_m: float
    y2_m: float

    @property
    def length_m(self) -> float:
        return math.hypot(self.x2_m - self.x1_m, self.y2_m - self.y1_m)


@dataclass(frozen=True, slots=True)
class JointLayout:
    """The cuts of one section. `spacing_m` is the longest panel side; panels count along x and y."""

    spacing_m: float
    panels_long: int
    panels_wide: int
    joints: tuple[Joint, ...]
    length_m: float
    depth_m: float


def cut_depth_m(thickness_m: float, saw: SawType) -> float:
    """How deep to cut.

    Parameters
    ----------
    thickness_m : float
        Slab thickness, m.
    saw : SawType

    Returns
    -------
    float
        m. A quarter of the thickness and at least 1 in (ACI 302.1R); with an early-entry saw 1 in
        in slabs up to 9 in (ACI 302.1R, from memory), thicker as with the other saw (our choice).
    """
    if saw is SawType.EARLY_ENTRY and thickness_m <= EARLY_ENTRY_SHALLOW_TO_M + 1e-9:
        return INCH_M
    return max(thickness_m / 4, INCH_M)


def widest_spacing_m(thickness_m: float) -> float:
    """Return the widest joint spacing, m, that a slab of this thickness should have."""
    return min(MOST_THICKNESSES * thickness_m, MOST_SPACING_M)


def joint_layout(
    outline: Outline, thickness_m: float, saw: SawType, spacing_m: float | None = None
) -> JointLayout:
    """Lay out the control joints of one section.

    Parameters
    ----------
    outline : Outline
        A plain area is laid out as if it were square; anything but a rectangle gets a grid over its
        bounding box, clipped to it, with a joint from every inward corner. The grid of a polygon lies
        along its longest side.
    thickness_m : float
        Least thickness of the slab, m.
    saw : SawType
        For the depth of cut.
    spacing_m : float, optional
        The most that joints may be apart, m. None: near 30 thicknesses, at most 36 and 15 ft.

    Returns
    -------
    JointLayout
        Equal panels between corners, none longer than 1.5 times its width.

    Raises
    ------
    BadInput
        Thickness or spacing not positive, a polygon that crosses itself, or joints past counting.
    """
    require_positive("thickness_m", thickness_m)
    if spacing_m is not None:
        require_positive("spacing_m", spacing_m)
    limit_m = spacing_m or widest_spacing_m(thickness_m)
    aim_m = spacing_m or min(AIM_THICKNESSES * thickness_m, limit_m)
    turned_deg = _turned_deg(outline)
    polygon = shapely.affinity.rotate(_polygon(outline), -turned_deg, origin=(0, 0))
    x_lines, y_lines = _grid(polygon, aim_m, limit_m)
    straight = (
        *_cuts(polygon, x_lines, upright=True),
        *_cuts(polygon, y_lines, upright=False),
        *_corner_cuts(polygon, x_lines, y_lines),
    )
    joints = tuple(_turned(joint, turned_deg) for joint in straight)
    return JointLayout(
        spacing_m=max(b - a for lines in (x_lines, y_lines) for a, b in pairwise(lines)),
        panels_long=len(x_lines) - 1,
        panels_wide=len(y_lines) - 1,
        joints=joints,
        length_m=math.fsum(joint.length_m for joint in joints),
        depth_m=cut_depth_m(thickness_m, saw),
    )


def _polygon(outline: Outline) -> shapely.Polygon:
    if isinstance(outline, PlainArea):
        side_m = math.sqrt(outline.area_m2)
        return shapely.box(0.0, 0.0, side_m, side_m)
    return outline_polygon(outline)


def _turned_deg(outline: Outline) -> float:
    """How far the longest side of a polygon lies off the axes, -45 to 45; 0 for what lies on them."""
    if not isinstance(outline, Polygon):
        return 0.0
    corners = outline.corners_m
    sides = zip(corners, (*corners[1:], corners[0]), strict=True)
    (ax, ay), (bx, by) = max(sides, key=lambda side: math.dist(*side))
    off_deg = (math.degrees(math.atan2(by - ay, bx - ax)) + 45) % 90 - 45
    return off_deg if abs(off_deg) > STRAIGHT_DEG else 0.0


def _turned(joint: Joint, degrees: float) -> Joint:
    """The joint turned about the section's own origin."""
    if not degrees:
        return joint
    sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    ends = ((joint.x1_m, joint.y1_m), (joint.x2_m, joint.y2_m))
    (x1, y1), (x2, y2) = ((x * cosine - y * sine, x * sine + y * cosine) for x, y in ends)
    return Joint(x1, y1, x2, y2)


# --- the grid ---------------------------------------------------------------------------------


def _grid(polygon: shapely.Polygon, aim_m: float, limit_m: float) -> tuple[list[float], list[float]]:
    """Grid lines along x and along y, the outer edges among them."""
    west, south, east, north = polygon.bounds
    corners = tuple(_inward_corners(polygon))
    x_stops = _stops(west, east, [x for x, _ in corners], aim_m)
    y_stops = _stops(south, north, [y for _, y in corners], aim_m)
    x_strips = [_Strip.even(b - a, aim_m, limit_m) for a, b in pairwise(x_stops)]
    y_strips = [_Strip.even(b - a, aim_m, limit_m) for a, b in pairwise(y_stops)]
    while _square_up(x_strips, y_strips) or _square_up(y_strips, x_strips):
        pass
    return _lines(x_stops, x_strips), _lines(y_stops, y_strips)


def _inward_corners(polygon: shapely.Polygon) -> Iterator[tuple[float, float]]:
    """Corners that point into the slab, where it cracks first if no joint starts there."""
    ring = list(shapely.orient_polygons(polygon).exterior.coords)[:-1]
    for (ax, ay), (bx, by), (cx, cy) in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True):
        turn_m2 = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        if turn_m2 < -1e-6:
            yield bx, by


def _stops(start_m: float, end_m: float, corners_m: Sequence[float], aim_m: float) -> list[float]:
    """Places a joint must pass: both edges, and inward corners not too close to the stop before."""
    stops = [start_m]
    for corner_m in sorted(corners_m):
        if min(corner_m - stops[-1], end_m - corner_m) >= aim_m / 2:
            stops.append(corner_m)
    return [*stops, end_m]


@dataclass(slots=True)
class _Strip:
    """The stretch between two stops, in equal panels."""

    length_m: float
    panels: int

    @classmethod
    def even(cls, length_m: float, aim_m: float, limit_m: float) -> _Strip:
        """As many panels as come nearest to the aim and keep each within the limit."""
        return cls(length_m, max(round(length_m / aim_m), _at_most(length_m, limit_m), 1))

    @property
    def side_m(self) -> float:
        return self.length_m / self.panels


def _at_most(length_m: float, side_m: float) -> int:
    """The fewest equal panels none of which is longer than `side_m`."""
    return math.ceil(length_m / side_m - 1e-9)


def _square_up(strips: Sequence[_Strip], across: Sequence[_Strip]) -> bool:
    """Cut the longest-sided strip until it is within 1.5 of the narrowest across; say whether it was not.

    Panels are only ever added, and only a cut from one panel to two can leave a side shorter than
    the shortest across, once a strip: so the shortest side has a floor and taking turns ends.
    """
    longest = max(strips, key=lambda strip: strip.side_m)
    most_m = MOST_ASPECT * min(strip.side_m for strip in across)
    panels = _at_most(longest.length_m, most_m)
    if panels <= longest.panels:
        return False
    longest.panels = panels
    return True


def _lines(stops: Sequence[float], strips: Sequence[_Strip]) -> list[float]:
    if sum(strip.panels for strip in strips) > MOST_PANELS:
        raise BadInput("outline", "too_many_joints", f"More than {MOST_PANELS} panels in one direction.")
    starts = zip(stops, strips, strict=False)
    return [*(a + strip.side_m * i for a, strip in starts for i in range(strip.panels)), stops[-1]]


def _cuts(polygon: shapely.Polygon, lines: Sequence[float], *, upright: bool) -> Iterator[Joint]:
    """The grid lines clipped to the slab, without what runs along its edge."""
    west, south, east, north = polygon.bounds
    for at in lines[1:-1]:
        ends = [(at, south), (at, north)] if upright else [(west, at), (east, at)]
        inside = shapely.LineString(ends).intersection(polygon).difference(polygon.boundary)
        for piece in shapely.get_parts(inside):
            if piece.length >= SHORTEST_JOINT_M:
                (x1, y1), *_, (x2, y2) = piece.coords
                yield Joint(x1, y1, x2, y2)


def _corner_cuts(
    polygon: shapely.Polygon, x_lines: Sequence[float], y_lines: Sequence[float]
) -> Iterator[Joint]:
    """For each inward corner that no line meets, the shortest cut from it to the next line or edge."""
    for x, y in _inward_corners(polygon):
        if _is_among(x, x_lines) or _is_among(y, y_lines):
            continue
        ends = [(at, y) for at in _next_to(x, x_lines)] + [(x, at) for at in _next_to(y, y_lines)]
        cuts = [cut for end in ends if (cut := _cut_from((x, y), end, polygon)) is not None]
        worth = [cut for cut in cuts if cut.length_m >= SHORTEST_JOINT_M]
        if worth:
            yield min(worth, key=lambda cut: cut.length_m)


def _is_among(at: float, lines: Sequence[float]) -> bool:
    return any(abs(at - line) < NOISE_M for line in lines)


def _next_to(at: float, lines: Sequence[float]) -> tuple[float, float]:
    """The lines before and after, the outer edges among them."""
    return max(line for line in lines if line < at), min(line for line in lines if line > at)


def _cut_from(
    corner: tuple[float, float], end: tuple[float, float], polygon: shapely.Polygon
) -> Joint | None:
    """What of the way to `end` lies in the slab from the corner on; None where it starts outside."""
    inside = shapely.LineString([corner, end]).intersection(polygon).difference(polygon.boundary)
    for piece in shapely.get_parts(inside):
        if piece.distance(shapely.Point(corner)) < NOISE_M and piece.length > NOISE_M:
            (x1, y1), *_, (x2, y2) = piece.coords
            return Joint(x1, y1, x2, y2)
    return None
