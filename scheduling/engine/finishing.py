"""Finishing: which passes the surface takes, when, and whether the party can keep up with the set.

The bull float belongs to the placing line. What follows waits until the slab bears a float and must
be done before it is too hard, strip by strip in placing order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Finish,
    Finishing,
    Severity,
    Window,
    require_positive,
)
from scheduling.engine.setting import SetTimes

_M2_PER_FT2 = 0.09290304


class PassKind(StrEnum):
    POWER_FLOAT = "power_float"
    TROWEL = "trowel"
    BROOM = "broom"


@dataclass(frozen=True, slots=True)
class Pass:
    """Once over the whole slab: opens as the first strip is ready, closes as the last gets too hard."""

    kind: PassKind
    opens_at: datetime
    closes_at: datetime
    people: int
    rate_m2_h: float


@dataclass(frozen=True, slots=True)
class FinishingPlan:
    """When the party finishes, and how fast it covers the slab in all passes together.

    `starts_at` is when the first strip bears the first pass, `first_finished_at` when that strip has
    had the last, `ends_at` when the whole slab has; curing starts then, at `cure_at`. `window` runs
    from the first strip's float-ready to the last strip's final set, both as likely.
    """

    passes: tuple[Pass, ...]
    starts_at: datetime
    first_finished_at: datetime
    ends_at: datetime
    cure_at: datetime
    people: int
    area_m2: float
    coverage_m2_h: float
    window: Window
    findings: tuple[Finding, ...]


# --- how fast a party works -------------------------------------------------------------------

# One pass, m2/h. Labour is from a published cost book (h/ft2 in all, the bull float's .006 among it) and an
# estimating text (1 h/100 ft2 machine trowelled in all); both count paid hours, waiting too.
#
# A walk-behind machine: 1,500 ft2 finished a day (trade magazine, 700 to 1,500), which is four
# passes in the three and a half hours from float-ready to final set at 70 °F: about 1,700 ft2/h.
TROWEL_MACHINE_M2_H = 160.0
# A person beside machines, edges and corners among it: (.010 - .006) h/ft2 over four passes.
WITH_MACHINE_M2_H = _M2_PER_FT2 * 4 / (0.010 - 0.006)
# A person with hand float or hand trowel: (.018 - .006) h/ft2 over four passes; the same magazine's
# hand crew of 600 ft2 a day agrees, taken as two people.
BY_HAND_M2_H = _M2_PER_FT2 * 4 / (0.018 - 0.006)
# A person who edges, touches up and brooms: (.012 - .006) h/ft2. A contractor's limit of 800 ft2 to two
# finishers in the 2 to 3 h the concrete gives agrees.
BROOM_M2_H = _M2_PER_FT2 / (0.012 - 0.006)

# Paid hours for the whole finish, waiting among it, h/ft2: the least and the most published. Trowel:
# estimating text and cost book; broom and float: cost book, and a second cost book from memory.
LABOUR_H_FT2: Mapping[Finish, tuple[float, float]] = {
    Finish.TROWEL: (0.010, 0.015),
    Finish.BROOM: (0.012, 0.013),
    Finish.FLOAT: (0.010, 0.012),
}


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A pass and the part of the time from float-ready (0) to final set (1) in which a strip takes it."""

    kind: PassKind
    opens: float
    closes: float


# Float, then three trowel passes, each with two quarters of the time (our choice: 2 to 3 trowel passes are
# common, from memory; a trowel on concrete past final set only burns it). A broom marks the surface
# a little longer than a float can close it (our choice).
PASSES: Mapping[Finish, tuple[_Stretch, ...]] = {
    Finish.TROWEL: (
        _Stretch(PassKind.POWER_FLOAT, 0.0, 0.5),
        _Stretch(PassKind.TROWEL, 0.25, 0.75),
        _Stretch(PassKind.TROWEL, 0.5, 1.0),
        _Stretch(PassKind.TROWEL, 0.75, 1.0),
    ),
    Finish.BROOM: (_Stretch(PassKind.BROOM, 0.0, 0.6),),
    Finish.FLOAT: (_Stretch(PassKind.POWER_FLOAT, 0.0, 0.5),),
}

