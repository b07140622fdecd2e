"""The slab: outlines, depths, thickened edges, openings, and what is added to be sure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar, TypeAlias

from scheduling.engine.inputs.checks import BadInput, require_not_negative, require_positive


class Shape(StrEnum):
    RECTANGLE = "rectangle"
    TRAPEZOID = "trapezoid"
    POLYGON = "polygon"
    CIRCLE = "circle"
    AREA = "area"


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Corners at (0, 0) and (length, width)."""

    shape: ClassVar[Shape] = Shape.RECTANGLE
    length_m: float
    width_m: float

    def __post_init__(self) -> None:
        require_positive("length_m", self.length_m)
        require_positive("width_m", self.width_m)


@dataclass(frozen=True, slots=True)
class Trapezoid:
    """Two parallel sides `height_m` apart: side a along y = 0, side b along y = height, both from x = 0."""

    shape: ClassVar[Shape] = Shape.TRAPEZOID
    side_a_m: float
    side_b_m: float
    height_m: float

    def __post_init__(self) -> None:
        require_positive("side_a_m", self.side_a_m)
        require_not_negative("side_b_m", self.side_b_m)
        require_positive("height_m", self.height_m)


@dataclass(frozen=True, slots=True)
class Polygon:
    """Corners in order round the edge; the last joins the first. May not cross itself."""

    shape: ClassVar[Shape] = Shape.POLYGON
    corners_m: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if len(self.corners_m) < 3:
            raise BadInput("corners_m", "too_few_corners", "A polygon needs at least three corners.")
        if not all(math.isfinite(x) and math.isfinite(y) for x, y in self.corners_m):
            raise BadInput("corners_m", "not_finite", "Every corner needs two finite numbers.")


@dataclass(frozen=True, slots=True)
class Circle:
    shape: ClassVar[Shape] = Shape.CIRCLE
    diameter_m: float

    def __post_init__(self) -> None:
        require_positive("diameter_m", self.diameter_m)


@dataclass(frozen=True, slots=True)
class PlainArea:
    """An area taken off a drawing, its outline unknown."""

    shape: ClassVar[Shape] = Shape.AREA
    area_m2: float

    def __post_init__(self) -> None:
        require_positive("area_m2", self.area_m2)


Outline: TypeAlias = Rectangle | Trapezoid | Polygon | Circle | PlainArea


class DepthKind(StrEnum):
    UNIFORM = "uniform"
    FALLING_TOP = "falling_top"  # the top falls, the base is flat: a wedge
    FALLING_BASE = "falling_base"  # the base falls with the top: one thickness
    SPOTS = "spots"  # depths measured on the base


@dataclass(frozen=True, slots=True)
class UniformDepth:
    kind: ClassVar[DepthKind] = DepthKind.UNIFORM
    depth_m: float

    def __post_init__(self) -> None:
        require_positive("depth_m", self.depth_m)


@dataclass(frozen=True, slots=True)
class FallingTop:
    """The top is a plane falling over a flat base: `depth_m` at the low edge, `depth_m + fall_m` at the high.

    `towards_deg` is where the water runs, counter-clockwise from the outline's x axis (90 = along +y).
    """

    kind: ClassVar[DepthKind] = DepthKind.FALLING_TOP
    depth_m: float
    fall_m: float
    towards_deg: float = 90.0

    def __post_init__(self) -> None:
        require_positive("depth_m", self.depth_m)
        require_not_negative("fall_m", self.fall_m)


@dataclass(frozen=True, slots=True)
class FallingBase:
    """Top and base fall together, so the slab is `depth_m` thick everywhere."""

    kind: ClassVar[DepthKind] = DepthKind.FALLING_BASE
    depth_m: float
    fall_m: float
    towards_deg: float = 90.0

    def __post_init__(self) -> None:
        require_positive("depth_m", self.depth_m)
        require_not_negative("fall_m", self.fall_m)


@dataclass(frozen=True, slots=True)
class SpotDepths:
    """Depths measured from a string line to the base, spread evenly over the section."""

    kind: ClassVar[DepthKind] = DepthKind.SPOTS
    depths_m: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.depths_m:
            raise BadInput("depths_m", "no_spots", "Measured depths need at least one reading.")
        for depth in self.depths_m:
            require_positive("depths_m", depth)


Depth: TypeAlias = UniformDepth | FallingTop | FallingBase | SpotDepths


@dataclass(frozen=True, slots=True)
class ThickenedEdge:
    """A strip of `width_m` dug to `depth_m` below the top, measured inside the outline.

    `length_m` None means all round the outline. `taper_m` is the extra width over which the dig
    slopes back up to the slab's own depth.
    """

    width_m: float
    depth_m: float
    length_m: float | None = None
    taper_m: float = 0.0

    def __post_init__(self) -> None:
        require_positive("width_m", self.width_m)
        require_positive("depth_m", self.depth_m)
        require_not_negative("taper_m", self.taper_m)
        if self.length_m is not None:
            require_positive("length_m", self.length_m)


@dataclass(frozen=True, slots=True)
class Opening:
    """A hole through the slab, `count` of them alike."""

    outline: Outline
    count: int = 1

    def __post_init__(self) -> None:
        require_positive("count", self.count)


@dataclass(frozen=True, slots=True)
class Section:
    """One piece of slab. `drawn_depth_m`, where given, is what the drawing calls it ("four inch").

    `shaded` says that it lies in shade while it sets.
    """

    outline: Outline
    depth: Depth
    edges: tuple[ThickenedEdge, ...] = ()
    openings: tuple[Opening, ...] = ()
    label: str = ""
    drawn_depth_m: float | None = None
    shaded: bool = False


class AllowanceKind(StrEnum):
    PERCENT = "percent"
    DEPTH = "depth"
    SPREAD = "spread"


@dataclass(frozen=True, slots=True)
class PercentAllowance:
    kind: ClassVar[AllowanceKind] = AllowanceKind.PERCENT
    percent: float

    def __post_init__(self) -> None:
        require_not_negative("percent", self.percent, upper=50)


@dataclass(frozen=True, slots=True)
class DepthAllowance:
    """So much more depth over the whole area: what a low base takes."""

    kind: ClassVar[AllowanceKind] = AllowanceKind.DEPTH
    depth_m: float

    def __post_init__(self) -> None:
        require_not_negative("depth_m", self.depth_m, upper=0.3)


@dataclass(frozen=True, slots=True)
class SpreadAllowance:
    """From how much the measured depths differ: the one-sided bound of their mean at `confidence`."""

    kind: ClassVar[AllowanceKind] = AllowanceKind.SPREAD
    confidence: float = 0.9

    def __post_init__(self) -> None:
        if not 0.5 <= self.confidence < 1:
            raise BadInput("confidence", "out_of_range", "confidence must be at least 0.5 and below 1.")


Allowance: TypeAlias = PercentAllowance | DepthAllowance | SpreadAllowance
