"""How warm concrete comes when nobody says so, and what heat and cold ask for."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from scheduling.engine.forecast import Forecast, utc, weather_unknown
from scheduling.engine.inputs import (
    Fact,
    Finding,
    Severity,
    WeatherHour,
    require_positive,
)

# The estimate's line: 62 °F in air of 50 °F, 88 °F in air of 90 °F, since stone lags the air (our choice).
COOL_AIR_C = (50 - 32) / 1.8
COOL_CONCRETE_C = (62 - 32) / 1.8
WARM_AIR_C = (90 - 32) / 1.8
WARM_CONCRETE_C = (88 - 32) / 1.8
HEATED_C = (60 - 32) / 1.8  # 60 °F as mixed for thin slabs in air over 30 °F, ACI 306R
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

    A straight line from 62 °F in air of 50 °F to 88 °F in air of 90 °F (our choice), but not under 60 °F,
    which plants heat thin slabs' concrete to (ACI 306R), nor over 95 °F, which they must cool it to
    (ACI 305.1-14). Expect to be off by 5 K.
    """
    rise = (WARM_CONCRETE_C - COOL_CONCRETE_C) / (WARM_AIR_C - COOL_AIR_C)
    return min(max(COOL_CONCRETE_C + rise * (air_c - COOL_AIR_C), HEATED_C), HOTTEST_C)


def least_placed_c(thickness_m: float) -> float:
    """Return the least temperature concrete may have as placed, °C, by the section's least dimension.

    ACI 306R-16: 55 °F under 12 in, 50 °F to 36 in, 45 °F to 72 in, 40 °F above.
    """
    require_positive("thickness_m", thickness_m)
    return next(least_c for below_m, least_c in _LEAST_PLACED_C if thickness_m < below_m)


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
