"""How long people work in a day, and how long they rest before the next.

A worker with a name has hours of their own. Of a crew's unnamed people only that is said which holds however
they share the work out among themselves.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import timedelta, tzinfo
from functools import partial
from itertools import accumulate

import numpy as np

from scheduling.engine.inputs import Severity
from scheduling.engine.sweep import Ints, before_each, moment
from scheduling.engine.weekbook import Work
from scheduling.engine.weekcolumns import Columns, Conflict, asking, conflict

HOUR_US = 3_600_000_000
DAY_US = 24 * HOUR_US


def worker_hours(columns: Columns) -> Iterator[Conflict]:
    """Workers whose work begun on one day lasts longer than a day's work may."""
    limit_h = columns.book.limits.day_h
    them = asking((row, name, 1.0) for row, one in enumerate(columns.work) for name in one.workers)
    if limit_h is None or not len(them.rows):
        return
    hours = (columns.ends - columns.starts)[them.rows] / HOUR_US
    for rows, total_h in _by_day(columns, them.rows, them.groups, hours, np.full(len(them.names), limit_h)):
        yield _long_day(columns, them.rows[rows], them.names[int(them.groups[rows[0]])], total_h, limit_h)


def crew_hours(columns: Columns) -> Iterator[Conflict]:
    """Crews whose unnamed people would work too long even if they shared a day's work out evenly."""
    limit_h, people = columns.book.limits.day_h, columns.book.people
    them = columns.of_crews(columns.unnamed, columns.people)
    if limit_h is None or not len(them.rows):
        return
    hours = them.amount * (columns.ends - columns.starts)[them.rows] / HOUR_US
    have = np.array([people.get(name, np.inf) for name in them.names], dtype=np.float64)
    for rows, total_h in _by_day(columns, them.rows, them.groups, hours, limit_h * have):
        group = int(them.groups[rows[0]])
        each_h = total_h / max(have[group], 1.0)
        yield _long_day(columns, them.rows[rows], them.names[group], each_h, limit_h)


def _by_day(
    columns: Columns, rows: Ints, groups: Ints, hours: np.ndarray, limit: np.ndarray
) -> Iterator[tuple[Ints, float]]:
    """Indices of one group's work begun on one day, and its hours, where they are over the limit."""
    days = local_days(columns.starts[rows], columns.book.zone)
    order = np.lexsort((days, groups))
    turns = np.ones(len(order), bool)
    turns[1:] = (np.diff(groups[order]) != 0) | (np.diff(days[order]) != 0)
    begins = np.flatnonzero(turns)
    totals = np.add.reduceat(hours[order], begins)
    ends = np.append(begins[1:], len(order))
    for index in np.flatnonzero(totals > limit[groups[order][begins]] + 1e-9).tolist():
        yield order[begins[index] : ends[index]], float(totals[index])


def _long_day(columns: Columns, rows: Ints, who: str, hours: float, limit_h: float) -> Conflict:
    work = [columns.work[row] for row in rows.tolist()]
    window = min(one.starts_at for one in work), max(one.ends_at for one in work)
    return conflict(Severity.STOP, "long_day", who, window, work, hours, limit_h)


def worker_rest(columns: Columns) -> Iterator[Conflict]:
    """Workers who begin a day's work too soon after the work of a day before."""
    rest_h = columns.book.limits.rest_h
    them = asking((row, name, 1.0) for row, one in enumerate(columns.work) for name in one.workers)
    if rest_h is None or not len(them.rows):
        return
    asked = columns.stretches(them.rows, them.groups)
    days = local_days(asked.starts, columns.book.zone)
    earlier, later = before_each(asked)
    gap_h = (asked.starts[later] - asked.ends[earlier]) / HOUR_US
    short = (days[later] != days[earlier]) & (gap_h >= 0) & (gap_h < rest_h)
    for first, second, hours in zip(
        *(column[short].tolist() for column in (earlier, later, gap_h)), strict=True
    ):
        work = [columns.work[them.rows[index]] for index in (first, second)]
        who = them.names[int(them.groups[first])]
        window = work[0].ends_at, work[1].starts_at
        yield conflict(Severity.STOP, "short_rest", who, window, work, rest_h, hours)


def crew_rest(columns: Columns) -> Iterator[Conflict]:
    """Crews of which somebody must be both in the evening's work and, too soon after, in the morning's."""
    rest_h = columns.book.limits.rest_h
    rows = np.flatnonzero(columns.unnamed & (columns.people > 0))
    if rest_h is None or not len(rows):
        return
    rest_us = round(rest_h * HOUR_US)
    for evening, morning in _near_days(columns, rows, rest_us):
        crew = columns.work[morning[0]].crew
        if crew in columns.book.people:
            yield from _shared(columns, crew, evening, morning, rest_us)


def _near_days(columns: Columns, rows: Ints, rest_us: int) -> Iterator[tuple[list[int], list[int]]]:
    """A crew's work of two days, one after the other, where the second begins too soon after the first."""
    days, crews = local_days(columns.starts[rows], columns.book.zone), columns.crew[rows]
    order = np.lexsort((days, crews))
    rows, days, crews = rows[order], days[order], crews[order]
    turns = np.ones(len(rows), bool)
    turns[1:] = (np.diff(crews) != 0) | (np.diff(days) != 0)
    begins = np.flatnonzero(turns)
    stops = np.append(begins[1:], len(rows))
    first, last = (
        np.minimum.reduceat(columns.starts[rows], begins),
        np.maximum.reduceat(columns.ends[rows], begins),
    )
    next_day = (np.diff(crews[begins]) == 0) & (np.diff(days[begins]) == 1)
    for index in np.flatnonzero(next_day & (first[1:] - last[:-1] < rest_us)).tolist():
        yield (
            rows[begins[index] : stops[index]].tolist(),
            rows[begins[index + 1] : stops[index + 1]].tolist(),
        )


def _shared(
    columns: Columns, crew: str, evening: list[int], morning: list[int], rest_us: int
) -> Iterator[Conflict]:
    work, have = columns.work, columns.book.people[crew]
    by_end = sorted(evening, key=lambda row: int(columns.ends[row]))
    ends = [int(columns.ends[row]) for row in by_end]
    # The busiest of those that end last, from each one on.
    busiest = list(accumulate(reversed(by_end), partial(_busier, work)))
    busiest.reverse()
    for row in morning:
        index = bisect_right(ends, int(columns.starts[row]) - rest_us)
        if index < len(ends) and work[busiest[index]].people + work[row].people > have:
            late = work[busiest[index]]
            if late.ends_at <= work[row].starts_at:
                gap_h = (work[row].starts_at - late.ends_at) / timedelta(hours=1)
                window = late.ends_at, work[row].starts_at
                yield conflict(
                    Severity.STOP, "short_rest", crew, window, [late, work[row]], rest_us / HOUR_US, gap_h
                )


def _busier(work: Sequence[Work], one: int, other: int) -> int:
    return other if work[other].people > work[one].people else one


def local_days(starts: Ints, zone: tzinfo) -> Ints:
    """The number of the day, by the zone's clock, on which each moment lies."""
    hours, index = np.unique(starts // HOUR_US, return_inverse=True)
    offsets = [
        moment(int(hour) * HOUR_US).astimezone(zone).utcoffset() or timedelta() for hour in hours.tolist()
    ]
    shift = np.array([offset // timedelta(microseconds=1) for offset in offsets], dtype=np.int64)
    return np.asarray((starts + shift[index]) // DAY_US)
