"""Who places and finishes it, how, and where."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from scheduling.engine.inputs.checks import BadInput, require_not_negative, require_positive


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
    """All but the early-entry saw cut with water on the blade, and from the same hour on."""

    CONVENTIONAL = "conventional"  # walked behind
    EARLY_ENTRY = "early_entry"  # run dry
    HANDHELD = "handheld"
    DRIVABLE = "drivable"


class Reinforcement(StrEnum):
    NONE = "none"
    MESH = "mesh"
    BARS = "bars"


class Side(StrEnum):
    """A side of a section: front is its least y, left its least x."""

    FRONT = "front"
    BACK = "back"
    LEFT = "left"
    RIGHT = "right"


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
    `straightedge_m` is the width of what strikes off, by hand or vibrating. `truck_sides` are the sides
    of every section that trucks can discharge from, `on_base` says that they drive onto the base as well
    (neither: not asked). `rate_factor` is the crew's own record against our default rates.
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
    truck_sides: tuple[Side, ...] = ()
    on_base: bool = False
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
    blankets: bool = False  # on the slab as soon as its last strip is finished
    decorative: bool = False  # colored, stamped or with stone to see: nothing may stain it

    def __post_init__(self) -> None:
        if not 1 <= self.people <= 60:
            raise BadInput("people", "out_of_range", "people must be from 1 to 60.")
        require_not_negative("power_trowels", self.power_trowels)
        if self.joint_spacing_m is not None:
            require_positive("joint_spacing_m", self.joint_spacing_m, upper=10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where it is, as far as it changes the work.

    `base_c` is the base's temperature as somebody read it, `base_frozen` whether frost was seen in it.
    `spotter` is who guides trucks that must back, empty while nobody is named.
    """

    latitude: float | None = None
    longitude: float | None = None
    indoors: bool = False
    one_truck_at_a_time: bool = False
    trucks_must_back: bool = False
    spotter: str = ""
    power_lines: bool = False
    base_c: float | None = None
    base_frozen: bool = False

    def __post_init__(self) -> None:
        if self.base_c is not None and not -40 <= self.base_c <= 60:
            raise BadInput("base_c", "out_of_range", "base_c must be from -40 to 60.")
