"""Plans of arrivals that a plant takes by telephone: so many together, then one every so many minutes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import TypeAlias

import numpy as np

from scheduling.engine.forecast import Floats

MOST_TOGETHER = 3  # our choice: more than three trucks in the street at once is no plan
FIVE = 5
LONGEST_MIN = 240  # our choice: trucks farther apart than this are pours of their own
WORTH_A_CLOSER_LOOK = 0.1  # our choice: how much dearer a plan may look from few days
MOST_CLOSER_LOOKS = 2  # our choice
ROUND_LOSS = 0.01  # our choice: what a plan in whole fives may cost more than one in whole minutes
SIMPLE_LOSS = 0.015  # our choice: what "every k minutes" may lose before the first gap is named apart


@dataclass(frozen=True, slots=True, order=True)
class Sayable:
    """`first_together` at the start, the next after `next_after_min`, then one every `interval_min`.

    `next_after_min` is `interval_min` unless that loses much. A plan for so few loads that none is
    left for an interval has 0 there.
    """

    first_together: int
    next_after_min: int
    interval_min: int

    @property
    def simple(self) -> bool:
        """Whether the gap after the first ones is the interval as well."""
        return self.next_after_min == self.interval_min

    @property
    def in_fives(self) -> bool:
        """Whether it is said in whole fives."""
        return self.next_after_min % FIVE == 0 and self.interval_min % FIVE == 0

    def intervals_min(self, loads: int) -> Floats:
        """Time from each asked arrival to the next, shape (loads - 1,)."""
        return np.diff(self.asked_min(loads))

    def asked_min(self, loads: int) -> Floats:
        """When each load is asked to arrive, from the first on, shape (loads,)."""
        later = self.next_after_min + self.interval_min * np.arange(loads - self.first_together)
        return np.concatenate((np.zeros(self.first_together), later))


def every(interval_min: int, first_together: int = 1) -> Sayable:
    """The plainest plan: one every so many minutes, from the first ones on."""
    return Sayable(first_together, interval_min, interval_min)


Cost: TypeAlias = Callable[[Floats], float]
PlanCost: TypeAlias = Callable[[Sayable], float]
Around: TypeAlias = Callable[[Sayable, int], Iterator[Sayable]]


class Search:
    """Looks for the cheapest sayable plan: roughly first, then closer, the last minutes by many days.

    Parameters
    ----------
    loads : int
        At least 2.
    rough, close, final : callable
        The cost of asked arrivals, from ever more days.
    most_together : int
        More trucks than this cannot be there at the start.
    near_min : float
        An interval to begin from.
    """

    def __init__(
        self, loads: int, rough: Cost, close: Cost, final: Cost, most_together: int, near_min: float
    ) -> None:
        self._near_min = max(1, round(near_min))
        self._longest_min = max(LONGEST_MIN, 3 * self._near_min)
        self._together = range(1, min(MOST_TOGETHER, most_together, loads - 1) + 1)
        self._rough, self._close, self.cost = (_remembered(loads, cost) for cost in (rough, close, final))

    def simple(self) -> Sayable:
        """The cheapest "n together, then every k", said in fives where that loses little."""
        starts = [every(self._near_min, together) for together in self._together]
        return self._best(starts, _neighbours, max(1, self._near_min // 4))

    def with_first_gap(self, simple: Sayable, free_min: Floats) -> Sayable:
        """The cheapest plan whose first gap is its own, begun from the simple and the best free one.

        There are three loads or more.
        """
        asked = np.concatenate(([0.0], np.cumsum(free_min)))
        starts = [
            Sayable(
                together,
                next_after_min=round(float(asked[together])),
                interval_min=max(1, round(float(free_min[together:].mean()))),
            )
            for together in self._together
            if together < len(free_min)  # at least one load comes after the first gap
        ]
        return self._best(self._hopeful([simple, *starts]), _wider_neighbours, 2)

    def _best(self, starts: list[Sayable], around: Around, step: int) -> Sayable:
        found = {self._descend(start, around, self._rough, step) for start in starts}
        near = self._hopeful(found)[:MOST_CLOSER_LOOKS]
        closest = self._cheapest([self._descend(plan, around, self._close, 1) for plan in near], self._close)
        return self._in_fives(self._descend(closest, around, self.cost, 1))

    def _hopeful(self, plans: Iterable[Sayable]) -> list[Sayable]:
        """Those not much dearer than the cheapest, as far as few days tell, the cheapest first."""
        ranked = sorted(plans, key=lambda plan: (self._rough(plan), plan))
        limit = self._rough(ranked[0]) * (1 + WORTH_A_CLOSER_LOOK)
        return [plan for plan in ranked if self._rough(plan) <= limit]

    def _descend(self, plan: Sayable, around: Around, cost: PlanCost, step: int) -> Sayable:
        """Step to the best neighbour until none is better, in steps that halve."""
        while True:
            best = self._cheapest([plan, *around(plan, step)], cost)
            if best == plan:
                if step == 1:
                    return plan
                step //= 2
            plan = best

    def _in_fives(self, plan: Sayable) -> Sayable:
        five = self._cheapest(list(_fives(plan)), self.cost)
        return five if self.cost(five) <= self.cost(plan) * (1 + ROUND_LOSS) else plan

    def _cheapest(self, plans: list[Sayable], cost: PlanCost) -> Sayable:
        """Of plans that cost the same, the one that asks for its trucks latest."""
        within = [plan for plan in plans if max(plan.interval_min, plan.next_after_min) <= self._longest_min]
        return min(within, key=lambda plan: (cost(plan), -plan.interval_min, -plan.next_after_min))


def _remembered(loads: int, cost: Cost) -> PlanCost:
    """The cost of a plan, asked for only once."""
    return cache(lambda plan: cost(plan.asked_min(loads)))


def _neighbours(plan: Sayable, step: int) -> Iterator[Sayable]:
    for interval in (plan.interval_min - step, plan.interval_min + step):
        if interval >= 1:
            yield every(interval, plan.first_together)


def _wider_neighbours(plan: Sayable, step: int) -> Iterator[Sayable]:
    for interval in (plan.interval_min - step, plan.interval_min + step):
        if interval >= 1:
            yield replace(plan, interval_min=interval)
    for after in (plan.next_after_min - step, plan.next_after_min + step):
        if after >= 0:
            yield replace(plan, next_after_min=after)


def _fives(plan: Sayable) -> Iterator[Sayable]:
    """The plan in whole fives, each of its gaps up and down; a simple one stays simple."""
    for interval in _both_fives(plan.interval_min, FIVE):
        if plan.simple:
            yield every(interval, plan.first_together)
            continue
        for after in _both_fives(plan.next_after_min, 0):
            yield Sayable(plan.first_together, after, interval)


def _both_fives(minutes: int, least: int) -> set[int]:
    below, above = FIVE * math.floor(minutes / FIVE), FIVE * math.ceil(minutes / FIVE)
    return {max(least, below), max(least, above)}
