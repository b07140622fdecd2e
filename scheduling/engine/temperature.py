"""How warm the concrete is as it comes, how the slab follows the air, and what heat and cold ask for."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

import numpy as np

from scheduling.engine.forecast import Forecast, utc, weather_unknown, wind_at_slab
from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Severity,
    WeatherHour,
    require_not_negative,
    require_positive,
)

HEAT_CAPACITY_J_M3_K = 2.4e6  # 2400 kg/m3 at 1.0 kJ/kg K; common values, from memory
STEP = timedelta(minutes=15)

OVER_AIR_K = 3.0  # common practice, no source: cement warms the mix a little over the air
HOTTEST_C = 35.0  # 95 °F at discharge, ACI 305.1-14
PROTECTION = timedelta(hours=48)  # ACI 306R-16: about what a first freeze wants waited for, from memory
ROUNDING_K = 0.01  # so that 95 °F and 55 °F pass whichever way they were converted

# What is said of cold air: (code, the limit told, air under which it is said). 40 °F is ACI 306R-16's.
_COLD_AIR = (
    ("cold_weather", (40 - 32) / 1.8, (40 - 32) / 1.8 - ROUNDING_K),
    ("frost", 0.0, ROUNDING_K),
)

# ACI 306R-16, least temperature as placed, by the least dimension of the section up to which it holds.
_LEAST_PLACED_C = (
    (12 * 0.0254, (55 - 32) / 1.8),
    (36 * 0.0254, (50 - 32) / 1.8),
    (72 * 0.0254, (45 - 32) / 1.8),
    (math.inf, (40 - 32) / 1.8),
)


def delivered_estimate_c(air_c: float) -> float:
    """Return a guess of the concrete's temperature as delivered, °C, when nobody gave it.

    The air plus 3 K, but not under 13 °C, which plants heat thin slabs' concrete to (55 °F, ACI
    306R-16), nor over 35 °C, which they must cool it to (95 °F, ACI 305.1-14). The 3 K is common
    practice without a source; expect to be off by 5 K.
    """
    return min(max(air_c + OVER_AIR_K, 13.0), HOTTEST_C)


def least_placed_c(thickness_m: float) -> float:
    """Return the least temperature concrete may have as placed, °C, by the section's least dimension.

    ACI 306R-16: 55 °F under 12 in, 50 °F to 36 in, 45 °F to 72 in, 40 °F above.
    """
    require_positive("thickness_m", thickness_m)
    return next(least_c for below_m, least_c in _LEAST_PLACED_C if thickness_m < below_m)


def convection_w_m2_k(wind_m_s: float) -> float:
    """Return the heat passed from a slab's top to the air per kelvin, W/m2/K.

    ``5.6 + 4.0 v`` up to 5 m/s, ``7.2 v^0.78`` above: Bentz (2000), NISTIR 6551, from memory. The two
    pieces differ by 1 % where they meet.
    """
    require_not_negative("wind_m_s", wind_m_s)
    return 5.6 + 4.0 * wind_m_s if wind_m_s <= 5.0 else 7.2 * wind_m_s**0.78


def slab_temperature(
    delivered_c: float, forecast: Forecast, placed_at: datetime, thickness_m: float, until: datetime
) -> tuple[tuple[datetime, float | None], ...]:
    """Return the slab's mean temperature from placing on, every 15 minutes and at `until`.

    A slab of one temperature that trades heat with the air through its top by convection alone:
    ``dT/dt = h (T_air - T) / (c L)``, exact over each step for the air and wind at its middle. Sun,
    hydration, evaporation and the ground are left out, so trust it for a thin slab's first
    hours only. The wind is taken at 0.5 m above the slab.

    Parameters
    ----------
    delivered_c : float
        Temperature at `placed_at`, °C.
    forecast : Forecast
    placed_at, until : datetime
        Aware.
    thickness_m : float

    Returns
    -------
    tuple of (datetime, float or None)
        Moments in UTC and °C; None from the first step whose air or wind is unknown.

    Raises
    ------
    BadInput
        When `until` is before `placed_at`, or the thickness is not positive.
    """
    require_positive("thickness_m", thickness_m)
    moments = _steps(utc(placed_at, "placed_at"), utc(until, "until"))
    seconds = np.array([moment.timestamp() for moment in moments])
    middles = (seconds[1:] + seconds[:-1]) / 2
    airs, winds = forecast.series("air_c", middles), forecast.series("wind_10m_m_s", middles)
    temp_c, course = delivered_c, [delivered_c]
    for step_s, air_c, wind in zip(np.diff(seconds), airs, winds, strict=True):
        temp_c = _cooled(temp_c, float(air_c), float(wind), float(step_s), thickness_m)
        course.append(temp_c)
    return tuple(
        (at, None if math.isnan(value) else value) for at, value in zip(moments, course, strict=True)
    )


def _steps(start: datetime, end: datetime) -> list[datetime]:
    if end < start:
        raise BadInput("until", "empty_window", "until must not be before placed_at.")
    return [start + index * STEP for index in range(math.ceil((end - start) / STEP))] + [end]


def _cooled(temp_c: float, air_c: float, wind_10m_m_s: float, step_s: float, thickness_m: float) -> float:
    if math.isnan(air_c) or math.isnan(wind_10m_m_s):
        return math.nan
    per_s = convection_w_m2_k(wind_at_slab(wind_10m_m_s)) / (HEAT_CAPACITY_J_M3_K * thickness_m)
    return air_c + (temp_c - air_c) * math.exp(-per_s * step_s)


def temperature_findings(
    concrete_c: float | None, forecast: Forecast, starts_at: datetime, thickness_m: float
) -> tuple[Finding, ...]:
    """Say what heat and cold ask for, of the concrete as delivered and of the air's next 48 hours.

    Parameters
    ----------
    concrete_c : float or None
        As delivered; None leaves it unjudged.
    forecast : Forecast
    starts_at : datetime
        Aware; when the first truck discharges.
    thickness_m : float
        The slab's least thickness.

    Returns
    -------
    tuple of Finding
        CAUTION each: ``hot_concrete`` over 35 °C (ACI 305.1-14), ``cold_concrete`` under
        `least_placed_c`, ``cold_weather`` where air under 4.4 °C (40 °F, ACI 306R-16) is expected,
        ``frost`` where it is at or under 0 °C, ``weather_unknown`` (``missing`` = ``"air"``) from where
        the forecast does not tell the air.
    """
    ends_at = utc(starts_at, "starts_at") + PROTECTION
    hours = forecast.hours_between(starts_at, ends_at)
    airs = [(hour.air_c, hour) for hour in hours if hour.air_c is not None]
    findings = [] if concrete_c is None else _concrete_findings(concrete_c, thickness_m)
    findings += _cold_air_findings(airs)
    unknown_at = forecast.unknown_from(starts_at, ends_at, lambda hour: hour.air_c is not None)
    if unknown_at is not None:
        findings.append(weather_unknown("air", unknown_at))
    return tuple(findings)


def _concrete_findings(concrete_c: float, thickness_m: float) -> list[Finding]:
    least_c = least_placed_c(thickness_m)
    if concrete_c > HOTTEST_C + ROUNDING_K:
        facts: dict[str, Fact] = {"concrete_c": concrete_c, "limit_c": HOTTEST_C}
        return [Finding(Severity.CAUTION, "hot_concrete", facts, "ACI 305.1-14")]
    if concrete_c < least_c - ROUNDING_K:
        facts = {"concrete_c": concrete_c, "limit_c": least_c, "thickness_m": thickness_m}
        return [Finding(Severity.CAUTION, "cold_concrete", facts, "ACI 306R-16")]
    return []


def _cold_air_findings(airs: list[tuple[float, WeatherHour]]) -> list[Finding]:
    findings = []
    for code, limit_c, below_c in _COLD_AIR:
        cold = [(air_c, hour) for air_c, hour in airs if air_c < below_c]
        if cold:
            findings.append(Finding(Severity.CAUTION, code, _cold_facts(cold, limit_c), "ACI 306R-16"))
    return findings


def _cold_facts(cold: list[tuple[float, WeatherHour]], limit_c: float) -> dict[str, Fact]:
    coldest_c, coldest = min(cold, key=lambda pair: pair[0])
    return {
        "coldest_c": coldest_c,
        "coldest_at": utc(coldest.at),
        "first_at": utc(cold[0][1].at),
        "limit_c": limit_c,
    }
