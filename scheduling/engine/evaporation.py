"""How fast fresh concrete dries, and when that calls for precautions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from scheduling.engine.forecast import Floats, Forecast, utc, wind_at_slab
from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Mix,
    Severity,
    require_not_negative,
    require_positive,
)

KG_M2_PER_LB_FT2 = 4.882428  # NIST SP 811
KPA_PER_PSI = 6.894757  # NIST SP 811
M_S_PER_MPH = 0.44704  # exact

ORDINARY_LIMIT_KG_M2_H = 1.0  # 0.2 lb/ft2/h, ACI 305R
SILICA_FUME_LIMIT_KG_M2_H = 0.5  # Silica Fume Association: half the ordinary limit
UNCERTAINTY = 0.4  # Hover 2020, ACI SP-338: measured and estimated rates differ by up to 40 %


@dataclass(frozen=True, slots=True)
class EvaporationHour:
    """The drying rate at one moment and what it came from; None where the forecast does not say.

    `wind_m_s` is at 0.5 m above the slab.
    """

    at: datetime
    air_c: float | None
    humidity: float | None
    wind_m_s: float | None
    concrete_c: float | None
    rate_kg_m2_h: float | None


def saturation_pressure_kpa(temp_c: float) -> float:
    """Return the saturation vapour pressure over water, kPa, at `temp_c`.

    Buck (1981), J. Appl. Meteorol. 20:1527-1532, equation e_w1 with a = 6.1121 hPa, b = 17.502,
    c = 240.97 °C; within 0.2 % from -20 to 50 °C, 1.3 % at 80 °C.

    Raises
    ------
    BadInput
        For a temperature outside -45 to 80 °C.
    """
    if not -45 <= temp_c <= 80:
        raise BadInput("temp_c", "out_of_range", "temp_c must be from -45 to 80.")
    return float(saturation_pressures_kpa(np.array(temp_c)))


def saturation_pressures_kpa(temps_c: Floats) -> Floats:
    """Return `saturation_pressure_kpa` of an array, unchecked; NaN stays NaN."""
    return 0.61121 * np.exp(17.502 * temps_c / (240.97 + temps_c))


def saturation_slopes_kpa_k(temps_c: Floats, pressures_kpa: Floats) -> Floats:
    """Return how the saturation pressure rises per kelvin, from temperatures and their pressures."""
    return pressures_kpa * (17.502 * 240.97) / (240.97 + temps_c) ** 2


def menzel1954_kg_m2_h_kpa(wind_m_s: Floats) -> Floats:
    """Return Menzel's drying rate for each kPa between surface and air, kg/m2/h, by wind at 0.5 m."""
    return 0.44 * KG_M2_PER_LB_FT2 / KPA_PER_PSI * (0.253 + 0.096 / M_S_PER_MPH * wind_m_s)


def evaporation_rate_menzel1954(concrete_c: float, air_c: float, humidity: float, wind_m_s: float) -> float:
    """Return the rate, kg/m2/h, at which bleed water leaves a fresh surface; never below 0.

    Menzel (1954), the base of the ACI 305R chart: ``E = 0.44 (e_c - RH e_a) (0.253 + 0.096 V)`` in
    lb/ft2/h, psi and mph (from memory), here carried into SI by exact conversion.

    Parameters
    ----------
    concrete_c, air_c : float
        Temperatures of surface and air, °C, -45 to 80.
    humidity : float
        Relative humidity of the air, 0..1.
    wind_m_s : float
        Average wind, not gusts, 0.5 m above the slab.

    Raises
    ------
    BadInput
        For a humidity outside 0..1, a negative wind, or a temperature out of range.
    """
    _check_air(humidity, wind_m_s)
    deficit_kpa = saturation_pressure_kpa(concrete_c) - humidity * saturation_pressure_kpa(air_c)
    return max(0.0, deficit_kpa * float(menzel1954_kg_m2_h_kpa(np.array(wind_m_s))))


def evaporation_rate_uno1998(concrete_c: float, air_c: float, humidity: float, wind_m_s: float) -> float:
    """Return the rate, kg/m2/h, by Uno's simpler fit; never below 0.

    Uno (1998), ACI Materials Journal 95(4) 365-375:
    ``E = 5 [(Tc + 18)^2.5 - r (Ta + 18)^2.5] (V + 4) 1e-6``, °C and km/h. Reads 10 to 20 % high when
    the air is at or below about 10 °C. Parameters and faults as for `evaporation_rate_menzel1954`.
    """
    _check_air(humidity, wind_m_s)
    drive = _above_18_below(concrete_c) ** 2.5 - humidity * _above_18_below(air_c) ** 2.5
    return max(0.0, 5e-6 * drive * (wind_m_s * 3.6 + 4.0))


def _above_18_below(temp_c: float) -> float:
    """Uno's fit of vapour pressure reaches nothing at -18 °C and has no meaning below."""
    return max(0.0, temp_c + 18.0)


