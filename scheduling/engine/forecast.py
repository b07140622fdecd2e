"""The hourly forecast, read at any moment, and what it says of rain and thunder."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Place,
    Severity,
    WeatherHour,
    require_aware,
    require_not_negative,
)

Floats: TypeAlias = NDArray[np.float64]

HOUR = timedelta(hours=1)
FORECAST_WIND_HEIGHT_M = 10.0

# Our choice: a service gives a new forecast several times a day; one older than this is marked, and one
# older than a day is none.
OLD_AFTER_H = 6.0
USELESS_AFTER_H = 24.0

RAIN_CHANCE_LIMIT = 0.4  # our choice
RAIN_LIMIT_MM = 0.2  # our choice: in one hour, less than this only dampens the sheets
THUNDER_CHANCE_LIMIT = 0.25  # the U.S. weather service's word "chance" begins at 25 %, from memory

_FIELDS = (
    "air_c",
    "humidity",
    "wind_10m_m_s",
    "gust_10m_m_s",
    "cloud",
    "sun_w_m2",
    "rain_chance",
    "rain_mm",
    "thunder_chance",
)
_STEPPED = frozenset({"rain_chance", "rain_mm", "thunder_chance"})


@dataclass(frozen=True, slots=True)
class Conditions:
    """The weather at one moment; None where the forecast does not say.

    `rain_mm`, `rain_chance` and `thunder_chance` are those of the whole hour that holds the moment.
    """

    at: datetime
    air_c: float | None
    humidity: float | None
    wind_10m_m_s: float | None
    gust_10m_m_s: float | None
    cloud: float | None
    sun_w_m2: float | None
    rain_chance: float | None
    rain_mm: float | None
    thunder_chance: float | None


def utc(moment: datetime, name: str = "moment") -> datetime:
    """Carry an aware moment into UTC, where differences are real time; raise `BadInput` for a naive one."""
    require_aware(name, moment)
    return moment.astimezone(UTC)


class Forecast:
    """Hours of weather in order of time, in any order given.

    Between two hour starts, air, humidity, wind, gust, cloud and sun run in a straight line; rain and
    thunder hold through their hour. An hour whose value is unknown stays unknown; a known hour
    followed by an unknown one holds its own value to its end.

    Parameters
    ----------
    hours : tuple of WeatherHour
        May have gaps; may be empty.

    Raises
    ------
    BadInput
        ``overlapping_hours`` when two hours begin less than an hour apart.
    """

    __slots__ = ("_slopes", "_starts_s", "_values", "hours")

    def __init__(self, hours: tuple[WeatherHour, ...]) -> None:
        self.hours = tuple(sorted(hours, key=lambda hour: hour.at.timestamp()))
        self._starts_s: Floats = np.array([hour.at.timestamp() for hour in self.hours], dtype=np.float64)
        steps_s = np.diff(self._starts_s)
        if np.any(steps_s < HOUR.total_seconds()):
            raise BadInput("forecast", "overlapping_hours", "Two hours of the forecast overlap.")
        self._values: Floats = np.array(
            [[_known_or_nan(hour, name) for hour in self.hours] for name in _FIELDS], dtype=np.float64
        )
        self._slopes = _slopes(self._values, steps_s == HOUR.total_seconds())

    def at(self, moment: datetime) -> Conditions:
        """Return the weather at `moment` (aware); every field is None outside the forecast."""
        moment = utc(moment)
        sampled = self._sample(np.array([moment.timestamp()]))[:, 0]
        return Conditions(moment, *(None if math.isnan(value) else float(value) for value in sampled))

    def series(self, name: str, seconds: Floats) -> Floats:
        """Return one field of `Conditions` at POSIX times, NaN where unknown; same shape as `seconds`."""
        return self._sample(seconds, slice(_FIELDS.index(name), _FIELDS.index(name) + 1))[0]

    def covers(self, start: datetime, end: datetime) -> bool:
        """Say whether every moment from `start` up to `end` lies in some hour of the forecast."""
        return self.unknown_from(start, end, lambda hour: True) is None

    def hours_between(self, start: datetime, end: datetime) -> tuple[WeatherHour, ...]:
        """Return the hours that overlap ``[start, end)``, in order."""
        first_s, last_s = utc(start, "start").timestamp(), utc(end, "end").timestamp()
        first = int(np.searchsorted(self._starts_s, first_s - HOUR.total_seconds(), side="right"))
        return self.hours[first : int(np.searchsorted(self._starts_s, last_s, side="left"))]

    def unknown_from(
        self, start: datetime, end: datetime, known: Callable[[WeatherHour], bool]
    ) -> datetime | None:
        """Return the first moment in ``[start, end)`` not in a `known` hour, or None."""
        cursor, end = utc(start, "start"), utc(end, "end")
        for hour in self.hours_between(start, end):
            begins_at = utc(hour.at)
            if begins_at > cursor or not known(hour):
                return cursor
            cursor = begins_at + HOUR
        return cursor if cursor < end else None

    def _sample(self, seconds: Floats, rows: slice = slice(None)) -> Floats:
        values, slopes = self._values[rows], self._slopes[rows]
        if not self.hours:
            return np.full((values.shape[0], seconds.size), np.nan)
        index = np.searchsorted(self._starts_s, seconds, side="right") - 1
        part = (seconds - self._starts_s[index]) / HOUR.total_seconds()
        inside = (index >= 0) & (part < 1)
        return np.where(inside, values[:, index] + slopes[:, index] * part, np.nan)


def _known_or_nan(hour: WeatherHour, name: str) -> float:
    value: float | None = humidity_of(hour) if name == "humidity" else getattr(hour, name)
    return value if value is not None and math.isfinite(value) else math.nan


def _slopes(values: Floats, adjacent: NDArray[np.bool_]) -> Floats:
    """Change of each value over its hour: 0 for stepped fields and where the next hour is unknown."""
    slopes = np.zeros_like(values)
    if values.shape[1] > 1:
        change = np.where(adjacent, np.diff(values, axis=1), np.nan)
        slopes[:, :-1] = np.nan_to_num(change, nan=0.0)
    slopes[[_FIELDS.index(name) for name in sorted(_STEPPED)]] = 0.0
    return slopes


def humidity_of(hour: WeatherHour) -> float | None:
    """Return the hour's relative humidity, 0..1, from its dew point where only that is given."""
    if hour.humidity is not None:
        return min(max(hour.humidity, 0.0), 1.0)
    if hour.dew_point_c is None or hour.air_c is None:
        return None
    return humidity_from_dew_point(hour.air_c, hour.dew_point_c)


