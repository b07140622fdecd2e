"""When the slab will bear a float, and when it sets: a range, from the mix and the forecast air.

Concrete's clock runs with temperature: an hour at the reference of 21.1 °C (70 °F) is one hour of
*equivalent age*, an hour in colder air less. Each milestone lies at an age of its own, moved by the
mix; the forecast's air says when that age is reached.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from scheduling.engine.forecast import Floats, Forecast, utc
from scheduling.engine.inputs import Admixture, BadInput, Mix, require_not_negative

GAS_CONSTANT_J_MOL_K = 8.314
REFERENCE_C = 21.1  # 70 °F, as Schindler and Folliard (2005) take it

# How fast setting quickens with the AIR. The contractors' survey of ASCC Position Statement 15 (4 1/4, 2 3/4
# and 1 3/4 h to power floating at 50, 70 and 90 °F) fits 28.7 kJ/mol within 2 %: flatter than concrete
# held at that temperature in a laboratory, whose usual value is 40 (ASTM C1074), since a slab lags the
# air. Both set times are likeliest on the survey's slope and range as far as the laboratory's.
AIR_ENERGY_J_MOL = 28_700.0
LABORATORY_ENERGY_J_MOL = 40_000.0

# Ages of a plain mix at 21.1 °C. Float-ready: the survey's fit. Initial and final set (ASTM C403): from
# the hydration curve of Schindler and Folliard (2005) for an ordinary Type I cement at w/cm 0.45, from
# memory; PCA's table has 6 h at 70 °F, from memory; NRMCA CIP 31 gives 2 to 12 h overall.
FLOAT_READY_H = 2.70
INITIAL_SET_H = 3.95
FINAL_SET_H = 6.12

PLAIN_SPREAD = 0.15  # our choice: how far, either way, a plain mix may be from its likely age
LEAST_SHARE = 0.4  # our choice: no mix is ready before this share of a plain mix's age
FLOAT_SHARE = 2 / 3  # our choice: what of a shift of set shows by float-ready, as the ages above stand

COLDEST_CLOCK_C = 0.0  # our choice: fresh concrete is kept from freezing (ACI 306R-16), whatever the air

STEP_S = 300.0
HORIZON_H = 72.0  # our choice: not set by then means not to be forecast


@dataclass(frozen=True, slots=True)
class Shift:
    """How a part of the mix moves its sets, in hours at 21.1 °C; `early_h` and `late_h` widen the range."""

    set_h: float
    early_h: float
    late_h: float
    source: str

    def times(self, amount: float) -> Shift:
        """Return the shift for `amount` times as much."""
        return Shift(self.set_h * amount, self.early_h * amount, self.late_h * amount, self.source)


SHIFTS: Mapping[Admixture, Shift] = MappingProxyType(
    {
        Admixture.WATER_REDUCER: Shift(0.25, 0.25, 0.5, "ASTM C494 type A: 1:00 earlier to 1:30 later"),
        Admixture.SUPERPLASTICIZER: Shift(0.5, 0.5, 1.0, "ASTM C494 type F: 1:00 earlier to 1:30 later"),
        Admixture.RETARDER: Shift(1.5, 0.5, 1.5, "ASTM C494 type B: 1:00 to 3:30 later; planned as 1 to 3 h"),
        Admixture.ACCELERATOR: Shift(-1.5, 1.5, 0.5, "ASTM C494 type C: 1:00 to 3:30 earlier; as 1 to 3 h"),
        Admixture.AIR_ENTRAINER: Shift(0.0, 0.0, 0.0, "common practice, no source: does not move setting"),
    }
)
FLY_ASH = Shift(3.3, 1.1, 1.1, "20 to 25 % sets 0.5 to 1 h later at 70 °F, from memory")  # for 100 %
SLAG_OVER = Shift(5.0, 2.0, 3.0, "Slag Cement Association: slower above 30 %; amount our choice")  # for 100 %
SLAG_FREE_FRACTION = 0.3  # Slag Cement Association: up to here little effect


class Age(NamedTuple):
    """An age as a range, hours at 21.1 °C."""

    early_h: float
    likely_h: float
    late_h: float


@dataclass(frozen=True, slots=True)
class Moment:
    """When something will be so: at the earliest, most likely, at the latest. In UTC."""

    early: datetime
    likely: datetime
    late: datetime


@dataclass(frozen=True, slots=True)
class SetTimes:
    """When concrete placed at `placed_at` floats and sets.

    `float_ready` is a footprint of 1/4 in and no sheen (ASCC Position Statement 15); `initial` and
    `final` are 500 and 4000 psi of penetration resistance (ASTM C403). The ages are the likely ones, in
    hours at 21.1 °C; `mean_air_c` is the air's mean from placing to likely final set.
    """

    placed_at: datetime
    float_ready: Moment
    initial: Moment
    final: Moment
    float_ready_age_h: float
    initial_age_h: float
    final_age_h: float
    mean_air_c: float


def arrhenius_factor(temp_c: float, reference_c: float, activation_energy_j_mol: float) -> float:
    """Return the rate of setting at `temp_c` over that at `reference_c`.

    ``exp[-Ea/R (1/T - 1/Tr)]``, ASTM C1074 (its Q is Ea/R). Meant for 0 to 40 °C.
    """
    return float(_factors(np.array([temp_c]), reference_c, activation_energy_j_mol)[0])


def _factors(temps_c: Floats, reference_c: float, activation_energy_j_mol: float) -> Floats:
    inverse_k = 1 / (temps_c + 273.15) - 1 / (reference_c + 273.15)
    return np.exp(-activation_energy_j_mol / GAS_CONSTANT_J_MOL_K * inverse_k)


def _air_factors(airs_c: Floats, reference_c: float, activation_energy_j_mol: float) -> Floats:
    return _factors(np.maximum(airs_c, COLDEST_CLOCK_C), reference_c, activation_energy_j_mol)


def equivalent_age_h(
    forecast: Forecast,
    start: datetime,
    end: datetime,
    activation_energy_j_mol: float = AIR_ENERGY_J_MOL,
    reference_c: float = REFERENCE_C,
) -> float | None:
    """Return the hours at `reference_c` that the air from `start` to `end` is worth.

    Air below freezing counts as 0 °C, since fresh concrete is kept from freezing.

    Parameters
    ----------
    forecast : Forecast
    start, end : datetime
        Aware.
    activation_energy_j_mol : float
        28.7 kJ/mol for air (ASCC survey); 40 to 45 for the concrete's own temperature (ASTM C1074).
    reference_c : float

    Returns
    -------
    float or None
        None where the air is unknown anywhere in between.

    Raises
    ------
    BadInput
        When `end` is before `start`.
    """
    span_s = (utc(end, "end") - utc(start, "start")).total_seconds()
    if span_s < 0:
        raise BadInput("end", "empty_window", "end must not be before start.")
    airs_c, steps_h = _airs(forecast, start, span_s)
    if np.isnan(airs_c).any():
        return None
    return float(np.sum(_air_factors(airs_c, reference_c, activation_energy_j_mol) * steps_h))


def hours_to_age(
    forecast: Forecast,
    start: datetime,
    age_h: float,
    activation_energy_j_mol: float = AIR_ENERGY_J_MOL,
    reference_c: float = REFERENCE_C,
) -> float | None:
    """Return the hours from `start` until `age_h` hours at `reference_c` are reached.

    The inverse of `equivalent_age_h`; None where the air is unknown before then, or the age is not
    reached within 72 h.
    """
    require_not_negative("age_h", age_h)
    airs_c, steps_h = _airs(forecast, start, HORIZON_H * 3600)
    reached = _reached_h(np.array([age_h]), airs_c, steps_h, activation_energy_j_mol, reference_c)
    return None if math.isnan(reached[0]) else float(reached[0])


def _airs(forecast: Forecast, start: datetime, span_s: float) -> tuple[Floats, Floats]:
    """Return the air in the middle of each step of `span_s` from `start`, and the steps' hours."""
    edges_s = np.append(np.arange(0.0, span_s, STEP_S), span_s)
    middles_s = (edges_s[1:] + edges_s[:-1]) / 2 + utc(start, "start").timestamp()
    return forecast.series("air_c", middles_s), np.diff(edges_s) / 3600


