"""How a cost changes when a load is asked for a minute later, found by going back over what happened.

On any one day every moment is a sum of an asked arrival and things that took their time, chosen by
maxima; going back along the choices that were made gives the cost's slope in every asked arrival at
once (infinitesimal perturbation analysis, Ho and Cao 1983, doi:10.1007/BF00933971, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from scheduling.engine.chance import Draws
from scheduling.engine.forecast import Floats
from scheduling.engine.queueing import Ints, Paths, Round, exchange, send_order


@dataclass(slots=True)
class Leanings:
    """Slopes of the cost in each moment, by place in the line: arrays of shape (loads, days)."""

    batch: Floats
    arrive: Floats
    start: Floats
    end: Floats


def slopes_in_asked(asked_min: Floats, turn: Round, draws: Draws, paths: Paths, leanings: Leanings) -> Floats:
    """Carry slopes in what happened back to slopes in what was asked.

    Parameters
    ----------
    asked_min : array of shape (loads,)
    turn : Round
    draws : Draws
    paths : Paths
        What `simulate` made of these three.
    leanings : Leanings
        Used up: the arrays are changed.

    Returns
    -------
    array of shape (loads,)
        Summed over the days.
    """
    back = _WayBack(asked_min, turn, draws, paths, leanings)
    for place, left in reversed(send_order(len(asked_min), turn.trucks)):
        back.before_discharge(place)
        for load in reversed(left):
            back.before_line(load)
            back.before_sending(load)
    return back.slopes


@dataclass(slots=True)
class _WayBack:
    """`behind` and `plant` hold what the load sent after this one leans on its arrival and batching."""

    asked_min: Floats
    turn: Round
    draws: Draws
    paths: Paths
    lean: Leanings
    slopes: Floats = field(init=False)
    exchanged: list[tuple[int, int, Ints]] = field(init=False)
    behind: Floats | float = field(init=False)
    plant: Floats | float = field(init=False)

    def __post_init__(self) -> None:
        self.slopes = np.zeros(len(self.asked_min))
        self.exchanged = list(self.paths.exchanged)
        self.behind = self.plant = 0.0

    def before_discharge(self, place: int) -> None:
        """A discharge starts when its truck arrives or when the truck before is out of the way."""
        lean, paths = self.lean, self.paths
        start = lean.start[place] + lean.end[place]
        by_truck = start * (paths.start[place] == paths.arrive[place])
        lean.arrive[place] += by_truck
        if place:
            lean.end[place - 1] += start - by_truck

    def before_line(self, load: int) -> None:
        while self.exchanged and self.exchanged[-1][0] == load:
            _, place, days = self.exchanged.pop()
            exchange(self.lean.batch, place, days)
            exchange(self.lean.arrive, place, days)

    def before_sending(self, load: int) -> None:
        """A truck arrives in its own time or behind the one sent before it; it left when it could."""
        sent = self.paths.sent[load]
        arrive = self.lean.arrive[load] + self.behind
        alone = arrive * (self.paths.reached[load] == (sent + self.turn.lead_min) + self.draws.late_min[load])
        self.behind = arrive - alone
        self._before_batch(load, sent, self.lean.batch[load] + alone + self.plant)

    def _before_batch(self, load: int, sent: Floats, lean: Floats) -> None:
        """Batching begins as asked, when a truck is back, when the plant is free of the load before, or
        when it is free of other pours, which nothing asked for can change."""
        turn = self.turn
        as_asked = lean * (sent == self.asked_min[load] - turn.lead_min)
        self.slopes[load] = as_asked.sum()
        rest = lean - as_asked
        if turn.trucks is not None and load >= turn.trucks:
            emptied = load - turn.trucks
            by_fleet = rest * (sent == self.paths.end[emptied] + turn.back_min)
            self.lean.end[emptied] += by_fleet
            rest = rest - by_fleet
        self.plant = 0.0
        if load:
            self.plant = rest * (sent == self.paths.sent[load - 1] + turn.plant_min[load - 1])
