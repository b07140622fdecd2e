"""How many trucks keep a crew fed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from scheduling.engine.chance import Draws
from scheduling.engine.forecast import Floats
from scheduling.engine.queueing import Round, simulate
from scheduling.engine.stakes import crew_wait_min

WORTH_A_TRUCK_SHARE = 0.01  # our choice: of the pour's length that one more truck must save in crew waiting


@dataclass(frozen=True, slots=True)
class Fleet:
    """`enough` trucks keep the crew fed; one more saves it next to nothing.

    `crew_wait_min` is the crew's mean wait with 1, 2, ... up to `enough` trucks.
    """

    enough: int
    crew_wait_min: tuple[float, ...]


def fleet_for(asked_min: Floats, turn: Round, draws: Draws) -> Fleet:
    """Find the fewest trucks with which one more would save the crew next to no waiting.

    Parameters
    ----------
    asked_min : array of shape (loads,)
        A plan that suits any number of trucks; those that cannot keep to it come when they can.
    turn : Round
        Its own number of trucks does not count.
    draws : Draws

    Returns
    -------
    Fleet
    """
    waits = [_crew_wait(asked_min, turn, draws, 1)]
    for trucks in range(2, len(asked_min) + 1):
        wait, length = _crew_wait(asked_min, turn, draws, trucks)
        if waits[-1][0] - wait < WORTH_A_TRUCK_SHARE * length:
            break
        waits.append((wait, length))
    return Fleet(enough=len(waits), crew_wait_min=tuple(wait for wait, _ in waits))


def _crew_wait(asked_min: Floats, turn: Round, draws: Draws, trucks: int) -> tuple[float, float]:
    """The crew's mean wait and the pour's mean length."""
    paths = simulate(asked_min, replace(turn, trucks=trucks), draws)
    return float(crew_wait_min(paths).mean()), float(paths.end[-1].mean())