def _reached_h(
    ages_h: Floats, airs_c: Floats, steps_h: Floats, activation_energy_j_mol: float, reference_c: float
) -> Floats:
    """Return the hours at which each age is reached, NaN where the known air ends before."""
    growth = _air_factors(airs_c, reference_c, activation_energy_j_mol) * steps_h
    grown_h = np.append(0.0, np.cumsum(growth))
    elapsed_h = np.append(0.0, np.cumsum(steps_h))
    known = ~np.isnan(grown_h)
    return np.interp(ages_h, grown_h[known], elapsed_h[known], right=np.nan)


def set_times(mix: Mix, forecast: Forecast, placed_at: datetime) -> SetTimes | None:
    """Return when concrete of this mix, placed at `placed_at`, will float and set.

    The likely moments run on the survey's slope against air temperature. The range of float-ready is
    the mix's own; the ranges of initial and final set are as wide as the two published slopes make
    them. Meant for air up to 40 °C and slabs up to about 200 mm; air below freezing counts as 0 °C.

    Parameters
    ----------
    mix : Mix
    forecast : Forecast
        Its air is used as it stands, indoors or out.
    placed_at : datetime
        Aware.

    Returns
    -------
    SetTimes or None
        None where the air is unknown before the latest final set, or that is over 72 h away.
    """
    ages = _ages(mix)
    airs_c, steps_h = _airs(forecast, placed_at, HORIZON_H * 3600)
    flat = np.array(ages).ravel()
    by_air = _reached_h(flat, airs_c, steps_h, AIR_ENERGY_J_MOL, REFERENCE_C).reshape(3, 3)
    by_laboratory = _reached_h(flat, airs_c, steps_h, LABORATORY_ENERGY_J_MOL, REFERENCE_C).reshape(3, 3)
    if np.isnan(by_air).any() or np.isnan(by_laboratory).any():
        return None
    hours = by_air.copy()
    hours[1:, 0] = np.minimum(by_air, by_laboratory)[1:, 0]
    hours[1:, 2] = np.maximum(by_air, by_laboratory)[1:, 2]
    hours = np.maximum.accumulate(hours, axis=0)  # the two slopes may cross in air over 45 °C
    return _set_times(utc(placed_at, "placed_at"), ages, hours, airs_c, steps_h)


