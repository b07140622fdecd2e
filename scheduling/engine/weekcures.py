"""What cures a conflict: changes that were tried on the week and shown to work, not guesses.

Each is planned anew, put in the pour's place, and searched for conflicts; only what removes this one and
brings no other is offered. What no change of plan cures is cured by doing it, and that is said instead.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from enum import StrEnum
from itertools import chain, islice
from typing import TypeAlias

from scheduling.engine.conflicts import PEOPLE_SHORT, TWO_PLACINGS
from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekbook import WeekBook, Work
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekconflicts import find_conflicts

MOST_CURES = 3
MINUTES = (15, 30, 45, 60, 75, 90, 120, 150, 180, 240)  # later or earlier: our choice
DAYS = (1, -1, 2, -2, 3, -3, 4)  # our choice
SLIP = timedelta(minutes=15)  # what lasts longer by no more is no worse: our choice


class Remedy(StrEnum):
    """What is done otherwise; from `call_order` on, what is to be done with the plan left as it is."""

    LATER = "later"
    EARLIER = "earlier"
    OTHER_CREW = "other_crew"
    BORROW = "borrow"
    EARLY_SAW = "early_saw"
    OTHER_DAY = "other_day"
    PLAN_AFRESH = "plan_afresh"
    CALL_ORDER = "call_order"
    RELEASE_FORMS = "release_forms"
    PASS_INSPECTION = "pass_inspection"
    ASK_PLANT = "ask_plant"


LATER, EARLIER, OTHER_CREW, BORROW, EARLY_SAW, OTHER_DAY, PLAN_AFRESH, *_ = Remedy
ACTS = (Remedy.CALL_ORDER, Remedy.RELEASE_FORMS, Remedy.PASS_INSPECTION, Remedy.ASK_PLANT)

WORTH_TRYING: Mapping[str, tuple[Remedy, ...]] = {
    PEOPLE_SHORT: (LATER, OTHER_CREW, BORROW, EARLY_SAW, OTHER_DAY, EARLIER),
    "people_away": (LATER, OTHER_CREW, BORROW, EARLY_SAW, OTHER_DAY, EARLIER),
    TWO_PLACINGS: (LATER, OTHER_CREW, OTHER_DAY, EARLIER),
    "crew_away": (OTHER_CREW, LATER, OTHER_DAY, EARLIER),
    "worker_twice": (LATER, EARLY_SAW, OTHER_DAY, EARLIER),
    "worker_away": (LATER, EARLY_SAW, OTHER_DAY, EARLIER),
    "skill_missing": (BORROW, OTHER_CREW, LATER, OTHER_DAY, EARLIER),
    "unit_twice": (LATER, EARLY_SAW, OTHER_DAY, EARLIER),
    "unit_out_of_use": (LATER, EARLY_SAW, OTHER_DAY, EARLIER),
    "gear_short": (LATER, EARLY_SAW, OTHER_DAY, EARLIER),
    "plant_rate": (LATER, OTHER_DAY, EARLIER),
    "plant_shut": (EARLIER, LATER, OTHER_DAY),
    "plant_unasked": (Remedy.ASK_PLANT, OTHER_DAY),
    "holiday": (OTHER_DAY,),
    "outside_permit": (EARLIER, LATER, EARLY_SAW, OTHER_DAY),
    "outside_loud_hours": (EARLIER, LATER, EARLY_SAW, OTHER_DAY),
    "placed_in_the_dark": (LATER, EARLIER, OTHER_DAY),
    "road_season": (PLAN_AFRESH, OTHER_DAY),
    "too_far": (LATER, OTHER_CREW, OTHER_DAY, EARLIER),
    "long_day": (BORROW, OTHER_CREW, OTHER_DAY),
    "short_rest": (LATER, EARLY_SAW, OTHER_CREW, EARLIER, OTHER_DAY),
    "promise_broken": (EARLIER, OTHER_DAY),
    "order_not_called": (Remedy.CALL_ORDER,),
    "forms_not_released": (Remedy.RELEASE_FORMS,),
    "inspection_open": (Remedy.PASS_INSPECTION,),
}  # of each kind the gentlest that works, in this order: our choice

AFTER_PLACING = (PhaseKind.FINISH, PhaseKind.CUT)


@dataclass(frozen=True, slots=True)
class Change:
    """One thing done otherwise with a pour: `by` is minutes, people borrowed, or days later."""

    pour: str
    remedy: Remedy
    by: int = 0
    crew: str = ""


@dataclass(frozen=True, slots=True)
class Cure:
    """A change that works, with the pour's work as it would then be; none where the plan is left as it is."""

    change: Change
    work: tuple[Work, ...] = ()


TryPlan: TypeAlias = Callable[[Change], tuple[Work, ...] | None]
Rule: TypeAlias = tuple[object, ...]


def cures_for(
    conflict: Conflict, book: WeekBook, try_plan: TryPlan, movable: Iterable[str] | None = None
) -> tuple[Cure, ...]:
    """Find up to three cures of a conflict, each of another kind.

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
        The gentlest of each kind that `WORTH_TRYING` names for the rule, in its order. What is to be
        done with the plan left as it is, is said untried.
    """
    trial = _Trial(conflict, book, try_plan)
    pours = conflict.pours if movable is None else tuple(p for p in conflict.pours if p in set(movable))
    kinds = (islice(trial.of_kind(remedy, pours), 1) for remedy in WORTH_TRYING[conflict.code])
    return tuple(islice(chain.from_iterable(kinds), MOST_CURES))


