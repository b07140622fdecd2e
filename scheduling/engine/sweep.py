"""Where half-open stretches of time ask together for more than there is: sorted once, swept once.

Columns of whole microseconds, so that a hundred thousand stretches take a fraction of a second.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Ints: TypeAlias = npt.NDArray[np.int64]
Floats: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
SLIGHTEST = 1e-9  # sums of rates carry rounding


def micros(moments: Iterable[datetime]) -> Ints:
    """Microseconds of UTC since 1970, one for each aware moment."""
    return np.rint(np.array([one.timestamp() for one in moments], dtype=np.float64) * 1e6).astype(np.int64)


def moment(micro: int) -> datetime:
    return EPOCH + timedelta(microseconds=int(micro))


@dataclass(frozen=True, slots=True)
class Stretches:
    """Columns: whose, from, up to. Groups are whole numbers from 0."""

    group: Ints
    starts: Ints
    ends: Ints

    def where(self, mask: Flags) -> Stretches:
        return Stretches(self.group[mask], self.starts[mask], self.ends[mask])


@dataclass(frozen=True, slots=True)
class Overfull:
    """Longest stretches of a group that ask for more than its limit, with the most asked for in each."""

    at: Stretches
    most: Floats


def overfull(asked: Stretches, amount: Floats, limit: Floats) -> Overfull:
    """Find where the amounts of a group's stretches sum to more than its limit.

    Parameters
    ----------
    asked : Stretches
        n of them, in any order; those that end as others start do not meet.
    amount : array of n
        At least 0.
    limit : array
        At least 0, one for each group.

    Returns
    -------
    Overfull
        By group and start.

    Notes
    -----
    O(n log n): one sort of the 2 n ends, one running sum.
    """
    group = np.concatenate((asked.group, asked.group))
    times = np.concatenate((asked.starts, asked.ends))
    order = np.lexsort((times, group))
    group, times = group[order], times[order]
    level = np.cumsum(np.concatenate((amount, -amount))[order])
    last = np.ones(len(times), bool)
    last[:-1] = (group[1:] != group[:-1]) | (times[1:] != times[:-1])
    group, times, level = group[last], times[last], level[last]
    over = level > limit[group] + SLIGHTEST if len(group) else np.zeros(0, bool)
    begins = np.flatnonzero(over & ~np.concatenate(([False], over[:-1])))
    stops = np.flatnonzero(~over & np.concatenate(([False], over[:-1])))
    most = np.maximum.reduceat(np.where(over, level, 0.0), begins) if len(begins) else np.zeros(0)
    return Overfull(Stretches(group[begins], times[begins], times[stops]), most)


def meeting(found: Stretches, asked: Stretches) -> list[list[int]]:
    """For each stretch found, which are in order and apart, the indices of those asked that overlap it."""
    start_key, end_key, first_key, last_key = _keys(found, asked)
    first = np.searchsorted(end_key, first_key, side="right")
    last = np.searchsorted(start_key, last_key, side="left")
    met: list[list[int]] = [[] for _ in range(len(found.group))]
    for index in np.flatnonzero(last > first).tolist():
        for stretch in range(int(first[index]), int(last[index])):
            met[stretch].append(index)
    return met


def uncovered(asked: Stretches, windows: Stretches) -> Flags:
    """Which stretches do not lie wholly in one window of their group; touching windows count as one."""
    joined = _joined(windows)
    if not len(joined.group):
        return np.ones(len(asked.group), bool)
    start_key, _, first_key, _ = _keys(joined, asked)
    index = np.searchsorted(start_key, first_key, side="right") - 1
    safe = np.maximum(index, 0)
    held = (index >= 0) & (joined.group[safe] == asked.group) & (joined.ends[safe] >= asked.ends)
    return np.asarray(~held)


def touched(asked: Stretches, windows: Stretches) -> Flags:
    """Which stretches overlap any window of their group."""
    joined = _joined(windows)
    if not len(joined.group):
        return np.zeros(len(asked.group), bool)
    start_key, end_key, first_key, last_key = _keys(joined, asked)
    first = np.searchsorted(end_key, first_key, side="right")
    return np.asarray(np.searchsorted(start_key, last_key, side="left") > first)


def before_each(asked: Stretches) -> tuple[Ints, Ints]:
    """Pairs (earlier, later): each stretch after the one of its group that ends last before or as it starts.

    Of those that started before it, so that one that still goes on is its pair too.
    """
    order = np.lexsort((asked.ends, asked.starts, asked.group))
    group, ends = asked.group[order], asked.ends[order]
    _, rank = np.unique(ends, return_inverse=True)
    key = group * (len(ends) + 1) + rank
    place = np.where(key >= np.maximum.accumulate(key), np.arange(len(key)), 0) if len(key) else order
    latest = np.maximum.accumulate(place) if len(place) else place
    later = np.arange(1, len(order))
    earlier = latest[:-1]
    alike = group[earlier] == group[later] if len(order) > 1 else np.zeros(0, bool)
    return order[earlier[alike]] if len(order) > 1 else later, order[later[alike]] if len(
        order
    ) > 1 else later


def _joined(windows: Stretches) -> Stretches:
    """Windows in order, with those that touch or overlap made one."""
    count = int(windows.group.max(initial=-1)) + 1
    ones, none = np.ones(len(windows.group)), np.zeros(count)
    # Each window takes its last moment too, so that the next may begin there without a gap.
    stretched = Stretches(windows.group, windows.starts, windows.ends + 1)
    found = overfull(stretched, ones, none).at
    return Stretches(found.group, found.starts, found.ends - 1)


def _keys(found: Stretches, asked: Stretches) -> tuple[Ints, Ints, Ints, Ints]:
    """One whole number for each group and moment, in their order."""
    columns = (found.starts, found.ends, asked.starts, asked.ends)
    moments, rank = np.unique(np.concatenate(columns), return_inverse=True)
    parts = np.split(rank, np.cumsum([len(column) for column in columns])[:-1])
    groups = (found.group, found.group, asked.group, asked.group)
    start, end, first, last = (
        group * (len(moments) + 1) + part for group, part in zip(groups, parts, strict=True)
    )
    return start, end, first, last
