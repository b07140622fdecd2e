"""What every kind of weather document shares: its faults, its fields, what a value may be."""

from __future__ import annotations

import logging
import math
from collections.abc import Iterable
from datetime import UTC, datetime
from itertools import pairwise
from typing import NamedTuple

from scheduling.engine.inputs import WeatherHour
from scheduling.weather.units import Measure, converted

logger = logging.getLogger(__name__)

_TOLD_AT_ONCE = 5


class Problem(NamedTuple):
    """One fault: the line it is on, where the document has lines, and a sentence."""

    line: int | None
    sentence: str

    def __str__(self) -> str:
        return self.sentence if self.line is None else f"Line {self.line}: {self.sentence}"


class WeatherUnreadable(ValueError):
    """A weather document of which nothing is taken; `problems` says everything that is wrong with it."""

    def __init__(self, *problems: Problem | str) -> None:
        self.problems = tuple(Problem(None, item) if isinstance(item, str) else item for item in problems)
        told = [str(problem) for problem in self.problems[:_TOLD_AT_ONCE]]
        left = len(self.problems) - len(told)
        super().__init__(" ".join([*told, f"And {left} more."] if left else told))


class Limits(NamedTuple):
    """What a field can be in the engine's unit. Values a little past an end count as the end."""

    measure: Measure
    least: float
    most: float
    slack: float = 0.0

    def held(self, value: float) -> float | None:
        """Return `value` within the limits, or None when no weather is like that."""
        if not self.least - self.slack <= value <= self.most + self.slack:
            return None
        return min(max(value, self.least), self.most)


# Wider than any weather on record where people pour concrete, so that only mistakes are refused. Night
# readings of the sun are a few W/m2 below 0 and wet air reads a little over 100 %.
FIELDS: dict[str, Limits] = {
    "air_c": Limits(Measure.TEMPERATURE, -45.0, 60.0),
    "dew_point_c": Limits(Measure.TEMPERATURE, -80.0, 45.0),
    "humidity": Limits(Measure.FRACTION, 0.0, 1.0, slack=0.05),
    "wind_10m_m_s": Limits(Measure.SPEED, 0.0, 75.0),
    "gust_10m_m_s": Limits(Measure.SPEED, 0.0, 115.0),
    "cloud": Limits(Measure.FRACTION, 0.0, 1.0, slack=0.01),
    "sun_w_m2": Limits(Measure.SUN, 0.0, 1600.0, slack=30.0),
    "rain_chance": Limits(Measure.FRACTION, 0.0, 1.0, slack=0.01),
    "rain_mm": Limits(Measure.RAIN, 0.0, 500.0),
    "thunder_chance": Limits(Measure.FRACTION, 0.0, 1.0, slack=0.01),
}


def number_of(value: object) -> float | None:
    """Return a JSON value as a finite number; None, logged unless null, for anything else."""
    if value is None:
        return None
    try:
        if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
            return float(value)
    except OverflowError:  # an integer of hundreds of digits
        pass
    logger.warning("Left out a value that is no number.")
    return None


def value_of(field: str, value: object, unit: object) -> float | None:
    """Return one value of a service's answer in the engine's unit for `field`.

    None, and a line in the log, where it is no number, its unit is unknown or missing, or no weather is
    like that: a service's slip costs that value and not the forecast.
    """
    number = number_of(value)
    if number is None:
        return None
    limits = FIELDS[field]
    result = converted(number, unit if isinstance(unit, str) else "", limits.measure)
    held = None if result is None else limits.held(result)
    if result is not None and held is None:
        logger.warning("Left out %s of %g %s.", field, number, unit)
    return held


def moment_of(text: object) -> datetime:
    """Return an ISO 8601 moment with its offset, in UTC.

    Raises
    ------
    WeatherUnreadable
        When it is no moment or carries no offset.
    """
    try:
        moment = datetime.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.utcoffset() is None:
        raise WeatherUnreadable(f"{shown(text)} is not a moment with its offset from UTC.")
    return in_utc(moment)


def in_utc(moment: datetime) -> datetime:
    """Return an aware moment in UTC.

    Raises
    ------
    WeatherUnreadable
        When its year is one no forecast or record can be of.
    """
    if not 1900 <= moment.year <= 2200:
        raise WeatherUnreadable(f"A time in the year {moment.year} is not weather.")
    return moment.astimezone(UTC)


def shown(value: object) -> str:
    """Return a value from outside for a sentence, quoted and cut short."""
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def in_order(hours: Iterable[WeatherHour]) -> tuple[WeatherHour, ...]:
    """Return hours in order of time.

    Raises
    ------
    WeatherUnreadable
        When there are none, or two overlap.
    """
    ordered = sorted(hours, key=lambda hour: hour.at.timestamp())
    if not ordered:
        raise WeatherUnreadable("There are no hours of weather in it.")
    for earlier, later in pairwise(ordered):
        if (later.at - earlier.at).total_seconds() < 3600:
            raise WeatherUnreadable(f"The hour from {later.at.isoformat()} overlaps the one before it.")
    return tuple(ordered)