def _set_times(
    placed_at: datetime, ages: tuple[Age, ...], hours: Floats, airs_c: Floats, steps_h: Floats
) -> SetTimes:
    float_ready, initial, final = (
        Moment(*(placed_at + timedelta(hours=float(hour)) for hour in row)) for row in hours
    )
    to_final = np.cumsum(steps_h) <= hours[2, 1] + STEP_S / 3600
    return SetTimes(
        placed_at=placed_at,
        float_ready=float_ready,
        initial=initial,
        final=final,
        float_ready_age_h=ages[0].likely_h,
        initial_age_h=ages[1].likely_h,
        final_age_h=ages[2].likely_h,
        mean_air_c=float(np.mean(airs_c[to_final])),
    )


def _ages(mix: Mix) -> tuple[Age, Age, Age]:
    """Return the mix's ages at float-ready, initial and final set."""
    shifts = _shifts(mix)
    return (
        _age(FLOAT_READY_H, [shift.times(FLOAT_SHARE) for shift in shifts]),
        _age(INITIAL_SET_H, shifts),
        _age(FINAL_SET_H, shifts),
    )


def _shifts(mix: Mix) -> list[Shift]:
    shifts = [SHIFTS[admixture] for admixture in sorted(mix.admixtures)]
    shifts.append(FLY_ASH.times(mix.fly_ash_fraction))
    shifts.append(SLAG_OVER.times(max(0.0, mix.slag_fraction - SLAG_FREE_FRACTION)))
    return shifts


def _age(plain_h: float, shifts: list[Shift]) -> Age:
    """Move a plain mix's age by its shifts; their uncertainties are independent, so add as squares."""
    least_h = LEAST_SHARE * plain_h
    likely_h = plain_h + sum(shift.set_h for shift in shifts)
    early_h = likely_h - math.hypot(PLAIN_SPREAD * plain_h, *(shift.early_h for shift in shifts))
    late_h = likely_h + math.hypot(PLAIN_SPREAD * plain_h, *(shift.late_h for shift in shifts))
    return Age(*(max(least_h, hours) for hours in (early_h, likely_h, late_h)))
