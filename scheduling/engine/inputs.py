"""What the engine is asked: the slab, the people, the plant and the place.

Plain values in SI units, frozen, checked when made. Every name carries its unit. Nothing here
knows Django, the clock or settings.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import ClassVar, TypeAlias

Fact: TypeAlias = float | int | str | bool | datetime | None


class BadInput(ValueError):
    """An input that no plan can be made from.

    Attributes
    ----------
    field : str
        Name of the input at fault, with its unit suffix.
    code : str
        Stable word for the kind of fault, for the doors to word and test.
    """

    def __init__(self, field: str, code: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.code = code


def require_positive(field: str, value: float, upper: float = math.inf) -> None:
    """Raise `BadInput` unless ``0 < value <= upper`` and finite."""
    if not (math.isfinite(value) and 0 < value <= upper):
        limit = "" if math.isinf(upper) else f" and at most {upper:g}"
        raise BadInput(field, "not_positive", f"{field} must be more than 0{limit}, not {value:g}.")


def require_not_negative(field: str, value: float, upper: float = math.inf) -> None:
    """Raise `BadInput` unless ``0 <= value <= upper`` and finite."""
    if not (math.isfinite(value) and 0 <= value <= upper):
        limit = "" if math.isinf(upper) else f" and at most {upper:g}"
        raise BadInput(field, "negative", f"{field} must be 0 or more{limit}, not {value:g}.")


def require_aware(field: str, value: datetime) -> None:
    """Raise `BadInput` unless the moment carries its offset from UTC."""
    if value.tzinfo is None or value.utcoffset() is None:
        raise BadInput(field, "naive_time", f"{field} must carry a time zone.")


# --- the slab ---------------------------------------------------------------------------------


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
    """One piece of slab. `drawn_depth_m`, where given, is what the drawing calls it ("four inch")."""

    outline: Outline
    depth: Depth
    edges: tuple[ThickenedEdge, ...] = ()
    openings: tuple[Opening, ...] = ()
    label: str = ""
    drawn_depth_m: float | None = None


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


# --- what it is made of -----------------------------------------------------------------------


class Admixture(StrEnum):
    WATER_REDUCER = "water_reducer"
    SUPERPLASTICIZER = "superplasticizer"
    RETARDER = "retarder"
    ACCELERATOR = "accelerator"
    AIR_ENTRAINER = "air_entrainer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    name: str
    strength_mpa: float
    aggregate_mm: float
    density_kg_m3: float = 2400.0
    fly_ash_fraction: float = 0.0
    slag_fraction: float = 0.0
    silica_fume: bool = False
    admixtures: frozenset[Admixture] = frozenset()

    def __post_init__(self) -> None:
        require_positive("strength_mpa", self.strength_mpa, upper=150)
        require_positive("aggregate_mm", self.aggregate_mm, upper=150)
        if not 1000 <= self.density_kg_m3 <= 4000:
            raise BadInput("density_kg_m3", "out_of_range", "density_kg_m3 must be from 1000 to 4000.")
        require_not_negative("fly_ash_fraction", self.fly_ash_fraction, upper=0.7)
        require_not_negative("slag_fraction", self.slag_fraction, upper=0.9)


# --- who supplies it --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """The plant and its trucks as this pour sees them.

    `age_limit_min` runs from water meeting cement to the end of discharge (the purchaser's or
    producer's stated limit). `opens_at` and `closes_at` bound the moments of batching on the day.
    A truck's load is held to `truck_m3`, to `payload_kg` and to what the road leaves of
    `road_limit_kg` after `truck_empty_kg`, whichever is least.
    """

    truck_m3: float
    order_step_m3: float
    minimum_load_m3: float = 0.0
    payload_kg: float | None = None
    truck_empty_kg: float | None = None
    road_limit_kg: float | None = None
    trucks: int | None = None  # None: as many as the pour asks for
    plant_rate_m3_h: float | None = None
    loading_min: float = 5.0
    haul_min: float
    return_min: float | None = None  # None: as long as the haul
    washout_min: float = 5.0
    age_limit_min: float = 90.0
    opens_at: datetime | None = None
    closes_at: datetime | None = None
    open_that_day: bool = True

    def __post_init__(self) -> None:
        require_positive("truck_m3", self.truck_m3, upper=20)
        require_positive("order_step_m3", self.order_step_m3)
        require_not_negative("minimum_load_m3", self.minimum_load_m3)
        for name in ("payload_kg", "truck_empty_kg", "road_limit_kg", "plant_rate_m3_h"):
            value = getattr(self, name)
            if value is not None:
                require_positive(name, value)
        if self.trucks is not None:
            require_positive("trucks", self.trucks)
        for name in ("loading_min", "haul_min", "washout_min"):
            require_not_negative(name, getattr(self, name), upper=600)
        if self.return_min is not None:
            require_not_negative("return_min", self.return_min, upper=600)
        require_positive("age_limit_min", self.age_limit_min, upper=600)


# --- who places it, and how -------------------------------------------------------------------


class Method(StrEnum):
    CHUTE = "chute"
    EXTENDED_CHUTE = "extended_chute"
    BARROW = "barrow"
    POWER_BUGGY = "power_buggy"
    LINE_PUMP = "line_pump"
    BOOM_PUMP = "boom_pump"
    CONVEYOR = "conveyor"


class Screed(StrEnum):
    HAND = "hand"
    VIBRATING = "vibrating"
    LASER = "laser"


class Finish(StrEnum):
    TROWEL = "trowel"
    BROOM = "broom"
    FLOAT = "float"


class SawType(StrEnum):
    CONVENTIONAL = "conventional"
    EARLY_ENTRY = "early_entry"


class Reinforcement(StrEnum):
    NONE = "none"
    MESH = "mesh"
    BARS = "bars"


_PLACING_UPPER = {
    "reach_m": 1000.0,
    "carry_m": 1000.0,
    "rise_m": 30.0,
    "line_m": 500.0,
    "hose_moves": 100,
    "pump_moves": 20,
    "slump_mm": 300.0,
    "slope": 0.5,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """The people who place, what they strike off with and how the concrete reaches them.

    `reach_m` is the farthest the concrete must travel from where a truck may stand (None: not
    asked), `reaches_m` how far a method gets here where that is not the usual, as with trucks that
    discharge at the front. Barrows and buggies go `carry_m` one way (None: `reach_m`, else a usual
    distance) and climb `rise_m`; there are `carts` of them (None: a barrow for everybody, one
    buggy). A pump's line is `line_m` long (None: as far as it must reach); its hose is shortened or
    lengthened `hose_moves` times in the pour and the pump itself stands anew `pump_moves` times.
    `slope` is the fall of the surface over its run. `slump_mm` None means an ordinary slab mix.
    `straightedge_m` is the width of what strikes off, by hand or vibrating. `rate_factor` is the
    crew's own record against our default rates.
    """

    method: Method
    people: int
    straightedge_m: float = 4.27
    screed: Screed = Screed.HAND
    reach_m: float | None = None
    reaches_m: Mapping[Method, float] = field(default_factory=dict)
    carry_m: float | None = None
    rise_m: float = 0.0
    barrow_m3: float = 3 * 0.0283168
    carts: int | None = None
    line_m: float | None = None
    hose_moves: int = 0
    pump_moves: int = 0
    reinforcement: Reinforcement = Reinforcement.NONE
    fibres: bool = False
    slump_mm: float | None = None
    slope: float = 0.0
    rate_factor: float = 1.0

    def __post_init__(self) -> None:
        if not 1 <= self.people <= 60:
            raise BadInput("people", "out_of_range", "people must be from 1 to 60.")
        require_positive("straightedge_m", self.straightedge_m, upper=12)
        require_positive("barrow_m3", self.barrow_m3, upper=0.5)
        require_positive("rate_factor", self.rate_factor, upper=5)
        for name, upper in _PLACING_UPPER.items():
            value = getattr(self, name)
            if value is not None:
                require_not_negative(name, value, upper)
        for reach_m in self.reaches_m.values():
            require_positive("reaches_m", reach_m, upper=1000)
        if self.carts is not None:
            require_positive("carts", self.carts, upper=60)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finishing:
    """The party that stays: how many, how the surface is left, and what the joints are cut with."""

    people: int
    finish: Finish = Finish.TROWEL
    power_trowels: int = 1
    saw: SawType = SawType.CONVENTIONAL
    joint_spacing_m: float | None = None  # None: from the slab's thickness

    def __post_init__(self) -> None:
        if not 1 <= self.people <= 60:
            raise BadInput("people", "out_of_range", "people must be from 1 to 60.")
        require_not_negative("power_trowels", self.power_trowels)
        if self.joint_spacing_m is not None:
            require_positive("joint_spacing_m", self.joint_spacing_m, upper=10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where it is, as far as it changes the work."""

    latitude: float | None = None
    longitude: float | None = None
    indoors: bool = False
    one_truck_at_a_time: bool = False
    trucks_must_back: bool = False
    power_lines: bool = False


# --- the weather ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherHour:
    """The hour that begins at `at`. None means unknown, never zero."""

    at: datetime
    air_c: float | None = None
    dew_point_c: float | None = None
    humidity: float | None = None  # fraction 0..1
    wind_10m_m_s: float | None = None
    gust_10m_m_s: float | None = None
    cloud: float | None = None  # fraction 0..1
    sun_w_m2: float | None = None
    rain_chance: float | None = None  # fraction 0..1
    rain_mm: float | None = None
    thunder_chance: float | None = None  # fraction 0..1

    def __post_init__(self) -> None:
        require_aware("at", self.at)


# --- the whole question -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PourRequest:
    """Everything `dayplan.plan_pour` needs. `starts_at` is when the first truck begins to discharge."""

    sections: tuple[Section, ...]
    allowance: Allowance
    mix: Mix
    supply: Supply
    placing: Placing
    finishing: Finishing
    place: Place
    starts_at: datetime
    forecast: tuple[WeatherHour, ...] = ()
    concrete_c: float | None = None  # as delivered; None: estimated from the air
    hold_last_load: bool = True
    call_lead_min: float = 60.0  # how long before the first truck the crew must stand on site

    def __post_init__(self) -> None:
        if not self.sections:
            raise BadInput("sections", "no_sections", "A pour needs at least one section of slab.")
        require_aware("starts_at", self.starts_at)
        require_not_negative("call_lead_min", self.call_lead_min, upper=600)
        if self.concrete_c is not None and not 0 <= self.concrete_c <= 45:
            raise BadInput("concrete_c", "out_of_range", "concrete_c must be from 0 to 45 as delivered.")


# --- how the engine answers -------------------------------------------------------------------


class Severity(StrEnum):
    NOTE = "note"
    CAUTION = "caution"
    STOP = "stop"  # as asked, this cannot be done well: change something first


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the plan wants to say; the doors word it in the reader's language and units.

    `facts` hold SI values under names that carry their unit; `source` names where the rule is from.
    """

    severity: Severity
    code: str
    facts: Mapping[str, Fact] = field(default_factory=dict)
    source: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """Half-open: open at `opens_at`, shut at `closes_at`."""

    opens_at: datetime
    closes_at: datetime

    def __post_init__(self) -> None:
        if self.closes_at <= self.opens_at:
            raise BadInput("closes_at", "empty_window", "A window must close after it opens.")


class PhaseKind(StrEnum):
    PLACE = "place"
    FINISH = "finish"
    CUT = "cut"
    CURE = "cure"


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of work that keeps `people` busy from `starts_at` up to `ends_at`."""

    kind: PhaseKind
    starts_at: datetime
    ends_at: datetime
    people: int

    def __post_init__(self) -> None:
        if self.ends_at <= self.starts_at:
            raise BadInput("ends_at", "empty_window", "A phase must end after it starts.")
