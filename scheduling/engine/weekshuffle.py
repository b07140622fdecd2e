"""Better a week by lifting a few pours off the board and putting each back where it is cheapest.

Ruin and recreate, after Schrimpf, Schneider, Stamm-Wilbrandt and Dueck (2000): a few thousand tries a second,
each a handful of pours that stand in each other's way. A try that makes the week a little dearer is kept for
a while, less and less so as the tries run out.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from scheduling.engine.weekboard import Board
from scheduling.engine.weekproblem import Placed, cost_of_placed

FEWEST, MOST = 2, 9  # pours lifted in a try: our choice
FIRST_SLACK, LAST_SLACK = 3.6, 0.012  # how many pours' mean cost above the best a week is kept: our choice
NEAR = 24  # slots by which nearness in time is blurred by lot: our choice
SAME_CREW = 8  # slots that a pour counts as nearer whose crew could serve the other: our choice
ANYWHERE = 0.15  # share of tries with pours from all over the week: our choice
NOWHERE = 1 << 20  # the start of a pour that is left out: near nothing


class Shuffle:
    """A board being bettered; `best` is the cheapest week seen."""

    def __init__(self, board: Board, least: Mapping[str, int], draw: random.Random) -> None:
        self.board, self.least, self.draw = board, least, draw
        self.names = [name for name, pour in board.pours.items() if not pour.pinned]
        self.index = {name: index for index, name in enumerate(self.names)}
        self.left_out = board.problem.weights.left_out
        self.costs = {name: self._cost(board.placed.get(name)) for name in self.names}
        self.cost = sum(self.costs.values())
        self.best_cost, self.best = self.cost, dict(board.placed)
        self.crews = {crew.name: number for number, crew in enumerate(board.problem.crews)}
        self.lots = np.random.default_rng(draw.getrandbits(64))
        self.start = np.full(len(self.names), NOWHERE)
        self.crew = np.full(len(self.names), len(self.crews))
        self.weights = [1] * len(self.names)
        self.nearer = np.zeros((len(self.names), len(self.crews) + 1))
        for name, index in self.index.items():
            self.nearer[index, [self.crews[crew] for crew in board.ask(name).crew_cost]] = SAME_CREW
        self._note(self.names)

    def _cost(self, placed: Placed | None) -> int:
        return (
            self.left_out
            if placed is None
            else cost_of_placed(self.board.problem, self.board.pours[placed.pour], placed)
        )

    def _note(self, names: Sequence[str]) -> None:
        """Keep beside the board what the choice of pours goes by."""
        for name in names:
            index, placed = self.index[name], self.board.placed.get(name)
            self.start[index] = NOWHERE if placed is None else placed.option.start
            self.crew[index] = len(self.crews) if placed is None else self.crews[placed.crew]
            self.weights[index] = 1 + min(300, self.costs[name] - self.least[name])

    def tries(self, count: int, slack: float) -> None:
        """Make so many tries, keeping weeks dearer than the best by at most `slack` pours' mean cost."""
        for _ in range(count):
            self._try(self.best_cost * (1 + slack / len(self.names)))

    def _try(self, bar: float) -> None:
        names = self._together()
        costs = {name: self.costs[name] for name in names}
        rest = self.cost - sum(costs.values())
        before = self.board.lift_for_a_try(names)
        after = self._put_back(names, bar - rest)
        if after is None:
            self.board.undo_try(names, before)
            self.costs |= costs
            return
        self.board.keep_try()
        self.cost = rest + after
        self._note(names)
        if self.cost < self.best_cost:
            self.best_cost, self.best = self.cost, dict(self.board.placed)

    def _put_back(self, names: Sequence[str], bar: float) -> int | None:
        """What the pours cost where they are put; None as soon as it must come above the bar."""
        total = sum(self.least[name] for name in names)
        for name in self._order(names):
            found = self.board.cheapest(name)
            if found is not None and found[0] <= self.left_out:
                self.board.put(found[1])
                self.costs[name] = found[0]
            else:
                self.costs[name] = self.left_out
            total += self.costs[name] - self.least[name]
            if total > bar:
                return None
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
        (name,) = draw.choices(self.names, self.weights)
        count = draw.randint(FEWEST, MOST) - 1
        blur = 1 << 10 if draw.random() < ANYWHERE else NEAR * draw.random()
        index = self.index[name]
        far = np.abs(self.start - self._wish(name)) + blur * self.lots.random(len(self.names))
        far -= self.nearer[index, self.crew]
        far[index] = 2 * NOWHERE
        nearest = far.argsort()[:count].tolist()
        return [name, *(self.names[other] for other in nearest if other != index)]

    def _wish(self, name: str) -> int:
        """One of the cheaper starts of a pour, drawn by lot; of one that is left out any."""
        one = self.board.ask(name)
        if not one.options:
            return 0
        if name not in self.board.placed:
            return self.draw.choice(one.options).start
        return one.options[self.draw.choice(one.cheap)].start


def slack_at(share: float) -> float:
    """How many pours' mean cost above the best a week may be kept after this share of all tries."""
    return FIRST_SLACK * (LAST_SLACK / FIRST_SLACK) ** share