def _check_air(humidity: float, wind_m_s: float) -> None:
    require_not_negative("humidity", humidity, upper=1)
    require_not_negative("wind_m_s", wind_m_s)


def evaporation_limit_kg_m2_h(mix: Mix) -> float:
    """Return the rate from which fresh concrete of this mix needs precautions, kg/m2/h.

    1.0 (0.2 lb/ft2/h, ACI 305R), or 0.5 with silica fume, which hardly bleeds (Silica Fume
    Association). Mixes that bleed little may crack well below either.
    """
    return SILICA_FUME_LIMIT_KG_M2_H if mix.silica_fume else ORDINARY_LIMIT_KG_M2_H


def evaporation_day(
    forecast: Forecast,
    concrete_c_at: Callable[[datetime], float | None],
    start: datetime,
    end: datetime,
    step_min: float = 60,
    wet_share_at: Callable[[datetime], float] = lambda _: 1.0,
) -> tuple[EvaporationHour, ...]:
    """Return the drying rate every `step_min` minutes from `start` to `end`, both counted.

    Parameters
    ----------
    forecast : Forecast
    concrete_c_at : callable
        The surface temperature, °C, at a moment in UTC; None where unknown.
    start, end : datetime
        Aware.
    wet_share_at : callable
        How much of a wet surface's drying is left at a moment in UTC: a slab that sets dries less and less.

    Raises
    ------
    BadInput
        When `end` is before `start` or `step_min` is not positive.
    """
    require_positive("step_min", step_min)
    start, end = utc(start, "start"), utc(end, "end")
    if end < start:
        raise BadInput("end", "empty_window", "end must not be before start.")
    count = int((end - start) / timedelta(minutes=step_min)) + 1
    moments = [start + index * timedelta(minutes=step_min) for index in range(count)]
    return tuple(
        _evaporation_hour(forecast, moment, concrete_c_at(moment), wet_share_at(moment)) for moment in moments
    )


def _evaporation_hour(
    forecast: Forecast, moment: datetime, concrete_c: float | None, wet_share: float
) -> EvaporationHour:
    weather = forecast.at(moment)
    air_c, humidity = weather.air_c, weather.humidity
    wind_m_s = None if weather.wind_10m_m_s is None else wind_at_slab(weather.wind_10m_m_s)
    rate = None
    if concrete_c is not None and air_c is not None and humidity is not None and wind_m_s is not None:
        rate = wet_share * evaporation_rate_menzel1954(concrete_c, air_c, humidity, wind_m_s)
    return EvaporationHour(weather.at, air_c, humidity, wind_m_s, concrete_c, rate)


def evaporation_findings(hours: tuple[EvaporationHour, ...], mix: Mix) -> tuple[Finding, ...]:
    """Say when the surface dries fast enough to need care, and when that cannot be told.

    Returns
    -------
    tuple of Finding
        CAUTION ``evaporation_high`` where the peak reaches the mix's limit, else NOTE
        ``evaporation_watch`` where it passes half of it; CAUTION ``evaporation_unknown`` where some
        rate cannot be computed. ``uncertainty_fraction`` is Hover's (2020) 0.4: a guide, no gauge.
    """
    known = [(hour.rate_kg_m2_h, hour) for hour in hours if hour.rate_kg_m2_h is not None]
    unknown = [hour for hour in hours if hour.rate_kg_m2_h is None]
    findings = _rate_findings(known, evaporation_limit_kg_m2_h(mix)) if known else []
    if unknown:
        findings.append(Finding(Severity.CAUTION, "evaporation_unknown", _unknown_facts(unknown)))
    return tuple(findings)


def _rate_findings(known: list[tuple[float, EvaporationHour]], limit_kg_m2_h: float) -> list[Finding]:
    peak, peak_hour = max(known, key=lambda pair: pair[0])
    facts: dict[str, Fact] = {
        "peak_kg_m2_h": peak,
        "limit_kg_m2_h": limit_kg_m2_h,
        "peak_at": peak_hour.at,
        "uncertainty_fraction": UNCERTAINTY,
    }
    over = [hour.at for rate, hour in known if rate >= limit_kg_m2_h]
    source = "ACI 305R; Menzel 1954; Hover 2020"
    if over:
        facts |= {"first_over_at": over[0], "last_over_at": over[-1]}
        return [Finding(Severity.CAUTION, "evaporation_high", facts, source)]
    if peak > limit_kg_m2_h / 2:
        return [Finding(Severity.NOTE, "evaporation_watch", facts, source)]
    return []


def _unknown_facts(unknown: list[EvaporationHour]) -> dict[str, Fact]:
    return {
        "first_at": unknown[0].at,
        "last_at": unknown[-1].at,
        "wind_missing": any(hour.wind_m_s is None for hour in unknown),
        "humidity_missing": any(hour.humidity is None for hour in unknown),
        "air_missing": any(hour.air_c is None for hour in unknown),
        "concrete_missing": any(hour.concrete_c is None for hour in unknown),
    }
