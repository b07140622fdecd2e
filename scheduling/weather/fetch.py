"""Forecasts for a place, from whichever weather service is chosen. Reading documents is not done here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, replace
from datetime import datetime, timedelta
from typing import Any, NamedTuple
from urllib.parse import urlencode

from scheduling.engine.inputs import WeatherHour
from scheduling.weather import nws, open_meteo
from scheduling.weather.document import WeatherUnreadable, in_order
from scheduling.weather.reading import json_document
from scheduling.weather.web import Page, WeatherUnavailable, Web

HOUR = timedelta(hours=1)
TOO_OLD = timedelta(hours=24)  # a document that the service itself made longer ago says nothing of today

# What we ask of the open-data service, by its names; days from today.
VARIABLES = (
    "temperature_2m",
    "relative_humidity_2m",
    "dew_point_2m",
    "wind_speed_10m",
    "wind_gusts_10m",
    "cloud_cover",
    "shortwave_radiation",
    "precipitation_probability",
    "precipitation",
)
FORECAST_DAYS = 10


class Spot(NamedTuple):
    """A place as the services are asked for it: to a hundredth of a degree, about a kilometre (our choice).

    No forecast is finer than that, and sites near each other share one.
    """

    latitude: str
    longitude: str

    def __str__(self) -> str:
        return f"{self.latitude},{self.longitude}"


class Fetched(NamedTuple):
    """Hours of weather, when the service gave them, and the pages they were read from, all good ones."""

    hours: tuple[WeatherHour, ...]
    given_at: datetime
    pages: tuple[Page, ...]


Fetch = Callable[[Web, str, Spot, datetime], Fetched]


def spot_of(latitude: float, longitude: float) -> Spot:
    """Return the place to ask for; without trailing zeros, which one of the services does not take."""
    return Spot(_degrees(latitude), _degrees(longitude))


def _degrees(value: float) -> str:
    # Adding nothing makes of a minus nought a plain one.
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def fetch_nws(web: Web, base_url: str, spot: Spot, now: datetime) -> Fetched:
    """Ask the U.S. National Weather Service where the forecast of a place is, then for its two forms.

    The grid's layers tell sun and rain; the hourly periods fill in what a layer lacks. One of the two is
    enough.

    Raises
    ------
    WeatherUnavailable, WeatherUnreadable
        When neither can be had.
    """
    points = web.page(f"{base_url}/points/{spot}", {"Accept": "application/geo+json"})
    grid_url, hourly_url = nws.forecast_addresses(json_document(points.body))
    good: list[tuple[Page, tuple[WeatherHour, ...]]] = []
    faults: list[Exception] = []
    for url, parse in ((grid_url, nws.parse_grid), (hourly_url, nws.parse_hourly)):
        try:
            good.append(_read(web, url, parse, now))
        except (WeatherUnreadable, WeatherUnavailable) as fault:
            faults.append(fault)
    if not good:
        raise faults[0]
    hours = _useful(_filled_in(hours for _, hours in good), now)
    return Fetched(hours, min(page.checked_at for page, _ in good), (points, *(page for page, _ in good)))


def fetch_open_meteo(web: Web, base_url: str, spot: Spot, now: datetime) -> Fetched:
    """Ask a service of Open-Meteo's shape for the hours of a place.

    Raises
    ------
    WeatherUnavailable, WeatherUnreadable
        When they cannot be had.
    """
    asked = {
        "latitude": spot.latitude,
        "longitude": spot.longitude,
        "hourly": ",".join(VARIABLES),
        "timezone": "GMT",
        "forecast_days": FORECAST_DAYS,
    }
    url = f"{base_url}/v1/forecast?{urlencode(asked, safe=',')}"
    page, hours = _read(web, url, open_meteo.parse, now)
    return Fetched(_useful(hours, now), page.checked_at, (page,))


# The services to choose from, by the name each has in the settings.
FETCHERS: dict[str, Fetch] = {"nws": fetch_nws, "open_meteo": fetch_open_meteo}


def _read(
    web: Web, url: str, parse: Callable[[Mapping[str, Any]], tuple[WeatherHour, ...]], now: datetime
) -> tuple[Page, tuple[WeatherHour, ...]]:
    page = web.page(url, {"Accept": "application/geo+json, application/json"})
    document = json_document(page.body)
    made_at = nws.made_at(document)
    if made_at and now - made_at > TOO_OLD:
        hours = round((now - made_at) / HOUR)
        raise WeatherUnreadable(f"The service's forecast is {hours} hours old.")
    return page, parse(document)


def _filled_in(forms: Iterable[tuple[WeatherHour, ...]]) -> tuple[WeatherHour, ...]:
    """One form of a forecast after the other: a later one tells what an earlier one leaves out."""
    merged: dict[datetime, WeatherHour] = {}
    for hours in forms:
        for hour in hours:
            merged[hour.at] = _with_gaps_of(merged[hour.at], hour) if hour.at in merged else hour
    return in_order(merged.values())


def _with_gaps_of(hour: WeatherHour, other: WeatherHour) -> WeatherHour:
    names = [field.name for field in fields(hour)]
    return replace(hour, **{name: getattr(other, name) for name in names if getattr(hour, name) is None})


def _useful(hours: tuple[WeatherHour, ...], now: datetime) -> tuple[WeatherHour, ...]:
    """The hours, where some of them are still ahead and tell how warm it gets.

    Raises
    ------
    WeatherUnreadable
        When all are past, or no temperature in them can be.
    """
    ahead = [hour for hour in hours if hour.at + HOUR > now]
    if not ahead:
        raise WeatherUnreadable("The service's forecast is of days past.")
    if all(hour.air_c is None for hour in ahead):
        raise WeatherUnreadable("The service's forecast tells no temperature that can be.")
    return hours
