"""The header line of an hourly weather file: which column tells what, in which unit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from scheduling.weather.document import FIELDS, Problem, WeatherUnreadable, shown
from scheduling.weather.units import CHOICES, Scale, scale_of

TIME = "time"

_NAMES: dict[str, tuple[str, ...]] = {
    TIME: ("time", "date time", "datetime", "timestamp", "time hour", "valid time", "local time"),
    "air_c": ("air", "air temperature", "air temp", "temperature", "temp", "temp air", "dry bulb", "drybulb"),
    "dew_point_c": ("dew point", "dewpoint", "dew point temperature", "temp dew", "dewp"),
    "humidity": ("relative humidity", "humidity", "humid", "rh", "rhum"),
    "wind_10m_m_s": ("wind", "wind speed", "windspeed", "wspd"),
    "gust_10m_m_s": ("gust", "gusts", "wind gust", "wind gusts"),
    "cloud": ("cloud", "clouds", "cloud cover", "sky cover"),
    "sun_w_m2": ("sun", "ghi", "solar radiation", "shortwave radiation", "global horizontal irradiance"),
    "rain_chance": ("rain chance", "chance of rain", "precipitation probability"),
    "rain_mm": ("rain", "rainfall", "precip", "precipitation", "lprecip depth"),
    "thunder_chance": ("thunder chance", "chance of thunder"),
}
_FIELD_OF_NAME = {name: field for field, names in _NAMES.items() for name in names}
_BRACKETED = re.compile(r"(.*?)\s*[\[(]([^\[\]()]*)[\])]")


class Column(NamedTuple):
    """One column that is read: where it stands, as what, and how its numbers become the engine's."""

    place: int
    header: str
    field: str
    scale: Scale


class Layout(NamedTuple):
    """What the header line says: the measured columns, the times' own zone, and the headers not used."""

    time_place: int
    zone: ZoneInfo | None
    columns: tuple[Column, ...]
    width: int
    ignored: tuple[str, ...]


def layout_of(line: int, header: list[str], told: Mapping[str, str]) -> Layout:
    """Match each header to a field.

    Parameters
    ----------
    line : int
        The header's line number, for the faults.
    header : list of str
    told : mapping of str to str
        What the caller says of columns: header to ``"time"`` or ``"field:unit"``.

    Raises
    ------
    WeatherUnreadable
        With every fault: no time, a unit missing or unknown, two columns that tell the same.
    """
    roles = {name.strip().lower(): role for name, role in told.items()}
    absent = roles.keys() - {name.lower() for name in header}
    problems = [f"There is no column {shown(name)}." for name in sorted(absent)]
    columns: dict[str, Column] = {}
    ignored = []
    for place, name in enumerate(header):
        try:
            column = _column(place, name, roles)
        except WeatherUnreadable as fault:
            problems.append(str(fault))
            continue
        if column is None:
            ignored.append(name)
        elif column.field in columns:
            problems.append(f"{shown(name)} tells {column.field} once more.")
        else:
            columns[column.field] = column
    problems += _missing(columns, problems)
    if problems:
        raise WeatherUnreadable(*(Problem(line, sentence) for sentence in problems))
    time = columns.pop(TIME)
    return Layout(time.place, _zone_in(time.header), tuple(columns.values()), len(header), tuple(ignored))


def _missing(columns: Mapping[str, Column], problems: list[str]) -> list[str]:
    missing = []
    if TIME not in columns:
        missing.append("No column tells the time; call one 'time'.")
    if not columns.keys() - {TIME} and not problems:
        missing.append("No column tells any weather, such as 'air [degF]'.")
    return missing


def _column(place: int, header: str, roles: Mapping[str, str]) -> Column | None:
    """Return how a column is read, or None where it is not used."""
    if header.lower() in roles:
        field, _, unit = roles[header.lower()].partition(":")
    else:
        name, unit = _name_and_unit(header)
        nameless_index = header == "" and place == 0  # as tables saved by data tools have it
        field = TIME if nameless_index else _FIELD_OF_NAME.get(name, "")
        if not field or (roles and not unit and field != TIME):
            return None
    if field == TIME:
        _zone_in(header)
        return Column(place, header, TIME, Scale(1.0))
    return Column(place, header, field, _scale(header, field, unit))


def _name_and_unit(header: str) -> tuple[str, str]:
    match = _BRACKETED.fullmatch(header)
    name, unit = match.groups() if match else (header, "")
    return " ".join(re.findall(r"[a-z0-9]+", name.lower())), unit.strip()


def _scale(header: str, field: str, unit: str) -> Scale:
    if field not in FIELDS:
        raise WeatherUnreadable(f"{shown(header)} cannot be read as {shown(field)}.")
    measure = FIELDS[field].measure
    if not unit:
        raise WeatherUnreadable(
            f"{shown(header)} gives no unit; put {CHOICES[measure]} in brackets after it."
        )
    scale = scale_of(unit, measure)
    if scale is None:
        raise WeatherUnreadable(f"{shown(header)} is in {shown(unit)}; it can be in {CHOICES[measure]}.")
    return scale


def _zone_in(header: str) -> ZoneInfo | None:
    """Return the zone a time column names in brackets, ``time [UTC]``; None where it names none."""
    _, zone = _name_and_unit(header)
    if zone.lower() in ("", "local"):
        return None
    try:
        return ZoneInfo("UTC" if zone.lower() in ("z", "utc", "gmt") else zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise WeatherUnreadable(f"{shown(header)} names a time zone that is not known.") from error
