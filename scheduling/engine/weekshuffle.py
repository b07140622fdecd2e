"""Better a week by lifting a few pours off the board and putting each back where it is cheapest.

Ruin and recreate, after Schrimpf, Schneider, Stamm-Wilbrandt and Dueck (2000): thousands of tries a minute,
each a handful of pours that stand in each other's way. A try that makes the week a little dearer is kept for
a while, less and less so as the tries run out.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence

from scheduling.engine.weekboard import Board
from scheduling.engine.weekproblem import Placed, cost_of_placed

FEWEST, MOST = 2, 9  # pours lifted in a try: our choice
FIRST_SLACK, LAST_SLACK = 0.010, 0.0002  # how much dearer than the best a week may be kept: our choice
NEAR = 24  # slots by which nearness in time is blurred by lot: our choice


class Shuffle:
    """A board being bettered; `best` is the cheapest week seen."""

    def __init__(self, board: Board, least: Mapping[str, int], draw: random.Random) -> None:
        self.board, self.least, self.draw = board, least, draw
        self.names = [name for name, pour in board.pours.items() if not pour.pinned]
        self.left_out = board.problem.weights.left_out
        self.costs = {name: self._cost(board.placed.get(name)) for name in self.names}
        self.cost = sum(self.costs.values())
        self.best_cost, self.best = self.cost, dict(board.placed)

    def _cost(self, placed: Placed | None) -> int:
        return (
            self.left_out
            if placed is None
            else cost_of_placed(self.board.problem, self.board.pours[placed.pour], placed)
        )

    def tries(self, count: int, slack: float) -> None:
        """Make so many tries, keeping weeks at most `slack` of the best cost dearer than it."""
        for _ in range(count):
            self._try(self.best_cost * (1 + slack))

    def _try(self, bar: float) -> None:
        names = self._together()
        before = [self.board.placed[name] for name in names if name in self.board.placed]
        costs = {name: self.costs[name] for name in names}
        for placed in before:
            self.board.lift(placed.pour)
        change = self._put_back(names) - sum(costs.values())
        if self.cost + change <= bar:
            self._keep(change)
            return
        for name in names:
            if name in self.board.placed:
                self.board.lift(name)
        for placed in before:
            self.board.put(placed)
        self.costs |= costs

    def _keep(self, change: int) -> None:
        self.cost += change
        if self.cost < self.best_cost:
            self.best_cost, self.best = self.cost, dict(self.board.placed)

    def _put_back(self, names: Sequence[str]) -> int:
        total = 0
        for name in self._order(names):
            found = self.board.cheapest(name)
            if found is not None and found[0] <= self.left_out:
                self.board.put(found[1])
                self.costs[name] = found[0]
            else:
                self.costs[name] = self.left_out
            total += self.costs[name]
        return total

    def _order(self, names: Sequence[str]) -> Sequence[str]:
        """By lot, or those first that stood to lose most, or those that have least choice."""
        draw = self.draw
        keys: tuple[Callable[[str], float], ...] = (
            lambda _: draw.random(),
            lambda name: -(self.costs[name] - self.least[name]) * draw.uniform(0.5, 1.5),
            lambda name: len(self.board.ask(name).options) * draw.uniform(0.5, 1.5),
        )
        return sorted(names, key=draw.choice(keys))

    def _together(self) -> list[str]:
        """A pour that could be cheaper, with those that lie near one of the starts it would rather have."""
        draw = self.draw
        weights = [1 + min(300, self.costs[name] - self.least[name]) for name in self.names]
        (name,) = draw.choices(self.names, weights)
        count = draw.randint(FEWEST, MOST) - 1
        others = [other for other in self.names if other != name and other in self.board.placed]
        if draw.random() < 0.15:
            return [name, *draw.sample(others, min(count, len(others)))]
        return [name, *self._near(name, others)[:count]]

    def _near(self, name: str, others: Sequence[str]) -> list[str]:
        one, placed = self.board.ask(name), self.board.placed
        start = self._wish(name)
        blur = NEAR * self.draw.random()
        key = {
            other: abs(placed[other].option.start - start)
            + blur * self.draw.random()
            - (8 if placed[other].crew in one.crew_cost else 0)
            for other in others
        }
        return sorted(others, key=key.__getitem__)

    def _wish(self, name: str) -> int:
        """One of the cheaper starts of a pour, drawn by lot."""
        one = self.board.ask(name)
        if not one.options:
            return 0
        cheap = one.cheap
        return one.options[cheap[self.draw.randrange(len(cheap))]].start


def slack_at(share: float) -> float:
    """How much dearer a week may be kept after this share of all tries."""
    return FIRST_SLACK * (LAST_SLACK / FIRST_SLACK) ** share
