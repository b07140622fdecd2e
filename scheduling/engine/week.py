"""Propose a week: a greedy plan at once, bettered by many small tries, then part by part by CP-SAT.

Every round sets several parts of the week free side by side, each a day or a pour with those in its way.
Parts know nothing of each other, so they may be solved on as many cores or machines as there are; the
answer is the same.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC

from scheduling.engine.weekboard import Board, greedy
from scheduling.engine.weekcheck import conflicts_in
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekmodel import Part
from scheduling.engine.weekparts import (
    PART_EFFORT,
    SOLVER_EFFORT,
    TRY_EFFORT,
    SolveAll,
    Subweek,
    Tries,
    board_of,
    least_costs,
    solve_subweek,
)
from scheduling.engine.weekproblem import Placed, Shortage, WeekProblem, cost_of_placed, cost_of_week
from scheduling.engine.weekwhy import why_left_out

BUILD_EFFORT = 0.08  # of a part, before CP-SAT begins

PARTS_A_ROUND = 4  # whatever the number of workers, so that it does not change the answer: our choice
SEARCHES = 4  # side by side, for the same reason: our choice
LEG_TRIES = 75_000  # between two comparisons of the searches: our choice
SMALL_WEEK = 12  # solved whole: our choice
SHUFFLE_SHARE = 0.8  # of the effort: our choice
BEHIND = 0.01  # how much dearer than the best a search may be that goes its own way: our choice
FEWEST, MOST = 5, 30


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a proposal has come: the best cost, a bound that no week goes below, effort spent."""

    best: int
    bound: int
    effort: float
    rounds: int


@dataclass(frozen=True, slots=True)
class Proposal:
    """A week proposed, as good as it was found; `proven` when no better one exists.

    `greedy_only` says that nothing was found beyond the plan filled pour by pour, `failed` that the search
    broke down, or its week did not pass the conflict finder, and what was sound before stands.
    `conflicts` are those that the conflict finder sees: of pinned pours with each other. `shortages` say
    why pours are left out.
    """

    placed: tuple[Placed, ...]
    left_out: tuple[str, ...]
    cost: int
    bound: int
    proven: bool
    greedy_cost: int
    greedy_only: bool
    failed: bool
    effort: float
    rounds: int
    conflicts: tuple[Conflict, ...]
    shortages: tuple[Shortage, ...]


def propose_week(
    problem: WeekProblem,
    effort: float = 10.0,
    seed: int = 1,
    start: Iterable[Placed] | None = None,
    solve_all: SolveAll | None = None,
    on_progress: Callable[[Progress], bool] | None = None,
) -> Proposal:
    """Find a week of little cost.

    Parameters
    ----------
    problem : WeekProblem
    effort : float
        How long to go on: about seconds of one core, but counted in steps that are the same everywhere.
    seed : int
        Of the choice of parts.
    start : iterable of Placed, optional
        A week to better, in place of the greedy one.
    solve_all : callable, optional
        Solves a round's parts side by side and answers in their order; without it they are solved here,
        one after another. The proposal is the same.
    on_progress : callable, optional
        Told of every round; answering False stops and keeps the best.

    Returns
    -------
    Proposal

    Notes
    -----
    A small week is solved whole. Equal inputs give equal answers unless `on_progress` stops earlier.
    """
    board = greedy(problem) if start is None else board_of(problem, start)
    search = _Search(board, random.Random(seed), effort, on_progress)
    try:
        if len(search.names) <= SMALL_WEEK:
            search.whole()
            return search.proposal()
        search.go(solve_all or (lambda parts: [solve_subweek(part, board) for part in parts]))
    except (RuntimeError, MemoryError, ValueError):
        search.failed = True
    return search.proposal()


