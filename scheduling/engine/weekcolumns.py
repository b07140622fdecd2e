"""The work of a week in columns, and the few ways in which a rule looks for what breaks it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TypeAlias

import numpy as np

from scheduling.engine.inputs import Fact, PhaseKind, Severity, Window
from scheduling.engine.sweep import (
    Flags,
    Floats,
    Ints,
    Stretches,
    meeting,
    micros,
    moment,
    overfull,
    touched,
    uncovered,
)
from scheduling.engine.weekbook import WeekBook, Work

KINDS = tuple(PhaseKind)
HOUR = timedelta(hours=1)
Hours: TypeAlias = Mapping[str, tuple[Window, ...] | None]


@dataclass(frozen=True, slots=True)
class Conflict:
    """A rule broken: by what (`code`), whose it is (`who`), from when to when, and how bad.

    `needed` and `available` are in the unit of the code: people, slabs, units, m³/h, minutes or hours.
    """

    severity: Severity
    code: str
    who: str
    starts_at: datetime
    ends_at: datetime
    pours: tuple[str, ...]
    kinds: tuple[PhaseKind, ...] = ()
    needed: float = 0.0
    available: float = 0.0
    facts: Mapping[str, Fact] = field(default_factory=dict)


class Columns:
    """The work of a week with what most rules ask of it in columns."""

    __slots__ = ("book", "crew", "crews", "ends", "people", "placing", "starts", "unnamed", "work")

    def __init__(self, book: WeekBook) -> None:
        self.book, self.work = book, book.work
        self.starts = micros(one.starts_at for one in book.work)
        self.ends = micros(one.ends_at for one in book.work)
        number: dict[str, int] = {}
        self.crew = np.array([number.setdefault(one.crew, len(number)) for one in book.work], dtype=np.int64)
        self.crews = list(number)
        self.people = np.array([one.people for one in book.work], dtype=np.float64)
        self.placing = np.array([one.kind is PhaseKind.PLACE for one in book.work], dtype=bool)
        self.unnamed = np.array([not one.workers for one in book.work], dtype=bool)

    def of_crews(self, mask: Flags, amount: Floats) -> Asking:
        """Some of the work, asking its crews."""
        rows = np.flatnonzero(mask)
        return Asking(self.crews, rows, self.crew[rows], amount[rows])

    def stretches(self, rows: Ints, groups: Ints) -> Stretches:
        return Stretches(groups, self.starts[rows], self.ends[rows])


@dataclass(frozen=True, slots=True)
class Asking:
    """Who is asked, the rows of work that ask, and how much each does."""

    names: Sequence[str]
    rows: Ints
    groups: Ints
    amount: Floats


# --- more asked than there is -------------------------------------------------------------------


def asking(pairs: Iterable[tuple[int, str, float]]) -> Asking:
    """From (row, who, how much)."""
    rows, whose, amount = [], [], []
    number: dict[str, int] = {}
    for row, who, much in pairs:
        rows.append(row)
        whose.append(number.setdefault(who, len(number)))
        amount.append(much)
    return Asking(
        list(number),
        np.array(rows, dtype=np.int64),
        np.array(whose, dtype=np.int64),
        np.array(amount, dtype=np.float64),
    )


def over(
    columns: Columns, them: Asking, limits: Mapping[str, float], code: str, severity: Severity = Severity.STOP
) -> Iterator[Conflict]:
    limit = np.array([limits.get(name, np.inf) for name in them.names], dtype=np.float64)
    asked = columns.stretches(them.rows, them.groups)
    found = overfull(asked, them.amount, limit)
    for index, met in enumerate(meeting(found.at, asked)):
        rows = [columns.work[them.rows[one]] for one in met if them.amount[one] > 0]
        group = int(found.at.group[index])
        window = moment(found.at.starts[index]), moment(found.at.ends[index])
        yield conflict(
            severity, code, them.names[group], window, rows, float(found.most[index]), float(limit[group])
        )


def conflict(
    severity: Severity,
    code: str,
    who: str,
    window: tuple[datetime, datetime],
    rows: Sequence[Work],
    needed: float = 0.0,
    available: float = 0.0,
    facts: Mapping[str, Fact] | None = None,
) -> Conflict:
    kinds = {row.kind for row in rows}
    return Conflict(
        severity,
        code,
        who,
        *window,
        pours=tuple(sorted({row.pour for row in rows})),
        kinds=tuple(kind for kind in KINDS if kind in kinds),
        needed=needed,
        available=available,
        facts=facts or {},
    )


# --- outside the hours of somebody or somewhere -------------------------------------------------


def windows_in(pairs: Sequence[tuple[int, Window]]) -> Stretches:
    return Stretches(
        np.array([group for group, _ in pairs], dtype=np.int64),
        micros(window.opens_at for _, window in pairs),
        micros(window.closes_at for _, window in pairs),
    )


def outside(
    columns: Columns,
    pairs: Iterable[tuple[int, str]],
    hours: Hours,
    code: str,
    severity: Severity = Severity.STOP,
) -> Iterator[Conflict]:
    """Work that leaves the windows of its own."""
    known = {name: windows for name, windows in hours.items() if windows is not None}
    them = asking((row, who, 1.0) for row, who in pairs if who in known)
    windows = [(index, w) for index, name in enumerate(them.names) for w in known[name]]
    asked = columns.stretches(them.rows, them.groups)
    for index in np.flatnonzero(uncovered(asked, windows_in(windows))).tolist():
        one = columns.work[them.rows[index]]
        who = them.names[int(them.groups[index])]
        window, (lasts_h, inside_h) = (one.starts_at, one.ends_at), _hours(one, known[who])
        yield conflict(severity, code, who, window, [one], lasts_h, inside_h, _nearest(one, known[who]))


def _hours(one: Work, windows: Sequence[Window]) -> tuple[float, float]:
    """How long the work takes, and how much of that lies within the windows."""
    held = (min(w.closes_at, one.ends_at) - max(w.opens_at, one.starts_at) for w in windows)
    inside = sum((max(timedelta(), each) for each in held), timedelta())
    return (one.ends_at - one.starts_at) / HOUR, inside / HOUR


def _nearest(one: Work, windows: Sequence[Window]) -> dict[str, Fact]:
    """The window that holds most of the work, or else the next one."""
    held = [w for w in windows if w.opens_at < one.ends_at and w.closes_at > one.starts_at]
    ahead = [w for w in windows if w.opens_at >= one.ends_at]
    best = max(
        held,
        key=lambda w: (min(w.closes_at, one.ends_at) - max(w.opens_at, one.starts_at), w.opens_at),
        default=min(ahead, key=lambda w: w.opens_at, default=None),
    )
    return {} if best is None else {"opens_at": best.opens_at, "closes_at": best.closes_at}


def within(
    columns: Columns,
    pairs: Iterable[tuple[int, str]],
    shut: Mapping[str, Sequence[Window]],
    code: str,
    severity: Severity = Severity.STOP,
) -> Iterator[Conflict]:
    """Work that touches a window in which there should be none."""
    them = asking((row, who, 1.0) for row, who in pairs if shut.get(who))
    windows = [(index, w) for index, name in enumerate(them.names) for w in shut[name]]
    asked = columns.stretches(them.rows, them.groups)
    for index in np.flatnonzero(touched(asked, windows_in(windows))).tolist():
        one = columns.work[them.rows[index]]
        who = them.names[int(them.groups[index])]
        for window in shut[who]:
            if window.opens_at < one.ends_at and window.closes_at > one.starts_at:
                both = max(window.opens_at, one.starts_at), min(window.closes_at, one.ends_at)
                yield conflict(severity, code, who, both, [one])
