"""What it is made of and who supplies it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from scheduling.engine.inputs.checks import BadInput, require_not_negative, require_positive


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
    cement_kg_m3: float | None = None  # cementing material; None: an ordinary slab mix's
    fly_ash_fraction: float = 0.0
    slag_fraction: float = 0.0
    silica_fume: bool = False
    admixtures: frozenset[Admixture] = frozenset()
    calcium_chloride_fraction: float = 0.0  # of the cementing material's mass

    def __post_init__(self) -> None:
        require_positive("strength_mpa", self.strength_mpa, upper=150)
        require_positive("aggregate_mm", self.aggregate_mm, upper=150)
        if not 1000 <= self.density_kg_m3 <= 4000:
            raise BadInput("density_kg_m3", "out_of_range", "density_kg_m3 must be from 1000 to 4000.")
        if self.cement_kg_m3 is not None:
            require_positive("cement_kg_m3", self.cement_kg_m3, upper=1000)
        require_not_negative("fly_ash_fraction", self.fly_ash_fraction, upper=0.7)
        require_not_negative("slag_fraction", self.slag_fraction, upper=0.9)
        require_not_negative("calcium_chloride_fraction", self.calcium_chloride_fraction, upper=0.02)


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
