"""The slab in strips as they were placed: what one finishing party works over one after another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from scheduling.engine.bays import Bay
from scheduling.engine.inputs import BadInput

# A strip as the board pulls it is cut in parts that are each placed within twenty minutes, so that all of a
# part comes ready together; a pour has no more than sixteen, neighbours joined (our choice).
LONGEST = timedelta(minutes=20)
MOST_STRIPS = 16


@dataclass(frozen=True, slots=True)
class PlacedStrip:
    """Neighbouring bays, placed from `starts_at` to `ends_at`; `number` counts in placing order, from 1."""

    number: int
    first_bay: int
    last_bay: int
    area_m2: float
    starts_at: datetime
    ends_at: datetime

    @property
    def middle_at(self) -> datetime:
        """The moment its set times are reckoned from."""
        return self.starts_at + (self.ends_at - self.starts_at) / 2


@dataclass(frozen=True, slots=True)
class _Part:
    """One bay, or several joined, before they are numbered."""

    bays: tuple[int, int]
    area_m2: float
    starts_at: datetime
    ends_at: datetime


def placed_strips(bays: Sequence[Bay]) -> tuple[PlacedStrip, ...]:
    """Return the strips of a pour in placing order.

    Parameters
    ----------
    bays : sequence of Bay
        In placing order, with their times.

    Returns
    -------
    tuple of PlacedStrip
        Their areas sum to the bays'.

    Raises
    ------
    BadInput
        No bay, or one whose times are not known.
    """
    if not bays:
        raise BadInput("bays", "no_bays", "There must be a bay to finish.")
    pulled = groupby(bays, key=lambda bay: (bay.section, bay.strip))
    parts = [part for _, run in pulled for part in _within(LONGEST, [_part(bay) for bay in run])]
    least_m2 = math.fsum(part.area_m2 for part in parts) / MOST_STRIPS
    joined = parts if len(parts) <= MOST_STRIPS else list(_of_at_least(least_m2, parts))
    return tuple(
        PlacedStrip(number, *part.bays, part.area_m2, part.starts_at, part.ends_at)
        for number, part in enumerate(joined, start=1)
    )


def _part(bay: Bay) -> _Part:
    if bay.starts_at is None or bay.ends_at is None:
        raise BadInput("bays", "no_times", "Every bay needs the times it is placed at.")
    return _Part((bay.number, bay.number), bay.area_m2, bay.starts_at, bay.ends_at)


def _within(longest: timedelta, parts: Sequence[_Part]) -> Iterator[_Part]:
    """Neighbours joined, each join placed in an even share of the time, none much over `longest`."""
    start, whole = parts[0].starts_at, parts[-1].ends_at - parts[0].starts_at
    shares = max(1, math.ceil(whole / longest))
    each = whole / shares

    def share(part: _Part) -> int:
        middle = part.starts_at + (part.ends_at - part.starts_at) / 2
        return min(int((middle - start) / each), shares - 1) if each else 0

    return (_join(list(run)) for _, run in groupby(parts, key=share))


def _of_at_least(least_m2: float, parts: Iterable[_Part]) -> Iterator[_Part]:
    """Neighbours joined until each join is at least so large; the last takes what is left."""
    waiting: list[_Part] = []
    for part in parts:
        waiting.append(part)
        if math.fsum(one.area_m2 for one in waiting) >= least_m2 * (1 - 1e-9):
            yield _join(waiting)
            waiting = []
    if waiting:
        yield _join(waiting)


def _join(parts: Sequence[_Part]) -> _Part:
    first, last = parts[0], parts[-1]
    area_m2 = math.fsum(part.area_m2 for part in parts)
    return _Part((first.bays[0], last.bays[1]), area_m2, first.starts_at, last.ends_at)
