"""Forecast documents of the U.S. National Weather Service: hourly periods, and the grid's layers."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from scheduling.engine.inputs import WeatherHour
from scheduling.weather.document import FIELDS, WeatherUnreadable, in_order, moment_of, shown, value_of
from scheduling.weather.units import Measure, wind_in_words_m_s

logger = logging.getLogger(__name__)

HOUR = timedelta(hours=1)
LONGEST_INTERVAL = timedelta(days=31)

_DURATION = re.compile(r"P(?:(\d{1,3})D)?(?:T(?:(\d{1,3})H)?(?:(\d{1,4})M)?(?:(\d{1,5})S)?)?")

_LAYERS = {
    "temperature": "air_c",
    "dewpoint": "dew_point_c",
    "relativeHumidity": "humidity",
    "windSpeed": "wind_10m_m_s",
    "windGust": "gust_10m_m_s",
    "skyCover": "cloud",
    "probabilityOfPrecipitation": "rain_chance",
    "quantitativePrecipitation": "rain_mm",
    "probabilityOfThunder": "thunder_chance",
}

# The service's words for how likely or widespread, as the middle of the chance each stands for: 15 to
# 24, 25 to 54, 55 to 74 % and above (National Weather Service Directive 10-503, from memory).
_COVERAGE_CHANCES = {
    "slight_chance": 0.2,
    "isolated": 0.2,
    "chance": 0.4,
    "scattered": 0.4,
    "likely": 0.65,
    "numerous": 0.65,
    "definite": 0.85,
    "occasional": 0.85,
    "widespread": 0.85,
}


class Span(NamedTuple):
    """One interval of a layer, in UTC, and what stands there."""

    start: datetime
    end: datetime
    value: Any


def parse_hourly(document: Mapping[str, Any]) -> tuple[WeatherHour, ...]:
    """Return the hours of a forecast of hourly periods.

    Wind in words is taken at its upper end. Nulls, unknown units, words without a number and impossible
    values become None. The document tells no sun, cloud, amount of rain or chance of thunder.

    Raises
    ------
    WeatherUnreadable
        When there are no periods, or they are not hours.
    """
    periods = _properties(document).get("periods")
    if not isinstance(periods, list) or not all(isinstance(period, Mapping) for period in periods):
        raise WeatherUnreadable("The forecast has no periods.")
    return in_order(_period_hour(period) for period in periods)


def _period_hour(period: Mapping[str, Any]) -> WeatherHour:
    start, end = moment_of(period.get("startTime")), moment_of(period.get("endTime"))
    if end - start != HOUR:
        raise WeatherUnreadable("The forecast's periods are not hours; take the hourly forecast.")
    temperature = period.get("temperature")
    if not isinstance(temperature, Mapping):
        temperature = {"value": temperature, "unitCode": period.get("temperatureUnit")}
    return WeatherHour(
        at=start,
        air_c=_quantity("air_c", temperature),
        dew_point_c=_quantity("dew_point_c", period.get("dewpoint")),
        humidity=_quantity("humidity", period.get("relativeHumidity")),
        wind_10m_m_s=_quantity("wind_10m_m_s", period.get("windSpeed")),
        gust_10m_m_s=_quantity("gust_10m_m_s", period.get("windGust")),
        rain_chance=_quantity("rain_chance", period.get("probabilityOfPrecipitation")),
    )


def _quantity(field: str, quantity: object) -> float | None:
    """Read ``{"unitCode", "value"}``, its ``maxValue`` where it is a range, or a wind in words."""
    if isinstance(quantity, str) and FIELDS[field].measure is Measure.SPEED:
        wind = wind_in_words_m_s(quantity)
        return None if wind is None else FIELDS[field].held(wind)
    if not isinstance(quantity, Mapping):
        return None
    highest = quantity.get("maxValue")
    value = quantity.get("value") if highest is None else highest
    return value_of(field, value, quantity.get("unitCode"))


def parse_grid(document: Mapping[str, Any]) -> tuple[WeatherHour, ...]:
    """Return the hours of a grid forecast, its layers of intervals spread over the hours they cover.

    An amount of rain is shared over its interval by length. Where the office gives no chance of thunder
    it is read from the weather layer's words. Nulls, unknown units and impossible values become None.

    Raises
    ------
    WeatherUnreadable
        When there are no layers, or an interval is not one.
    """
    layers = _properties(document)
    fields: dict[datetime, dict[str, float]] = {}
    for name, field in _LAYERS.items():
        for start, value in _layer_hours(field, layers.get(name)):
            values = fields.setdefault(start, {})
            values[field] = values.get(field, 0.0) + value if field == "rain_mm" else value
    for start, chance in _thunder_hours(layers.get("weather")):
        fields.setdefault(start, {}).setdefault("thunder_chance", chance)
    return in_order(WeatherHour(at=start, **values) for start, values in fields.items())


def _layer_hours(field: str, layer: object) -> Iterator[tuple[datetime, float]]:
    if not isinstance(layer, Mapping):
        return
    for span in _spans(layer):
        value = value_of(field, span.value, layer.get("uom"))
        if value is not None:
            yield from _shared(span, value) if field == "rain_mm" else _spread(span, value)


def _spread(span: Span, value: float) -> Iterator[tuple[datetime, float]]:
    """Give `value` to every whole hour that begins within the interval."""
    hour = _hour_of(span.start)
    while hour < span.end:
        if hour >= span.start:
            yield hour, value
        hour += HOUR


def _shared(span: Span, amount: float) -> Iterator[tuple[datetime, float]]:
    """Share `amount` among the hours the interval touches, by how much of it each holds."""
    hour = _hour_of(span.start)
    while hour < span.end:
        held = min(hour + HOUR, span.end) - max(hour, span.start)
        yield hour, amount * (held / (span.end - span.start))
        hour += HOUR


def _hour_of(moment: datetime) -> datetime:
    return moment.replace(minute=0, second=0, microsecond=0)


def _thunder_hours(layer: object) -> Iterator[tuple[datetime, float]]:
    if not isinstance(layer, Mapping):
        return
    for span in _spans(layer):
        chance = _thunder_chance(span.value)
        if chance is not None:
            yield from _spread(span, chance)


def _thunder_chance(kinds: object) -> float | None:
    """Return the highest chance of thunder among an interval's kinds of weather; None where not told."""
    if not isinstance(kinds, list):
        return None
    chance = 0.0
    for kind in kinds:
        if isinstance(kind, Mapping) and kind.get("weather") == "thunderstorms":
            coverage = str(kind.get("coverage"))
            if coverage not in _COVERAGE_CHANCES:
                logger.warning("Left out thunder of unknown coverage %r.", coverage)
                return None
            chance = max(chance, _COVERAGE_CHANCES[coverage])
    return chance


