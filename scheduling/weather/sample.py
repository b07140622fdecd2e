"""Made-up forecasts for a demonstration: the same every time, and plausible through day and night."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from scheduling.engine.forecast import humidity_from_dew_point
from scheduling.engine.inputs import WeatherHour, require_aware, require_not_negative


class SampleKind(StrEnum):
    MILD = "mild"
    HOT_WINDY = "hot_windy"
    COLD = "cold"
    RAINY = "rainy"


@dataclass(frozen=True, slots=True)
class _Climate:
    mean_c: float
    swing_k: float  # from the mean to the afternoon's height
    dew_point_c: float
    calm_m_s: float
    breeze_m_s: float  # added in mid-afternoon
    cloud: float
    sun_w_m2: float  # at noon under a clear sky


_CLIMATES = {
    SampleKind.MILD: _Climate(17.0, 5.5, 9.0, 1.8, 1.8, 0.35, 820.0),
    SampleKind.HOT_WINDY: _Climate(30.0, 7.0, 2.0, 8.0, 8.0, 0.05, 950.0),
    SampleKind.COLD: _Climate(3.0, 5.0, -5.0, 2.2, 2.0, 0.5, 450.0),
    SampleKind.RAINY: _Climate(15.0, 2.5, 13.0, 2.5, 2.5, 0.9, 750.0),
}
_WARMEST_AT_H = 15.0
_SHOWERS = {9: 1.2, 10: 2.8, 11: 1.6, 14: 0.6, 15: 3.4}  # hour of the day: mm


def sample_hours(kind: SampleKind | str, starts_at: datetime, hours: int) -> tuple[WeatherHour, ...]:
    """Return `hours` made-up hours from the hour that holds `starts_at`.

    Parameters
    ----------
    kind : SampleKind or str
    starts_at : datetime
        Aware; its own zone's clock says when the afternoon is.
    hours : int

    Raises
    ------
    BadInput
        For a naive `starts_at` or fewer than no hours.
    ValueError
        For a `kind` that is none.
    """
    kind = SampleKind(kind)
    require_aware("starts_at", starts_at)
    require_not_negative("hours", hours)
    first = starts_at.replace(minute=0, second=0, microsecond=0).astimezone(UTC)
    moments = (first + timedelta(hours=index) for index in range(hours))
    return tuple(_hour(kind, moment, moment.astimezone(starts_at.tzinfo)) for moment in moments)


def _hour(kind: SampleKind, at: datetime, local: datetime) -> WeatherHour:
    climate = _CLIMATES[kind]
    height = math.cos(2 * math.pi * (local.hour - _WARMEST_AT_H) / 24)  # 1 in mid-afternoon, -1 at night
    drift = math.sin(local.toordinal() * 2.4)  # one day unlike the next
    air_c = climate.mean_c + climate.swing_k * height + drift
    dew_point_c = min(climate.dew_point_c, air_c - 0.5)
    wind = climate.calm_m_s + climate.breeze_m_s * max(0.0, height) + 0.3 * drift
    sun = climate.sun_w_m2 * max(0.0, math.sin(math.pi * (local.hour - 6) / 12)) * (1 - 0.7 * climate.cloud)
    rain_mm = _SHOWERS.get(local.hour, 0.0) if kind is SampleKind.RAINY else 0.0
    return WeatherHour(
        at=at,
        air_c=round(air_c, 1),
        dew_point_c=round(dew_point_c, 1),
        humidity=round(humidity_from_dew_point(air_c, dew_point_c), 2),
        wind_10m_m_s=round(wind, 1),
        gust_10m_m_s=round(1.5 * wind, 1),
        cloud=climate.cloud,
        sun_w_m2=round(sun),
        rain_chance=_rain_chance(kind, rain_mm),
        rain_mm=rain_mm,
        thunder_chance=0.3 if rain_mm > 3 else 0.0,
    )


def _rain_chance(kind: SampleKind, rain_mm: float) -> float:
    if kind is SampleKind.RAINY:
        return 0.8 if rain_mm else 0.35
    return 0.05
