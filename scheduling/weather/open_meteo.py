"""Forecast documents in Open-Meteo's shape: arrays of hourly values, a unit for each."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

from scheduling.engine.inputs import WeatherHour
from scheduling.weather.document import WeatherUnreadable, in_order, in_utc, number_of, shown, value_of

HOUR = timedelta(hours=1)


class Variable(NamedTuple):
    """A field's names, newest first, and whether its value is of the hour before the time it stands at."""

    field: str
    names: tuple[str, ...]
    of_hour_before: bool = False


_VARIABLES = (
    Variable("air_c", ("temperature_2m",)),
    Variable("humidity", ("relative_humidity_2m", "relativehumidity_2m")),
    Variable("dew_point_c", ("dew_point_2m", "dewpoint_2m")),
    Variable("wind_10m_m_s", ("wind_speed_10m", "windspeed_10m")),
    Variable("gust_10m_m_s", ("wind_gusts_10m", "windgusts_10m"), of_hour_before=True),
    Variable("cloud", ("cloud_cover", "cloudcover")),
    Variable("sun_w_m2", ("shortwave_radiation",), of_hour_before=True),
    Variable("rain_chance", ("precipitation_probability",), of_hour_before=True),
    Variable("rain_mm", ("precipitation",), of_hour_before=True),
)


def parse(document: Mapping[str, Any]) -> tuple[WeatherHour, ...]:
    """Return the hours of a forecast document.

    Sums and means of the preceding hour (rain, sun, gusts) are moved to the hour they are of, so the
    last hour does not tell them. Nulls, unknown units and impossible values become None.

    Raises
    ------
    WeatherUnreadable
        When it is an error answer, has no ``hourly`` times, or its columns differ in length.
    """
    if document.get("error"):
        raise WeatherUnreadable(f"The service answered with an error: {shown(document.get('reason'))}.")
    hourly, units = document.get("hourly"), document.get("hourly_units")
    if not isinstance(hourly, Mapping) or not isinstance(hourly.get("time"), list):
        raise WeatherUnreadable("The forecast has no hourly times.")
    units = units if isinstance(units, Mapping) else {}
    starts = [_moment(time, units, document) for time in hourly["time"]]
    fields: dict[datetime, dict[str, float | None]] = {start: {} for start in starts}
    for variable in _VARIABLES:
        for start, value in zip(starts, _column(variable, hourly, units, len(starts)), strict=True):
            hour = start - HOUR if variable.of_hour_before else start
            if hour in fields:
                fields[hour][variable.field] = value
    if len(fields) < len(starts):
        raise WeatherUnreadable("The forecast has the same hour twice.")
    return in_order(WeatherHour(at=start, **values) for start, values in fields.items())


def _column(
    variable: Variable, hourly: Mapping[str, Any], units: Mapping[str, Any], count: int
) -> list[float | None]:
    name = next((name for name in variable.names if name in hourly), None)
    if name is None:
        return [None] * count
    values = hourly[name]
    if not isinstance(values, list) or len(values) != count:
        raise WeatherUnreadable(f"The forecast's {name} does not have one value for each hour.")
    return [value_of(variable.field, value, units.get(name)) for value in values]


def _moment(time: object, units: Mapping[str, Any], document: Mapping[str, Any]) -> datetime:
    """Return an hour's start in UTC: POSIX seconds as they are, local times by the document's offset."""
    if units.get("time") == "unixtime":
        seconds, offset_s = _known(time, "time"), 0.0
    else:
        offset_s = _known(document.get("utc_offset_seconds"), "utc_offset_seconds")
        seconds = _local(time).timestamp()
    try:
        return in_utc(datetime.fromtimestamp(seconds - offset_s, UTC))
    except (ValueError, OverflowError, OSError) as error:
        raise WeatherUnreadable(f"The forecast's time {shown(time)} is out of reach.") from error


def _local(time: object) -> datetime:
    """Return a local time as if it were UTC's."""
    try:
        local = datetime.fromisoformat(time) if isinstance(time, str) else None
    except ValueError:
        local = None
    if local is None or local.tzinfo is not None:
        raise WeatherUnreadable(f"The forecast's time {shown(time)} is not local, such as 2026-07-14T05:00.")
    return local.replace(tzinfo=UTC)


def _known(value: object, name: str) -> float:
    number = number_of(value)
    if number is None:
        raise WeatherUnreadable(f"The forecast's {name} is not a number.")
    return number