LAST_STRIP = 1 / 8  # the part of the slab still to do when its last strip comes ready (our choice)
HOPELESS_SHORT_PERCENT = 100 / 3  # parties differ by so much from our rates, hardly by more (our choice)
MOST_PEOPLE = 60


def pass_rate_m2_h(kind: PassKind, people: int, power_trowels: int) -> float:
    """Return how fast a party goes once over a slab.

    Parameters
    ----------
    kind : PassKind
    people, power_trowels : int
        Walk-behind machines, each with one of the people at it.

    Returns
    -------
    float
        m2/h. Machines set the pace as far as there are hands for their edges; hands left over work
        without a machine.
    """
    if kind is PassKind.BROOM:
        return BROOM_M2_H * people
    machines_m2_h = TROWEL_MACHINE_M2_H * min(power_trowels, people)
    with_machines_m2_h = min(machines_m2_h, WITH_MACHINE_M2_H * people)
    hands_left = people - with_machines_m2_h / WITH_MACHINE_M2_H
    return with_machines_m2_h + BY_HAND_M2_H * hands_left


def labour_h(finish: Finish, area_m2: float) -> tuple[float, float]:
    """Return the least and the most paid hours that published labour values give for a finish."""
    least, most = LABOUR_H_FT2[finish]
    return least * area_m2 / _M2_PER_FT2, most * area_m2 / _M2_PER_FT2


def short_percent(covered_m2: float, area_m2: float) -> float:
    """Return the percent of `area_m2` left by a party that covers `covered_m2`; 0 where none is."""
    return max(0.0, 100 * (1 - covered_m2 / area_m2))


# --- against the set --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Slab:
    """The slab as it sets, first strip to last. Hours count from the first strip's float-ready."""

    finish: Finish
    area_m2: float
    first: SetTimes
    last: SetTimes

    def hours(self, moment: datetime) -> float:
        return (moment - self.first.float_ready.likely).total_seconds() / 3600

    def at(self, hours: float) -> datetime:
        return self.first.float_ready.likely + timedelta(hours=hours)

    def _part(self, strip: SetTimes, share: float) -> float:
        ready_h, hard_h = self.hours(strip.float_ready.likely), self.hours(strip.final.likely)
        return ready_h + share * (hard_h - ready_h)

    @property
    def opens_h(self) -> tuple[float, ...]:
        return tuple(self._part(self.first, stretch.opens) for stretch in PASSES[self.finish])

    @property
    def last_opens_h(self) -> float:
        return self._part(self.last, PASSES[self.finish][-1].opens)

    @property
    def closes_h(self) -> tuple[float, ...]:
        return tuple(self._part(self.last, stretch.closes) for stretch in PASSES[self.finish])

    def work_h(self, finishing: Finishing) -> tuple[float, ...]:
        """Hours each pass keeps the party busy."""
        return tuple(self.area_m2 / rate for rate in _rates(finishing))


def _rates(finishing: Finishing) -> tuple[float, ...]:
    kinds = (stretch.kind for stretch in PASSES[finishing.finish])
    return tuple(pass_rate_m2_h(kind, finishing.people, finishing.power_trowels) for kind in kinds)