def _spans(layer: Mapping[str, Any]) -> Iterator[Span]:
    values = layer.get("values")
    for item in values if isinstance(values, list) else []:
        if not isinstance(item, Mapping):
            raise WeatherUnreadable("A layer of the forecast holds something that is no interval.")
        start, end = interval_of(item.get("validTime"))
        yield Span(start, end, item.get("value"))


def interval_of(text: object) -> tuple[datetime, datetime]:
    """Return the start and end, in UTC, of an ISO 8601 interval such as ``2019-07-04T18:00:00+00:00/PT3H``.

    Raises
    ------
    WeatherUnreadable
        When it is no start with days, hours, minutes or seconds, is empty, or is over 31 days.
    """
    start_text, _, duration_text = text.partition("/") if isinstance(text, str) else ("", "", "")
    match = _DURATION.fullmatch(duration_text)
    if match is not None:
        days, hours, minutes, seconds = (int(part or 0) for part in match.groups())
        duration = timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
        if timedelta(0) < duration <= LONGEST_INTERVAL:
            start = moment_of(start_text)
            return start, start + duration
    raise WeatherUnreadable(f"{shown(text)} is not an interval of the forecast.")


def forecast_addresses(document: Mapping[str, Any]) -> tuple[str, str]:
    """Return where the grid forecast and the hourly forecast of a place are, from the answer about a point.

    Raises
    ------
    WeatherUnreadable
        When it does not say.
    """
    told = _properties(document)
    grid, hourly = told.get("forecastGridData"), told.get("forecastHourly")
    if not isinstance(grid, str) or not isinstance(hourly, str):
        raise WeatherUnreadable("The service does not say where the forecast of this place is.")
    return grid, hourly


def made_at(document: Mapping[str, Any]) -> datetime | None:
    """Return when the service made a forecast, in UTC; None where it does not tell."""
    properties = document.get("properties")
    told = properties.get("updateTime") if isinstance(properties, Mapping) else None
    try:
        return moment_of(told)
    except WeatherUnreadable:
        return None


def _properties(document: Mapping[str, Any]) -> Mapping[str, Any]:
    properties = document.get("properties")
    if isinstance(properties, Mapping):
        return properties
    if "status" in document and "title" in document:
        raise WeatherUnreadable(f"The service answered with an error: {shown(document['title'])}.")
    raise WeatherUnreadable("The forecast has no properties.")
