"""When to ask for each load: the least expected cost of trucks, crew and concrete waiting for each other."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from scheduling.engine.chance import Draws
from scheduling.engine.descent import descend
from scheduling.engine.forecast import Floats
from scheduling.engine.queueing import Paths, Round, room_for, simulate
from scheduling.engine.slopes import Leanings, slopes_in_asked
from scheduling.engine.stakes import Stakes, eased_cost, mean_cost

FIRST_STEP_MIN = 2.0  # our choice
MOST_STEPS = 15  # our choice: from a good plan, the third digit of the cost stands still after ten


@dataclass(slots=True)
class Question:
    """One pour's trucks, its luck and what is at stake: everything but when the loads are asked for.

    The arrays are kept from one asking to the next.
    """

    turn: Round
    draws: Draws
    stakes: Stakes
    _paths: Paths = field(init=False)
    _lean: Leanings | None = None

    def __post_init__(self) -> None:
        self._paths = room_for(self.turn, self.draws)

    @property
    def loads(self) -> int:
        return len(self.turn.plant_min)

    def paths(self, asked_min: Floats) -> Paths:
        """What happens when asking so; good until the next asking."""
        return simulate(asked_min, self.turn, self.draws, self._paths)

    def share(self, every: int) -> Question:
        """The same on fewer days, one of so many."""
        return Question(self.turn, self.draws.share(every), self.stakes)

    def cost(self, asked_min: Floats) -> float:
        """Expected money, see `mean_cost`."""
        return mean_cost(self.paths(asked_min), self.draws, self.stakes)

    def eased(self, intervals_min: Floats) -> tuple[float, Floats]:
        """The eased mean cost of asking at these intervals, and its slopes in them."""
        asked = asked_from(intervals_min)
        paths = self.paths(asked)
        if self._lean is None:
            self._lean = Leanings(*(np.empty(paths.start.shape) for _ in range(4)))
        cost = eased_cost(paths, self.draws, self.stakes, self._lean)
        slopes = slopes_in_asked(asked, self.turn, self.draws, paths, self._lean)
        later = np.cumsum(slopes[::-1])[::-1][1:]  # a longer interval moves every load after it
        return cost / self.draws.days, later / self.draws.days


def asked_from(intervals_min: Floats) -> Floats:
    """When each load is asked for, from the intervals between them; the first at 0."""
    return np.concatenate(([0.0], np.cumsum(intervals_min)))


def best_intervals(question: Question, start_min: Floats) -> Floats:
    """Descend from these intervals to the nearest of least expected cost.

    Parameters
    ----------
    question : Question
    start_min : array of shape (loads - 1,)

    Returns
    -------
    array of shape (loads - 1,)
        None below 0. The same question and start give the same answer.

    Notes
    -----
    The mean over common days, descended by its own slopes.
    """
    return descend(question.eased, start_min, FIRST_STEP_MIN, MOST_STEPS)
