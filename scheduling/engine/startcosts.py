"""What one start has against it: each danger measured on its plan and weighed in crew-hours.

A crew-hour is what an hour's standing of everybody on the pour is worth. Nothing unknown counts as
harmless: hours that the forecast does not tell have their own weight.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from types import MappingProxyType

from scheduling.engine.daylight import daylight, hours_outside
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.evaporation import evaporation_limit_kg_m2_h
from scheduling.engine.forecast import RAIN_LIMIT_MM, Forecast, humidity_of
from scheduling.engine.inputs import Fact, PourRequest, WeatherHour, Window
from scheduling.engine.passes import PassKind
from scheduling.engine.rounds import NOISE_MIN

HOT_CONCRETE_C = (90 - 32) / 1.8  # earlier specifications; 95 °F since ACI 305.1-14
COLD_AIR_C = (40 - 32) / 1.8  # ACI 306R-16
DRYING_FREE = 0.5  # the share of the limit from which the plan tells to watch the surface

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Weight:
    """Crew-hours: `each` as soon as there is any of it, and `per` for every `unit`."""

    each: float
    per: float
    unit: str


# Our choice, every one: what we would give to be rid of it.
WEIGHTS: Mapping[str, Weight] = MappingProxyType(
    {
        "drying": Weight(0.0, 4.0, "evaporation limit that the peak lies over half of it"),
        "hot_concrete": Weight(0.0, 0.5, "kelvin over 90 °F as delivered"),
        "cold": Weight(0.0, 0.25, "kelvin that the air falls under 40 °F before final set"),
        "rain": Weight(0.0, 8.0, "certainty of rain before final set"),
        "thunder": Weight(0.0, 6.0, "certainty of thunder before final set"),
        "placing_dark": Weight(0.0, 0.3, "hour of placing without daylight"),
        "finishing_dark": Weight(0.0, 0.8, "hour of finishing and setting without daylight"),
        "loud": Weight(4.0, 4.0, "hour of loud work outside the hours for it"),
        "plant_hours": Weight(10.0, 4.0, "hour that batching lies outside the plant's hours"),
        "old_loads": Weight(0.0, 6.0, "load past its age limit"),
        "finishing_short": Weight(0.0, 20.0, "slab left unfinished when it is too hard"),
        "unknown_weather": Weight(0.0, 8.0, "share of the time to final set that no forecast tells"),
    }
)


@dataclass(frozen=True, slots=True)
class Danger:
    """How much there is of it, in the unit of its weight, and what to tell of it."""

    amount: float
    facts: Mapping[str, Fact] = field(default_factory=dict)


class Surroundings:
    """What all starts of a sweep share: the forecast, the daylight and the hours for loud work.

    `days` is None where nobody knows whether it is light, or it does not matter under a roof.
    """

    __slots__ = ("days", "forecast", "loud_windows")

    def __init__(
        self, request: PourRequest, first: datetime, last: datetime, loud_windows: tuple[Window, ...]
    ) -> None:
        self.forecast = Forecast(request.forecast)
        self.loud_windows = loud_windows
        self.days: tuple[Window, ...] | None = None
        place = request.place
        if place.latitude is not None and place.longitude is not None and not place.indoors:
            self.days = daylight(place.latitude, place.longitude, first - DAY, last + 4 * DAY)

    def hours_dark(self, start: datetime, end: datetime) -> float:
        return 0.0 if self.days is None else hours_outside(self.days, start, end)

    def hours_too_loud(self, start: datetime, end: datetime) -> float:
        return hours_outside(self.loud_windows, start, end) if self.loud_windows else 0.0


def cost_h(reason: str, danger: Danger) -> float:
    """Weigh a danger in crew-hours."""
    weight = WEIGHTS[reason]
    return weight.each + weight.per * danger.amount if danger.amount > 0 else 0.0


def dangers_of(request: PourRequest, plan: PourPlan, around: Surroundings) -> Mapping[str, Danger]:
    """Measure everything that can speak against a start.

    Parameters
    ----------
    request : PourRequest
        As planned.
    plan : PourPlan
    around : Surroundings

    Returns
    -------
    mapping of str to Danger
        One for every key of `WEIGHTS`.
    """
    return {
        "drying": _drying(request, plan),
        "hot_concrete": _hot(plan),
        **_sky(request, plan, around),
        "placing_dark": _placing_dark(plan, around),
        "finishing_dark": _finishing_dark(plan, around),
        "loud": _loud(request, plan, around),
        "plant_hours": _plant_hours(request, plan),
        "old_loads": _old_loads(request, plan),
        "finishing_short": _finishing_short(plan),
    }


def _drying(request: PourRequest, plan: PourPlan) -> Danger:
    rates = [hour.rate_kg_m2_h for hour in plan.weather if hour.rate_kg_m2_h is not None]
    if not rates:
        return Danger(0.0)
    limit, peak = evaporation_limit_kg_m2_h(request.mix), max(rates)
    facts: dict[str, Fact] = {"peak_kg_m2_h": peak, "limit_kg_m2_h": limit}
    return Danger(max(0.0, peak / limit - DRYING_FREE), facts)


def _hot(plan: PourPlan) -> Danger:
    if plan.concrete_c is None:
        return Danger(0.0)
    return Danger(max(0.0, plan.concrete_c - HOT_CONCRETE_C), {"concrete_c": plan.concrete_c})


def _sky(request: PourRequest, plan: PourPlan, around: Surroundings) -> dict[str, Danger]:
    """What the sky brings from the first truck until the last concrete has set; a roof keeps rain off."""
    starts_at, hard_at = plan.starts_at, plan.last_set.final.likely
    hours = around.forecast.hours_between(starts_at, hard_at)
    open_hours = () if request.place.indoors else hours
    wet = max((_rain_chance(hour) for hour in open_hours), default=0.0)
    thunder = max((hour.thunder_chance or 0.0 for hour in open_hours), default=0.0)
    airs = [hour.air_c for hour in hours if hour.air_c is not None]
    unknown_at = around.forecast.unknown_from(starts_at, hard_at, _tells_all)
    unknown = 0.0 if unknown_at is None else (hard_at - unknown_at) / (hard_at - starts_at)
    coldest_c = min(airs, default=None)
    return {
        "cold": Danger(
            0.0 if coldest_c is None else max(0.0, COLD_AIR_C - coldest_c), {"coldest_c": coldest_c}
        ),
        "rain": Danger(wet, {"chance": wet}),
        "thunder": Danger(thunder, {"chance": thunder}),
        "unknown_weather": Danger(unknown, {"unknown_fraction": unknown}),
    }


def _rain_chance(hour: WeatherHour) -> float:
    """An amount without a chance is taken for sure."""
    if hour.rain_chance is not None:
        return hour.rain_chance
    return 1.0 if (hour.rain_mm or 0.0) > RAIN_LIMIT_MM else 0.0


def _tells_all(hour: WeatherHour) -> bool:
    rain_known = hour.rain_chance is not None or hour.rain_mm is not None
    drying_known = None not in (hour.air_c, hour.wind_10m_m_s, humidity_of(hour))
    return rain_known and drying_known


# --- light and noise --------------------------------------------------------------------------


def _placing_dark(plan: PourPlan, around: Surroundings) -> Danger:
    dark_h = around.hours_dark(plan.starts_at, plan.placed_at)
    return Danger(dark_h, {"placing_dark_h": dark_h})


def _finishing_dark(plan: PourPlan, around: Surroundings) -> Danger:
    """Until the slab has had its last pass and set."""
    until = max(plan.finishing.ends_at, plan.last_set.final.likely)
    dark_h = around.hours_dark(plan.finishing.starts_at, until)
    return Danger(dark_h, {"finishing_dark_h": dark_h})


def _loud_work(request: PourRequest, plan: PourPlan) -> Iterator[tuple[str, datetime, datetime]]:
    """Yield each kind of loud work with when it starts and ends."""
    yield "trucks", plan.delivery.loads[0].arrives_at, plan.placed_at
    machines = any(one.kind is not PassKind.BROOM for one in plan.finishing.passes)
    if machines and request.finishing.power_trowels:
        yield "trowels", plan.finishing.starts_at, plan.finishing.ends_at
    if plan.sawing.starts_at is not None and plan.sawing.ends_at is not None:
        yield "saw", plan.sawing.starts_at, plan.sawing.ends_at


def _loud(request: PourRequest, plan: PourPlan, around: Surroundings) -> Danger:
    hours = {f"{kind}_h": around.hours_too_loud(*span) for kind, *span in _loud_work(request, plan)}
    total_h = sum(hours.values())
    return Danger(total_h, {"loud_h": total_h, **hours})


# --- plant and people -------------------------------------------------------------------------


def _plant_hours(request: PourRequest, plan: PourPlan) -> Danger:
    supply, loads = request.supply, plan.delivery.loads
    first, last = loads[0].batch_at, loads[-1].batch_at
    early_h = max(0.0, (supply.opens_at - first) / HOUR) if supply.opens_at else 0.0
    late_h = max(0.0, (last - supply.closes_at) / HOUR) if supply.closes_at else 0.0
    return Danger(early_h + late_h, {"outside_h": early_h + late_h})


def _old_loads(request: PourRequest, plan: PourPlan) -> Danger:
    limit_min = request.supply.age_limit_min + NOISE_MIN
    return Danger(sum(load.age_min > limit_min for load in plan.delivery.loads))


def _finishing_short(plan: PourPlan) -> Danger:
    found = (f.facts["short_percent"] for f in plan.finishing.findings if f.code == "finishing_short")
    percent = next((value for value in found if isinstance(value, float)), 0.0)
    return Danger(percent / 100, {"short_percent": percent})