def plan_finishing(
    finishing: Finishing, area_m2: float, first_set: SetTimes, last_set: SetTimes
) -> FinishingPlan:
    """Plan the passes of a finish between float-ready and final set.

    Parameters
    ----------
    finishing : Finishing
        People who stay, finish, and power trowels.
    area_m2 : float
        m2.
    first_set, last_set : SetTimes
        Of the first and the last strip placed.

    Returns
    -------
    FinishingPlan
        With ``finishing_short`` (a caution; a stop where a third or more stays undone) when the
        party cannot get over the slab in time, and ``finishing_labour`` with the paid hours.

    Raises
    ------
    BadInput
        Area not positive, or the last strip placed before the first.
    """
    require_positive("area_m2", area_m2)
    if last_set.placed_at < first_set.placed_at:
        raise BadInput("last_set", "empty_window", "The last strip must not be placed before the first.")
    slab = _Slab(finishing.finish, area_m2, first_set, last_set)
    rates, work_h = _rates(finishing), slab.work_h(finishing)
    busy_h = max(opens + math.fsum(work_h[at:]) for at, opens in enumerate(slab.opens_h))
    ends_h = max(busy_h, slab.last_opens_h + work_h[-1] * LAST_STRIP)
    first_finished_h = max(slab.opens_h[-1], busy_h - work_h[-1]) + work_h[-1] * LAST_STRIP
    return FinishingPlan(
        passes=tuple(_passes(slab, finishing.people, rates)),
        starts_at=slab.at(slab.opens_h[0]),
        first_finished_at=slab.at(first_finished_h),
        ends_at=slab.at(ends_h),
        cure_at=slab.at(ends_h),
        people=finishing.people,
        area_m2=area_m2,
        coverage_m2_h=1 / math.fsum(1 / rate for rate in rates),
        window=Window(first_set.float_ready.likely, last_set.final.likely),
        findings=(*_short_findings(slab, finishing, slab.at(ends_h)), _labour_finding(finishing, area_m2)),
    )


def _passes(slab: _Slab, people: int, rates: Sequence[float]) -> Iterator[Pass]:
    rows = zip(PASSES[slab.finish], slab.opens_h, slab.closes_h, rates, strict=True)
    for stretch, opens_h, closes_h, rate_m2_h in rows:
        yield Pass(stretch.kind, slab.at(opens_h), slab.at(closes_h), people, rate_m2_h)


def _load(slab: _Slab, finishing: Finishing) -> float:
    """How full the tightest stretch is, 1 just fitting: the passes that must open and close inside it."""
    work_h, opens_h, closes_h = slab.work_h(finishing), slab.opens_h, slab.closes_h
    count = len(work_h)
    return max(
        math.fsum(work_h[first : last + 1]) / (closes_h[last] - opens_h[first])
        for first in range(count)
        for last in range(first, count)
    )


def _short_findings(slab: _Slab, finishing: Finishing, busy_until: datetime) -> Iterator[Finding]:
    load = _load(slab, finishing)
    if load <= 1:
        return
    short = short_percent(slab.area_m2 / load, slab.area_m2)
    more_people = (replace(finishing, people=n) for n in range(finishing.people + 1, MOST_PEOPLE + 1))
    trowels = range(finishing.power_trowels + 1, finishing.people + 1)
    more_trowels = (replace(finishing, power_trowels=n) for n in trowels)
    facts: dict[str, Fact] = {
        "short_percent": short,
        "people": finishing.people,
        "people_needed": next((party.people for party in more_people if _load(slab, party) <= 1), None),
        "power_trowels": finishing.power_trowels,
        "power_trowels_needed": next(
            (party.power_trowels for party in more_trowels if _load(slab, party) <= 1), None
        ),
        "busy_until": busy_until,
        "closes_at": slab.at(slab.closes_h[-1]),
    }
    severity = Severity.STOP if short >= HOPELESS_SHORT_PERCENT else Severity.CAUTION
    yield Finding(severity, "finishing_short", facts, "published labour values and machine rates")


def _labour_finding(finishing: Finishing, area_m2: float) -> Finding:
    least_h, most_h = labour_h(finishing.finish, area_m2)
    facts: dict[str, Fact] = {
        "least_h": least_h,
        "most_h": most_h,
        "least_each_h": least_h / finishing.people,
        "most_each_h": most_h / finishing.people,
    }
    return Finding(Severity.NOTE, "finishing_labour", facts, "published cost book and estimating text")
