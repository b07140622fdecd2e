"""Any weather document that somebody hands in, told apart by what it holds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from scheduling.engine.inputs import WeatherHour
from scheduling.weather import hourly_file, nws, open_meteo
from scheduling.weather.document import WeatherUnreadable


class WeatherDocument(NamedTuple):
    """A document read: which kind it was, its hours, and the headers of columns not used."""

    provider: str
    hours: tuple[WeatherHour, ...]
    ignored: tuple[str, ...] = ()


def read_document(
    text: str, columns: Mapping[str, str] | None = None, zone: ZoneInfo | None = None
) -> WeatherDocument:
    """Return the hours of a document of any kind known.

    Parameters
    ----------
    text : str
        A U.S. National Weather Service hourly or grid forecast, a forecast in Open-Meteo's shape (each
        as JSON), or a file of separated values.
    columns, zone
        For a file of separated values; see `hourly_file.read`.

    Raises
    ------
    WeatherUnreadable
        When it is none of these, or is faulty.
    """
    plain = text.removeprefix("\ufeff").lstrip()
    if not plain:
        raise WeatherUnreadable("The document is empty.")
    if plain[0] not in "{[":
        file = hourly_file.read(text, columns, zone)
        return WeatherDocument("hourly_file", file.hours, file.ignored)
    return _read_json(json_document(plain))


def json_document(text: str) -> Mapping[str, Any]:
    """Return a document of names and values.

    Raises
    ------
    WeatherUnreadable
        When it is something else, or breaks off.
    """
    try:
        document = json.loads(text, parse_constant=lambda name: None)
    except (ValueError, RecursionError) as error:
        line = f" at line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise WeatherUnreadable(f"The document breaks off or is not JSON{line}.") from error
    if not isinstance(document, Mapping):
        raise WeatherUnreadable("The document is a list, not a forecast.")
    return document


def _read_json(document: Mapping[str, Any]) -> WeatherDocument:
    properties = document.get("properties")
    if "hourly" in document or "error" in document:
        return WeatherDocument("open_meteo", open_meteo.parse(document))
    if isinstance(properties, Mapping) and "periods" in properties:
        return WeatherDocument("nws_hourly", nws.parse_hourly(document))
    if isinstance(properties, Mapping) and "forecastHourly" in properties:
        raise WeatherUnreadable("The document only says where the forecast is; save the page it names.")
    return WeatherDocument("nws_grid", nws.parse_grid(document))