def humidity_from_dew_point(air_c: float, dew_point_c: float) -> float:
    """Return relative humidity, 0..1, from air temperature and dew point, both in °C.

    Magnus form over water with the constants of WMO-No. 8, Guide to Meteorological Instruments,
    annex 4.B (after Sonntag 1990), valid from -45 to 60 °C. A dew point above the air gives 1.
    """
    return min(1.0, math.exp(_magnus_exponent(dew_point_c) - _magnus_exponent(air_c)))


def _magnus_exponent(temp_c: float) -> float:
    return 17.62 * temp_c / (243.12 + temp_c)


def wind_at_slab(wind_10m_m_s: float, height_m: float = 0.5, roughness_m: float = 0.03) -> float:
    """Return the wind, m/s, at `height_m` above the slab from the forecast's wind at 10 m.

    The logarithmic profile of neutral air, ``u(z) / u(10) = ln(z / z0) / ln(10 / z0)`` (WMO-No. 8).
    `roughness_m` is the ground's: 0.01 bare soil, 0.03 open grass (our default), 0.1 scattered
    obstacles. 0.5 m is the height Menzel's equation wants (ACI 305R).

    Raises
    ------
    BadInput
        For a negative wind, or a height not between the roughness and 10 m.
    """
    require_not_negative("wind_10m_m_s", wind_10m_m_s)
    if not 0 < roughness_m < height_m <= FORECAST_WIND_HEIGHT_M:
        raise BadInput("height_m", "out_of_range", "height_m must be above roughness_m and at most 10.")
    return wind_10m_m_s * math.log(height_m / roughness_m) / math.log(FORECAST_WIND_HEIGHT_M / roughness_m)