class _Trial:
    """A week with one conflict to be rid of, and what may not get worse on the way."""

    def __init__(self, conflict: Conflict, book: WeekBook, try_plan: TryPlan) -> None:
        self.conflict, self.book, self.try_plan = conflict, book, try_plan
        self.before: dict[Rule, list[Conflict]] = defaultdict(list)
        for one in find_conflicts(book):
            if one != conflict:
                self.before[_rule(one)].append(one)

    def of_kind(self, remedy: Remedy, pours: tuple[str, ...]) -> Iterator[Cure]:
        """Cures of one kind, the gentlest first."""
        if remedy in ACTS:
            yield from (Cure(Change(pour, remedy)) for pour in self.conflict.pours)
        elif remedy is BORROW:
            yield from self._borrowed(pours)
        else:
            for change in _changes(remedy, pours, self.conflict, self.book):
                planned = self.try_plan(change)
                if planned is not None and self.works(change.pour, planned):
                    yield Cure(change, planned)

    def _borrowed(self, pours: tuple[str, ...]) -> Iterator[Cure]:
        """People of another crew for those phases of a pour that lack them, or somebody's skill."""
        for pour in pours:
            short = self._short(pour)
            for lender in sorted(self.book.people) if short > 0 else ():
                work = tuple(_lent(self.book, pour, self.conflict, lender, short))
                if lender != self.conflict.who and self.works(pour, work):
                    yield Cure(Change(pour, BORROW, short, lender), work)

    def _short(self, pour: str) -> int:
        """How many people: those missing, one who can, or a second party for all that follows placing."""
        if self.conflict.code == "long_day":
            after = (w.people for w in self.book.work if w.pour == pour and w.kind in AFTER_PLACING)
            return max(after, default=0)
        missing = round(self.conflict.needed - self.conflict.available)
        return 1 if self.conflict.facts.get("skill") else missing

    def works(self, pour: str, work: tuple[Work, ...]) -> bool:
        """Whether nothing is left of the conflict, and none of the pour is new or gets worse."""
        others = tuple(one for one in self.book.work if one.pour != pour)
        after = find_conflicts(replace(self.book, work=(*others, *work)))
        return not any((pour in one.pours or self._is_left(one)) and self._is_new(one) for one in after)

    def _is_left(self, one: Conflict) -> bool:
        same = (one.code, one.who) == (self.conflict.code, self.conflict.who)
        return same and set(one.pours) <= set(self.conflict.pours)

    def _is_new(self, one: Conflict) -> bool:
        return not any(_is_no_worse(one, before) for before in self.before[_rule(one)])


def _rule(one: Conflict) -> Rule:
    return one.code, one.who, one.pours, one.kinds, one.facts.get("skill")


def _is_no_worse(one: Conflict, before: Conflict) -> bool:
    """The same, perhaps at another hour; what is cured by doing it is the same at any."""
    if all(remedy in ACTS for remedy in WORTH_TRYING[one.code]):
        return True
    lasts = (one.ends_at - one.starts_at) - (before.ends_at - before.starts_at)
    return one.needed - one.available <= before.needed - before.available + 1e-9 and lasts <= SLIP


def _changes(remedy: Remedy, pours: tuple[str, ...], conflict: Conflict, book: WeekBook) -> Iterator[Change]:
    """The changes of a kind, the gentlest first."""
    match remedy:
        case Remedy.LATER:
            # The pour that comes last is moved more gently than the one it waits for.
            yield from (Change(pour, remedy, by) for by in MINUTES for pour in pours[::-1])
        case Remedy.EARLIER:
            yield from (Change(pour, remedy, by) for by in MINUTES for pour in pours)
        case Remedy.OTHER_DAY:
            yield from (Change(pour, remedy, by) for by in DAYS for pour in pours)
        case Remedy.OTHER_CREW:
            crew_of = {work.pour: work.crew for work in book.work if work.kind is PhaseKind.PLACE}
            crews = ((pour, crew) for pour in pours for crew in sorted(book.people))
            yield from (Change(p, remedy, crew=crew) for p, crew in crews if crew != crew_of.get(p))
        case Remedy.EARLY_SAW:
            yield from (Change(pour, remedy) for pour in pours if PhaseKind.CUT in conflict.kinds)
        case _:
            yield from (Change(pour, remedy) for pour in pours)


def _lent(book: WeekBook, pour: str, conflict: Conflict, lender: str, short: int) -> Iterator[Work]:
    skill = conflict.facts.get("skill")
    kinds = AFTER_PLACING if conflict.code == "long_day" else conflict.kinds
    for one in book.work:
        if one.pour != pour:
            continue
        meets = one.starts_at < conflict.ends_at and one.ends_at > conflict.starts_at
        if meets and one.crew == conflict.who and one.kind in kinds and one.people:
            lent = min(short, one.people)
            yield replace(one, people=one.people - lent, skills=tuple(s for s in one.skills if s != skill))
            yield replace(
                one,
                people=lent,
                crew=lender,
                skills=tuple(s for s in one.skills if s == skill),
                workers=(),
                units=(),
                gear=(),
                plant=None,
                rate_m3_h=0.0,
            )
        else:
            yield one
