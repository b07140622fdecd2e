"""Hours without those that rain takes, forecast or seen: nobody works a wet slab, and the slab sets on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest

from scheduling.engine.forecast import HOUR, Forecast, is_rainy, utc
from scheduling.engine.inputs import Window

SEEN_HOLDS = HOUR  # what was seen of the sky, as long as nobody says otherwise (our choice)
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
class SkySeen:
    """When people on site saw that it rains, and when that it does so no more; aware."""

    rains_at: tuple[datetime, ...] = ()
    over_at: tuple[datetime, ...] = ()


NOTHING_SEEN = SkySeen()


def rain_as_seen(told: Sequence[Window], seen: SkySeen) -> tuple[Window, ...]:
    """Return when it rains by what people saw, and by the forecast where they saw nothing.

    Parameters
    ----------
    told : sequence of Window
        Rain by the forecast.
    seen : SkySeen
        Rain lasts until it was seen to be over, else an hour, or as long as the forecast goes on with it;
        a sky seen dry stays so for an hour, whatever was forecast.

    Returns
    -------
    tuple of Window
        In order and apart, in UTC.
    """
    marks = sorted([*((utc(at), True) for at in seen.rains_at), *((utc(at), False) for at in seen.over_at)])
    windows = list(told)
    wet: list[Window] = []
    for (at, rains), after in zip_longest(marks, marks[1:]):
        until = at + SEEN_HOLDS
        if after and (after[0] < until or (rains and not after[1])):
            until = after[0]
        if rains:
            wet += _window(at, until)
        else:
            windows = [part for window in windows for part in _but(window, at, until)]
    return _joined([*windows, *wet])


def _window(opens_at: datetime, closes_at: datetime) -> tuple[Window, ...]:
    return (Window(opens_at, closes_at),) if opens_at < closes_at else ()


def _but(window: Window, dry_from_at: datetime, dry_until_at: datetime) -> tuple[Window, ...]:
    """What of a window lies before and after a dry spell."""
    return (
        *_window(window.opens_at, min(window.closes_at, dry_from_at)),
        *_window(max(window.opens_at, dry_until_at), window.closes_at),
    )


def _joined(windows: Iterable[Window]) -> tuple[Window, ...]:
    joined: list[Window] = []
    for window in sorted(windows, key=lambda one: one.opens_at):
        if joined and window.opens_at <= joined[-1].closes_at:
            last = joined.pop()
            joined.append(Window(last.opens_at, max(last.closes_at, window.closes_at)))
        else:
            joined.append(window)
    return tuple(joined)


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