def forecast_age_findings(age_h: float | None) -> tuple[Finding, ...]:
    """Say that a forecast was given long ago.

    Parameters
    ----------
    age_h : float or None
        Hours since it was given, at the moment of planning; None where that is not known.

    Returns
    -------
    tuple of Finding
        NOTE ``forecast_old`` over 6 hours (our choice).
    """
    if age_h is None or age_h <= OLD_AFTER_H:
        return ()
    return (Finding(Severity.NOTE, "forecast_old", {"age_h": age_h}, "our choice of limit"),)


def over_slab(forecast: Forecast, place: Place) -> Forecast:
    """Return the weather that a slab meets: indoors the forecast's air and humidity, and nothing else."""
    if not place.indoors:
        return forecast
    return Forecast(
        tuple(
            replace(
                hour,
                wind_10m_m_s=0.0,
                gust_10m_m_s=0.0,
                cloud=1.0,
                sun_w_m2=0.0,
                rain_chance=0.0,
                rain_mm=0.0,
            )
            for hour in forecast.hours
        )
    )


def sky_findings(forecast: Forecast, starts_at: datetime, hard_at: datetime) -> tuple[Finding, ...]:
    """Say what rain and thunder are to be expected from the first truck until the slab is hard.

    Parameters
    ----------
    forecast : Forecast
    starts_at, hard_at : datetime
        Aware; rain before `starts_at` or from `hard_at` on is let be.

    Returns
    -------
    tuple of Finding
        CAUTION ``rain`` where an hour's chance is at least 0.4 or its amount more than 0.2 mm, CAUTION
        ``thunder`` where its chance is at least 0.25, CAUTION ``weather_unknown`` (``missing`` =
        ``"rain"``) where an hour tells neither chance nor amount. The limits are our choice.
    """
    hours = forecast.hours_between(starts_at, hard_at)
    rainy = [hour for hour in hours if is_rainy(hour)]
    thundery = [hour for hour in hours if (hour.thunder_chance or 0.0) >= THUNDER_CHANCE_LIMIT]
    unknown_at = forecast.unknown_from(starts_at, hard_at, _tells_rain)
    findings = []
    if rainy:
        findings.append(_rain_finding(rainy))
    if thundery:
        findings.append(_thunder_finding(thundery))
    if unknown_at is not None:
        findings.append(weather_unknown("rain", unknown_at))
    return tuple(findings)


def weather_unknown(missing: str, from_at: datetime) -> Finding:
    """Return the finding that the forecast does not tell `missing` from a moment on."""
    return Finding(Severity.CAUTION, "weather_unknown", {"missing": missing, "from_at": from_at})


def is_rainy(hour: WeatherHour) -> bool:
    """Return whether rain is to be reckoned with in that hour, by its chance or its amount."""
    return (hour.rain_chance or 0.0) >= RAIN_CHANCE_LIMIT or (hour.rain_mm or 0.0) > RAIN_LIMIT_MM


def _tells_rain(hour: WeatherHour) -> bool:
    return hour.rain_chance is not None or hour.rain_mm is not None


def _rain_finding(hours: list[WeatherHour]) -> Finding:
    chances = [hour.rain_chance for hour in hours if hour.rain_chance is not None]
    amounts = [hour.rain_mm for hour in hours if hour.rain_mm is not None]
    facts: dict[str, Fact] = {
        "first_at": utc(hours[0].at),
        "last_at": utc(hours[-1].at) + HOUR,
        "highest_chance": max(chances, default=None),
        "total_mm": sum(amounts) if amounts else None,
    }
    return Finding(Severity.CAUTION, "rain", facts, "our choice of limits")


def _thunder_finding(hours: list[WeatherHour]) -> Finding:
    facts: dict[str, Fact] = {
        "first_at": utc(hours[0].at),
        "last_at": utc(hours[-1].at) + HOUR,
        "highest_chance": max(hour.thunder_chance or 0.0 for hour in hours),
    }
    return Finding(Severity.CAUTION, "thunder", facts, "our choice of limits")
