"""What cures a conflict: changes that were tried on the week and shown to work, not guesses.

Each is planned anew, put in the pour's place, and searched for conflicts; only what removes this one and
brings no other is offered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import islice
from typing import TypeAlias

from scheduling.engine.conflicts import PEOPLE_SHORT
from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekbook import WeekBook, Work
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekconflicts import find_conflicts

MOST_CURES = 3
LATER_MIN = (15, 30, 45, 60, 75, 90, 120, 150, 180, 240)  # our choice
DAYS = (1, 2, 3, 4)  # our choice


class Remedy(StrEnum):
    LATER = "later"
    OTHER_CREW = "other_crew"
    BORROW = "borrow"
    EARLY_SAW = "early_saw"
    OTHER_DAY = "other_day"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing done otherwise with a pour: `by` is minutes later, people borrowed, or days later."""

    pour: str
    remedy: Remedy
    by: int = 0
    crew: str = ""


@dataclass(frozen=True, slots=True)
class Cure:
    """A change that works, with the pour's work as it would then be."""

    change: Change
    work: tuple[Work, ...]


TryPlan: TypeAlias = Callable[[Change], tuple[Work, ...] | None]


def cures_for(
    conflict: Conflict, book: WeekBook, try_plan: TryPlan, movable: Iterable[str] | None = None
) -> tuple[Cure, ...]:
    """Find up to three changes that each cure a conflict, of different kinds as far as there are.

    Parameters
    ----------
    conflict : Conflict
        One that `find_conflicts` finds in the book.
    book : WeekBook
    try_plan : callable
        Asks the day planner for a pour's work under a change; None when there is no such plan. Not
        asked for people borrowed, which changes who does the work and not the work.
    movable : iterable of str, optional
        Pours that may be changed; None allows all of the conflict's.

    Returns
    -------
    tuple of Cure
        The gentlest of each kind, in the order: later, another crew, people borrowed, a saw for early
        cuts, another day.
    """
    before = {_same(one) for one in find_conflicts(book)}
    pours = conflict.pours if movable is None else tuple(p for p in conflict.pours if p in set(movable))
    kinds = (_later(pours), _crews(pours, book), _early_saw(pours, conflict), _days(pours))
    later, crews, saws, days = (
        _first_planned(changes, conflict, book, before, try_plan) for changes in kinds
    )
    borrowed = _first_borrowed(pours, conflict, book, before)
    found = (cure for cures in (later, crews, borrowed, saws, days) for cure in islice(cures, 1))
    return tuple(islice(found, MOST_CURES))


def _later(pours: Iterable[str]) -> Iterator[Change]:
    # The pour that comes last is moved more gently than the one it waits for.
    last_first = tuple(pours)[::-1]
    return (Change(pour, Remedy.LATER, by) for by in LATER_MIN for pour in last_first)


def _crews(pours: Iterable[str], book: WeekBook) -> Iterator[Change]:
    of_pour = {work.pour: work.crew for work in book.work if work.kind is PhaseKind.PLACE}
    return (
        Change(pour, Remedy.OTHER_CREW, crew=crew)
        for pour in pours
        for crew in sorted(book.people)
        if crew != of_pour.get(pour)
    )


def _early_saw(pours: Iterable[str], conflict: Conflict) -> Iterator[Change]:
    cutting = PhaseKind.CUT in conflict.kinds
    return (Change(pour, Remedy.EARLY_SAW) for pour in pours if cutting)


def _days(pours: Iterable[str]) -> Iterator[Change]:
    return (Change(pour, Remedy.OTHER_DAY, by) for by in DAYS for pour in pours)


def _first_planned(
    changes: Iterable[Change],
    conflict: Conflict,
    book: WeekBook,
    before: set[tuple[object, ...]],
    try_plan: TryPlan,
) -> Iterator[Cure]:
    for change in changes:
        planned = try_plan(change)
        if planned is not None and _cures(change.pour, planned, conflict, book, before):
            yield Cure(change, planned)


def _first_borrowed(
    pours: Iterable[str], conflict: Conflict, book: WeekBook, before: set[tuple[object, ...]]
) -> Iterator[Cure]:
    """People of another crew for those phases of a pour that lack them."""
    short = round(conflict.needed - conflict.available)
    if conflict.code != PEOPLE_SHORT or short < 1:
        return
    for pour in pours:
        for lender in sorted(book.people):
            work = tuple(_lent(book, pour, conflict, lender, short))
            if lender != conflict.who and _cures(pour, work, conflict, book, before):
                yield Cure(Change(pour, Remedy.BORROW, short, lender), work)


def _lent(book: WeekBook, pour: str, conflict: Conflict, lender: str, short: int) -> Iterator[Work]:
    for one in book.work:
        if one.pour != pour:
            continue
        meets = one.starts_at < conflict.ends_at and one.ends_at > conflict.starts_at
        if meets and one.crew == conflict.who and one.people:
            lent = min(short, one.people)
            yield replace(one, people=one.people - lent)
            yield replace(
                one, people=lent, crew=lender, workers=(), units=(), gear=(), plant=None, rate_m3_h=0.0
            )
        else:
            yield one


def _cures(
    pour: str, work: tuple[Work, ...], conflict: Conflict, book: WeekBook, before: set[tuple[object, ...]]
) -> bool:
    """Whether the conflict is gone and none is there that was not there before."""
    others = tuple(one for one in book.work if one.pour != pour)
    after = find_conflicts(replace(book, work=(*others, *work)))
    return not any(_still(one, conflict) or (pour in one.pours and _same(one) not in before) for one in after)


def _still(one: Conflict, conflict: Conflict) -> bool:
    return (one.code, one.who, one.pours) == (conflict.code, conflict.who, conflict.pours)


def _same(one: Conflict) -> tuple[object, ...]:
    return one.code, one.who, one.pours, one.starts_at, one.ends_at
