"""Hours without those that rain takes: nobody works an open slab while it is wet, and the slab sets on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.engine.forecast import HOUR, Forecast, is_rainy, utc
from scheduling.engine.inputs import Window

SAME_H = 1e-6  # a moment reckoned there and back strays by its last digits


def rain_windows(forecast: Forecast, start: datetime, end: datetime) -> tuple[Window, ...]:
    """Return when rain is to be reckoned with between two moments, hours that touch put together.

    Parameters
    ----------
    forecast : Forecast
    start, end : datetime
        Aware.

    Returns
    -------
    tuple of Window
        In order, cut to ``[start, end)``; an hour counts whole, by the limits of `forecast.is_rainy`.
    """
    windows: list[Window] = []
    for hour in forecast.hours_between(start, end):
        if not is_rainy(hour):
            continue
        opens_at, closes_at = max(utc(hour.at), utc(start)), min(utc(hour.at) + HOUR, utc(end))
        if windows and windows[-1].closes_at == opens_at:
            opens_at = windows.pop().opens_at
        windows.append(Window(opens_at, closes_at))
    return tuple(windows)


@dataclass(frozen=True, slots=True)
class DryClock:
    """Turns hours of the clock into dry hours since `zero_at`, and back. `wet` is in order and disjoint."""

    zero_at: datetime
    wet: tuple[Window, ...]

    def _wet_h(self) -> Sequence[tuple[float, float]]:
        hour = timedelta(hours=1)
        return [((w.opens_at - self.zero_at) / hour, (w.closes_at - self.zero_at) / hour) for w in self.wet]

    def dry(self, clock_h: float) -> float:
        """How many of the hours until then are dry, rain before `zero_at` counted as well."""
        return clock_h - sum(
            min(clock_h, ends_h) - begins_h for begins_h, ends_h in self._wet_h() if begins_h < clock_h
        )

    def begins(self, dry_h: float) -> float:
        """The last moment with so many dry hours: work that falls due in rain begins after it."""
        clock_h = dry_h
        for begins_h, ends_h in self._wet_h():
            if begins_h <= clock_h + SAME_H:
                clock_h += ends_h - begins_h
        return clock_h

    def ends(self, dry_h: float) -> float:
        """The first moment with so many dry hours: work that is done as rain begins is done then."""
        clock_h = dry_h
        for begins_h, ends_h in self._wet_h():
            if begins_h < clock_h - SAME_H:
                clock_h += ends_h - begins_h
        return clock_h
