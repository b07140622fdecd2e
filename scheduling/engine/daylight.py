"""When the sun is up, and how much of a stretch of work lies outside given hours."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
from astral import Observer, sun

from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import Window, require_aware

DAY = timedelta(days=1)
AT_THE_HORIZON_DEG = 0.2
UPPER_EDGE_DEG = -0.833  # the sun's upper edge seen through the air: zenith 90.833° (NOAA)


def daylight(latitude: float, longitude: float, start: datetime, end: datetime) -> tuple[Window, ...]:
    """Return the hours between sunrise and sunset that touch the time from `start` to `end`, in UTC.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    start, end : datetime
        Aware.

    Returns
    -------
    tuple of Window
        In order. Each begins at a sunrise and ends at a sunset, but where the sun stays up for days it
        is cut a day or more before `start` and after `end`; empty where it stays down.

    Notes
    -----
    Sunrise and sunset of a level horizon, NOAA's equations with a zenith of 90.833°, as the astral
    library has them; about a minute off, more near the poles.
    """
    require_aware("start", start)
    require_aware("end", end)
    observer = Observer(latitude, longitude)
    first, last = start.astimezone(UTC) - DAY, end.astimezone(UTC) + DAY
    turns = sorted(_turns(observer, first, last))
    up = not turns[0][1] if turns else sun.elevation(observer, start, False) > UPPER_EDGE_DEG
    days = _days(turns, first if up else None, last)
    return tuple(window for window in days if window.opens_at < end and window.closes_at > start)


def _days(
    turns: Iterable[tuple[datetime, bool]], opens_at: datetime | None, last: datetime
) -> Iterator[Window]:
    """From each sunrise to the next sunset; near the poles one of the two may not be found."""
    for at, rises in turns:
        if rises:
            opens_at = opens_at or at
        elif opens_at:
            yield Window(opens_at, at)
            opens_at = None
    if opens_at:
        yield Window(opens_at, last)


def _turns(observer: Observer, first: datetime, last: datetime) -> Iterator[tuple[datetime, bool]]:
    """Every sunrise (True) and sunset (False) between; days on which the sun does neither have none."""
    for find, rises in ((sun.sunrise, True), (sun.sunset, False)):
        found = list(_found(observer, find, first, last))
        for at in sorted([*found, *_skipped(observer, found)]):
            if first < at < last:
                yield at, rises


def _found(
    observer: Observer, find: Callable[..., datetime], first: datetime, last: datetime
) -> Iterator[datetime]:
    """What the library finds for each day of UTC's calendar, and for one more on either side."""
    for number in range(-1, (last.date() - first.date()).days + 2):
        try:
            yield find(observer, date=first.date() + number * DAY, tzinfo=UTC)
        except ValueError:
            continue


def _skipped(observer: Observer, found: Sequence[datetime]) -> Iterator[datetime]:
    """Turns just before midnight of UTC that the library skips as they drift over it from day to day.

    The turn lies half way between its neighbours, since it drifts evenly; that the sun stands at the
    horizon then tells it from a day on which the sun neither rises nor sets.
    """
    for before, after in pairwise(sorted(found)):
        if 1.5 * DAY < after - before < 2.5 * DAY:
            half_way = before + (after - before) / 2
            if abs(sun.elevation(observer, half_way, False) - UPPER_EDGE_DEG) < AT_THE_HORIZON_DEG:
                yield half_way


def hours_outside(windows: Iterable[Window], start: datetime, end: datetime) -> float:
    """Return how many hours from `start` to `end` (aware) lie in none of the windows; 0 if `end` is first."""
    cursor, last, outside = start.astimezone(UTC), end.astimezone(UTC), timedelta()
    for opens_at, closes_at in sorted(
        (w.opens_at.astimezone(UTC), w.closes_at.astimezone(UTC)) for w in windows
    ):
        outside += max(min(opens_at, last) - cursor, timedelta())
        cursor = max(cursor, closes_at)
    return (outside + max(last - cursor, timedelta())) / timedelta(hours=1)


def sun_elevation_deg(latitude: float, longitude: float, seconds: Floats) -> Floats:
    """Return how high the sun's middle stands over a level horizon, degrees, at POSIX times.

    The Astronomical Almanac's low-precision formulas (Michalsky 1988, Solar Energy 40:227-235), from
    memory; within 0.02° from 1950 to 2050. The bending of light in the air is left out.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    seconds : ndarray
        Any shape; the answer has the same.
    """
    days = seconds / 86_400 - 10_957.5  # since noon of the first day of 2000, in UTC
    anomaly = np.radians(357.528 + 0.9856003 * days)
    ecliptic = np.radians(280.460 + 0.9856474 * days + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
    tilt = np.radians(23.439 - 4e-7 * days)
    sine_declination = np.sin(tilt) * np.sin(ecliptic)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    sidereal = np.radians(15 * (18.697374558 + 24.06570982441908 * days) + longitude)
    north = np.radians(latitude)
    cosine_declination = np.sqrt(1 - sine_declination**2)
    sine = np.sin(north) * sine_declination + np.cos(north) * cosine_declination * np.cos(
        sidereal - ascension
    )
    return np.degrees(np.arcsin(np.clip(sine, -1, 1)))
