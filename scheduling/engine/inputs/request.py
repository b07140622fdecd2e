"""The weather and the whole question."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from scheduling.engine.inputs.answers import Window
from scheduling.engine.inputs.batch import Batch
from scheduling.engine.inputs.checks import BadInput, require_aware, require_not_negative
from scheduling.engine.inputs.costs import Costs
from scheduling.engine.inputs.slab import Allowance, Section
from scheduling.engine.inputs.supply import Mix, Supply
from scheduling.engine.inputs.uncertainty import Uncertainty
from scheduling.engine.inputs.work import Finishing, Place, Placing


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


@dataclass(frozen=True, slots=True, kw_only=True)
class PourRequest:
    """Everything `dayplan.plan_pour` needs. `starts_at` is when the first truck begins to discharge.

    `uncertainty` and `costs` are what the arrivals of the trucks are weighed by. `plant_busy` is when the
    plant loads other pours of ours, which go first.
    """

    sections: tuple[Section, ...]
    allowance: Allowance
    mix: Mix
    supply: Supply
    placing: Placing
    finishing: Finishing
    place: Place
    starts_at: datetime
    forecast: tuple[WeatherHour, ...] = ()
    forecast_age_h: float | None = None  # since it was given; None: not known
    concrete_c: float | None = None  # as delivered; None: from `batch`, else estimated from the air
    batch: Batch | None = None
    hold_last_load: bool = True
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    costs: Costs = field(default_factory=Costs)
    plant_busy: tuple[Window, ...] = ()
    call_lead_min: float = 60.0  # how long before the first truck the crew must stand on site

    def __post_init__(self) -> None:
        if not self.sections:
            raise BadInput("sections", "no_sections", "A pour needs at least one section of slab.")
        require_aware("starts_at", self.starts_at)
        require_not_negative("call_lead_min", self.call_lead_min, upper=600)
        if self.concrete_c is not None and not 0 <= self.concrete_c <= 45:
            raise BadInput("concrete_c", "out_of_range", "concrete_c must be from 0 to 45 as delivered.")
