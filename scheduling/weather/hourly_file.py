"""Hourly weather from a file of separated values: a station's record, or a forecast somebody saved.

The first line names the columns. Each measured column tells its unit in brackets, ``air [F]`` or
``wind speed (km/h)``, or the caller tells it. A row is of the hour that begins at its time; rows within
one hour are drawn together. Either the whole file is taken or nothing of it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduling.engine.inputs import WeatherHour
from scheduling.weather.document import FIELDS, Problem, WeatherUnreadable, in_order, in_utc, shown
from scheduling.weather.hourly_header import Column, Layout, layout_of

_TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d")
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)
_BLANKS = frozenset({"", "na", "n/a", "nan", "null", "none", "-"})
_HIGHEST_OF_HOUR = frozenset({"gust_10m_m_s", "rain_chance", "thunder_chance"})


class HourlyFile(NamedTuple):
    """The hours of a file, and the headers of the columns not used."""

    hours: tuple[WeatherHour, ...]
    ignored: tuple[str, ...]


class _Sheet(NamedTuple):
    """The file cut into cells, each line under its number."""

    delimiter: str
    header_line: int
    header: list[str]
    lines: list[tuple[int, list[str]]]


class _Row(NamedTuple):
    """One line of weather: its moment, the start of the hour that holds it, its values in engine units."""

    line: int
    at: datetime
    hour: datetime
    values: dict[str, float | None]


def parse(
    text: str, columns: Mapping[str, str] | None = None, zone: ZoneInfo | None = None
) -> tuple[WeatherHour, ...]:
    """Return the hours of a file; see `read`."""
    return read(text, columns, zone).hours


def read(text: str, columns: Mapping[str, str] | None = None, zone: ZoneInfo | None = None) -> HourlyFile:
    """Return the hours of a file and the headers of the columns not used.

    Commas, semicolons or tabs may part the cells; only beside semicolons may a comma be a decimal
    point. Blank cells are unknown. Of several rows in one hour, rain is summed, gusts and chances are
    the highest, the rest is averaged.

    Parameters
    ----------
    text : str
    columns : mapping of str to str, optional
        Header to ``"time"`` or ``"field:unit"``, as ``{"temp_air": "air_c:degC"}`` with a field of
        `WeatherHour`. It comes before what the header says; with it, measured columns that nobody
        gives a unit are left out instead of refused.
    zone : ZoneInfo, optional
        Of times that carry no offset. Local times that the clocks skip or show twice are refused.

    Raises
    ------
    WeatherUnreadable
        With every fault found and the line it is on.
    """
    sheet = _sheet(text)
    layout = layout_of(sheet.header_line, sheet.header, columns or {})
    rows, problems = [], []
    for line, cells in sheet.lines:
        try:
            rows.append(_row(line, cells, layout, layout.zone or zone, decimal_comma=sheet.delimiter == ";"))
        except WeatherUnreadable as fault:
            problems += [Problem(line, problem.sentence) for problem in fault.problems]
    problems += _repeated(rows)
    if problems:
        raise WeatherUnreadable(*sorted(problems))
    return HourlyFile(_hours(rows), layout.ignored)


def _sheet(text: str) -> _Sheet:
    text = text.removeprefix("\ufeff")
    first_line = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;\t", key=first_line.count)
    reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
    lines = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                lines.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        raise WeatherUnreadable(Problem(reader.line_num, "The cells cannot be told apart.")) from error
    if len(lines) < 2:
        raise WeatherUnreadable("The file needs a line of column names and lines of weather below it.")
    return _Sheet(delimiter, *lines[0], lines[1:])


def _row(line: int, cells: list[str], layout: Layout, zone: ZoneInfo | None, *, decimal_comma: bool) -> _Row:
    if len(cells) < layout.width or any(cells[layout.width :]):
        raise WeatherUnreadable(f"There are {len(cells)} cells under {layout.width} column names.")
    problems: list[Problem] = []
    values: dict[str, float | None] = {}
    for column in layout.columns:
        try:
            values[column.field] = _value(cells[column.place], column, decimal_comma)
        except WeatherUnreadable as fault:
            problems += fault.problems
    try:
        at, hour = _moment_and_hour(cells[layout.time_place], zone)
    except WeatherUnreadable as fault:
        raise WeatherUnreadable(*fault.problems, *problems) from fault
    if problems:
        raise WeatherUnreadable(*problems)
    return _Row(line, at, hour, values)


def _value(cell: str, column: Column, decimal_comma: bool) -> float | None:
    if cell.lower() in _BLANKS:
        return None
    plain = cell.replace(",", ".") if decimal_comma and "." not in cell else cell
    if _NUMBER.fullmatch(plain) is None:
        raise WeatherUnreadable(f"{shown(cell)} under {shown(column.header)} is not a number.")
    value = FIELDS[column.field].held(float(plain) * column.scale.factor + column.scale.offset)
    if value is None:
        raise WeatherUnreadable(f"{shown(cell)} under {shown(column.header)} cannot be; is the unit right?")
    return value


def _moment_and_hour(text: str, zone: ZoneInfo | None) -> tuple[datetime, datetime]:
    """Return a row's moment and the start of the hour, by its own clock, that holds it; both in UTC."""
    try:
        moment = datetime.fromisoformat(text) if _TIME.match(text) else None
    except ValueError:
        moment = None
    if moment is None:
        raise WeatherUnreadable(f"{shown(text)} is not a time such as 2026-07-14 05:00.")
    at = in_utc(moment) if moment.tzinfo is not None else _from_local(moment, zone)
    into_hour = timedelta(minutes=moment.minute, seconds=moment.second, microseconds=moment.microsecond)
    return at, at - into_hour


def _from_local(local: datetime, zone: ZoneInfo | None) -> datetime:
    if zone is None:
        raise WeatherUnreadable(f"{shown(str(local))} carries no offset; say the time zone of the file.")
    first, second = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    at = in_utc(first)
    if at.astimezone(zone).replace(tzinfo=None) != local:
        raise WeatherUnreadable(f"{shown(str(local))} was skipped by the clocks in {zone.key}.")
    if first.utcoffset() != second.utcoffset():
        raise WeatherUnreadable(f"{shown(str(local))} came twice in {zone.key}; write its offset.")
    return at


def _repeated(rows: list[_Row]) -> Iterator[Problem]:
    seen: dict[datetime, int] = {}
    for row in rows:
        if row.at in seen:
            yield Problem(row.line, f"The time is that of line {seen[row.at]} once more.")
        seen.setdefault(row.at, row.line)


def _hours(rows: list[_Row]) -> tuple[WeatherHour, ...]:
    by_hour: dict[datetime, list[_Row]] = {}
    for row in rows:
        by_hour.setdefault(row.hour, []).append(row)
    return in_order(
        WeatherHour(at=hour, **{field: _drawn_together(field, parts) for field in parts[0].values})
        for hour, parts in by_hour.items()
    )


def _drawn_together(field: str, parts: list[_Row]) -> float | None:
    values = [value for part in parts if (value := part.values[field]) is not None]
    if not values or (field == "rain_mm" and len(values) < len(parts)):
        return None  # part of the hour's rain would pass for all of it
    if field == "rain_mm":
        return sum(values)
    return max(values) if field in _HIGHEST_OF_HOUR else sum(values) / len(values)
