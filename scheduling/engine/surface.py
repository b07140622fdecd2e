"""The slab's top as a plane in the section's own axes: how far a point lies below the high edge."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass

import shapely

from scheduling.engine.inputs import (
    BadInput,
    FallingBase,
    FallingTop,
    Outline,
    PlainArea,
    Section,
    SpotDepths,
    require_positive,
)
from scheduling.engine.volume import MAX_AREA_M2, outline_polygon


def drawn_outline(outline: Outline) -> shapely.Polygon:
    """Draw an outline in its own axes; a plain area, whose outline nobody knows, as a square from (0, 0)."""
    if isinstance(outline, PlainArea):
        require_positive("area_m2", outline.area_m2, upper=MAX_AREA_M2)
        side_m = math.sqrt(outline.area_m2)
        return shapely.box(0.0, 0.0, side_m, side_m)
    return outline_polygon(outline)


@dataclass(frozen=True, slots=True)
class Surface:
    """A top that falls `fall_m` over `run_m` along the unit vector (`east`, `north`), or lies level.

    `start_m` is where along that vector the high edge lies. `low_depth_m` is the slab's thickness at the
    low edge and `wedge` says whether it grows up the fall, the base being flat.
    """

    fall_m: float
    run_m: float
    start_m: float
    east: float
    north: float
    low_depth_m: float
    wedge: bool

    def drop_m(self, x_m: float, y_m: float) -> float:
        """Return how far the top lies below the high edge; measured depths say nothing of it and give 0."""
        return self.fall_m * (x_m * self.east + y_m * self.north - self.start_m) / self.run_m

    def depth_m(self, x_m: float, y_m: float) -> float:
        """Return the slab's thickness there, thickened edges left out; the mean of measured spots."""
        return self.low_depth_m + (self.fall_m - self.drop_m(x_m, y_m) if self.wedge else 0.0)


def surface_of(section: Section) -> Surface:
    """Read a section's top from its depths.

    Parameters
    ----------
    section : Section
        Its fall runs over the outline's extent towards `towards_deg`.

    Returns
    -------
    Surface

    Raises
    ------
    BadInput
        A direction that is no number, an outline that crosses itself.
    """
    depth = section.depth
    if isinstance(depth, FallingTop | FallingBase):
        return _falling(section, depth)
    low_depth_m = statistics.fmean(depth.depths_m) if isinstance(depth, SpotDepths) else depth.depth_m
    return Surface(0.0, 1.0, 0.0, 0.0, 1.0, low_depth_m, wedge=False)


def _falling(section: Section, depth: FallingTop | FallingBase) -> Surface:
    if not math.isfinite(depth.towards_deg):
        raise BadInput("towards_deg", "not_finite", "towards_deg must be a finite number of degrees.")
    towards = math.radians(depth.towards_deg)
    east, north = math.cos(towards), math.sin(towards)
    along_m = [x * east + y * north for x, y in drawn_outline(section.outline).exterior.coords]
    start_m, run_m = min(along_m), max(along_m) - min(along_m)
    wedge = isinstance(depth, FallingTop)
    return Surface(depth.fall_m, run_m, start_m, east, north, depth.depth_m, wedge)