class _Search:
    """The best week so far and the choice of what to set free next."""

    def __init__(
        self,
        board: Board,
        draw: random.Random,
        effort: float,
        on_progress: Callable[[Progress], bool] | None,
    ) -> None:
        problem, placed = board.problem, dict(board.placed)
        self.problem, self.placed, self.draw = problem, placed, draw
        self.pours = {pour.name: pour for pour in problem.pours}
        self.names = [pour.name for pour in problem.pours if not pour.pinned]
        self.first = dict(placed)
        self.cost = self.greedy_cost = cost_of_week(problem, placed)
        self.board = board
        self.least = least_costs(problem, self.board)
        self.bound = sum(self.least.values())
        self.effort, self.spent, self.done = effort, 0.0, 0
        self.size = 8.0
        self.on_progress = on_progress
        self.failed = self.stopped = self.proven = False
        self._report()

    def _report(self) -> None:
        if self.on_progress and not self.on_progress(
            Progress(self.cost, self.bound, round(self.spent, 3), self.done)
        ):
            self.stopped = True

    # --- a small week

    def whole(self) -> None:
        part = solve_subweek(
            Subweek(self.problem, tuple(self.placed.values()), tuple(self.names), self.effort)
        )
        if part is None:
            return
        self._accept(part, self.names)
        pinned = [name for name in self.pours if name not in self.names]
        self.bound = max(self.bound, part.bound + sum(self._costs(name) for name in pinned))
        self.proven, self.spent = part.proven, SOLVER_EFFORT * part.effort
        self._report()

    # --- a large week

    def go(self, solve_all: SolveAll) -> None:
        """Thousands of small tries for their share of the effort, and parts for the rest of it."""
        if self.names:
            self.shuffle(solve_all)
            self.board = board_of(self.problem, self.placed.values(), self.board)
            self.rounds(solve_all)

    def shuffle(self, solve_all: SolveAll) -> None:
        """Let searches run side by side; one that falls behind goes on from the best of them."""
        each = int(SHUFFLE_SHARE * self.effort / TRY_EFFORT / SEARCHES)
        weeks = [tuple(self.placed.values())] * SEARCHES
        for done in range(0, each, LEG_TRIES):
            if not self._go_on():
                break
            count = min(LEG_TRIES, each - done)
            seeds = [self.draw.getrandbits(32) for _ in weeks]
            tries = [Tries(seed, count, done / each, (done + count) / each) for seed in seeds]
            parts = [Subweek(self.problem, at, (), tries=t) for at, t in zip(weeks, tries, strict=True)]
            weeks = self._compared(weeks, solve_all(parts))
            self.spent += SEARCHES * count * TRY_EFFORT
            self._report()

    def _compared(
        self, weeks: Sequence[tuple[Placed, ...]], found: Sequence[Part | None]
    ) -> list[tuple[Placed, ...]]:
        """Keep the best of the weeks found, and say from which each search goes on."""
        pinned = tuple(one for name, one in self.placed.items() if self.pours[name].pinned)
        after = [
            week if part is None else pinned + part.placed for week, part in zip(weeks, found, strict=True)
        ]
        costs = [cost_of_week(self.problem, {one.pour: one for one in week}) for week in after]
        best = min(range(len(after)), key=costs.__getitem__)
        if costs[best] < self.cost:
            self.cost, self.placed = costs[best], {one.pour: one for one in after[best]}
        bar = (1 + BEHIND) * costs[best]
        return [week if cost <= bar else after[best] for week, cost in zip(after, costs, strict=True)]

    # --- rounds

    def rounds(self, solve_all: SolveAll) -> None:
        while self._go_on():
            frees = [self._choose() for _ in range(PARTS_A_ROUND)]
            parts = [Subweek(self.problem, tuple(self.placed.values()), free) for free in frees]
            for free, part in zip(frees, solve_all(parts), strict=True):
                self._settle(free, part)
            self.done += 1
            self._report()

    def _go_on(self) -> bool:
        return self.spent < self.effort and not self.stopped and self.cost > self.bound

    def _settle(self, free: Sequence[str], part: Part | None) -> None:
        """Take a part's answer if it still fits after the others', and learn how large parts may be."""
        self.spent += BUILD_EFFORT + (SOLVER_EFFORT * part.effort if part else PART_EFFORT)
        quick = part is not None and part.proven
        self.size = min(MOST, self.size * 1.05) if quick else max(FEWEST, self.size * 0.9)
        if part is not None:
            self._accept(part, free)

    def _accept(self, part: Part, free: Sequence[str]) -> None:
        before = {name: self.placed[name] for name in free if name in self.placed}
        for name in before:
            self.board.lift(name)
        fits = all(self._put(placed) for placed in part.placed)
        after = cost_of_week(self.problem, self.board.placed)
        if fits and after <= self.cost:
            self.cost, self.placed = after, dict(self.board.placed)
            return
        for placed in part.placed:
            if placed.pour in self.board.placed:
                self.board.lift(placed.pour)
        for placed in before.values():
            self.board.put(placed)

    def _put(self, placed: Placed) -> bool:
        if not self.board.fits(placed):
            return False
        self.board.put(placed)
        return True

    # --- what to set free

    def _choose(self) -> tuple[str, ...]:
        size = max(2, round(self.size))
        ways = (self._around_a_pour, self._around_a_pour, self._of_a_day, self._anywhere)
        chosen = self.draw.choice(ways)(size)
        return tuple(dict.fromkeys(chosen))

    def _regret(self, name: str) -> int:
        return self._costs(name) - self.least[name]

    def _costs(self, name: str) -> int:
        placed = self.placed.get(name)
        if placed is None:
            return self.problem.weights.left_out
        return cost_of_placed(self.problem, self.pours[name], placed)

    def _around_a_pour(self, size: int) -> list[str]:
        """A pour that could be cheaper, and those near in time to one of its cheaper starts."""
        weights = [1 + min(400, self._regret(name)) for name in self.names]
        (name,) = self.draw.choices(self.names, weights)
        one = self.board.ask(name)
        if not one.options:
            return self._anywhere(size)
        wish = one.options[self.draw.choice(one.cheap)]
        near = [other for other in self.names if other in self.placed and other != name]
        spread = 24 * self.draw.random()
        key = {
            other: abs(self.placed[other].option.start - wish.start)
            + spread * self.draw.random()
            - 8 * (self.placed[other].crew in one.crew_cost)
            for other in near
        }
        return [name, *sorted(near, key=lambda other: key[other])[: size - 1]]

    def _of_a_day(self, size: int) -> list[str]:
        """Pours of two days, of crews drawn by lot, until there are enough."""
        days = sorted({placed.option.day for placed in self.placed.values()})
        chosen = set(self.draw.sample(days, min(2, len(days))))
        crews = [crew.name for crew in self.problem.crews]
        self.draw.shuffle(crews)
        rank = {crew: number for number, crew in enumerate(crews)}
        there = [n for n in self.names if n in self.placed and self.placed[n].option.day in chosen]
        missing = [n for n in self.names if n not in self.placed]
        self.draw.shuffle(missing)
        there.sort(key=lambda name: (rank[self.placed[name].crew], name))
        return [*missing[:2], *there][:size]

    def _anywhere(self, size: int) -> list[str]:
        return self.draw.sample(self.names, min(size, len(self.names)))

    # --- the answer

    def proposal(self) -> Proposal:
        self._look_over()
        placed = self._in_order()
        return Proposal(
            placed=placed,
            left_out=tuple(name for name in self.pours if name not in self.placed),
            cost=self.cost,
            bound=min(self.bound, self.cost),
            proven=self.proven or self.cost <= self.bound,
            greedy_cost=self.greedy_cost,
            greedy_only=self.cost == self.greedy_cost,
            failed=self.failed,
            effort=round(self.spent, 3),
            rounds=self.done,
            conflicts=conflicts_in(self.problem, placed, UTC),
            shortages=why_left_out(self.problem, placed),
        )

    def _in_order(self) -> tuple[Placed, ...]:
        return tuple(self.placed[name] for name in self.pours if name in self.placed)

    def _look_over(self) -> None:
        """Fall back on the greedy week should the best one not pass the conflict finder."""
        found = conflicts_in(self.problem, self._in_order(), UTC)
        if any(not self.pours[name].pinned for conflict in found for name in conflict.pours):
            self.placed, self.failed = dict(self.first), True
            self.cost = cost_of_week(self.problem, self.placed)
