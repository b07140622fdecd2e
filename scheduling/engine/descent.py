"""Going downhill on a smooth cost of many numbers none of which may be below 0."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from scheduling.engine.forecast import Floats

Slope: TypeAlias = Callable[[Floats], tuple[float, Floats]]

REMEMBERED = 8  # steps whose change of slope is kept: usual for this method
ENOUGH_SHARE = 1e-4  # of the fall that the slope promises: usual for this method
SHORTEST = 1 / 64  # of a step
HARDLY = 1e-4  # a fall by less than this share of the cost is none: our choice


def descend(cost_and_slope: Slope, start: Floats, first_step: float, most_steps: int) -> Floats:
    """Go downhill from `start` until the cost hardly falls any more.

    Parameters
    ----------
    cost_and_slope : callable
        Takes an array and gives the cost with its slope in each entry.
    start : array of shape (n,)
        Nothing below 0.
    first_step : float
        How far the entry with the steepest slope moves at first.
    most_steps : int

    Returns
    -------
    array of shape (n,)
        Never dearer than `start`.

    Notes
    -----
    Limited-memory quasi-Newton, Nocedal 1980, doi:10.1090/S0025-5718-1980-0572855-7, each step cut
    off at 0. SciPy's L-BFGS-B finds the same, but lets a linear algebra library wake a thread for
    every processor on vectors of a dozen numbers, which takes three times as long as the cost itself.
    """
    here = start
    cost, slope = cost_and_slope(here)
    pairs: deque[tuple[Floats, Floats]] = deque(maxlen=REMEMBERED)
    for _ in range(most_steps):
        movable = (here > 0) | (slope < 0)
        downhill = -_newton(np.where(movable, slope, 0.0), pairs) * movable
        if not pairs:
            downhill *= first_step / max(float(np.abs(downhill).max(initial=0.0)), 1e-12)
        by_slope_alone = not pairs
        found = _step(cost_and_slope, here, cost, slope, downhill)
        fallen = cost - found[1] if found else 0.0
        if found:
            there, there_cost, there_slope = found
            moved, turned = there - here, there_slope - slope
            if float(moved @ turned) > 0:
                pairs.append((moved, turned))
            here, cost, slope = there, there_cost, there_slope
        if fallen < HARDLY * abs(cost):
            if by_slope_alone:
                break
            pairs.clear()  # cut off at 0, what they promise may lead nowhere: try the slope alone once more
    return here


def _newton(slope: Floats, pairs: deque[tuple[Floats, Floats]]) -> Floats:
    """The slope times the inverse curvature that the remembered steps have shown."""
    steep = slope.copy()
    shares = []
    for moved, turned in reversed(pairs):
        share = float(moved @ steep) / float(moved @ turned)
        steep -= share * turned
        shares.append(share)
    if pairs:
        moved, turned = pairs[-1]
        steep *= float(moved @ turned) / float(turned @ turned)
    for (moved, turned), share in zip(pairs, reversed(shares), strict=True):
        steep += (share - float(turned @ steep) / float(moved @ turned)) * moved
    return steep


def _step(
    cost_and_slope: Slope, here: Floats, cost: float, slope: Floats, downhill: Floats
) -> tuple[Floats, float, Floats] | None:
    """The longest step of halving length on which the cost falls as it should; None when none does."""
    share = 1.0
    while share >= SHORTEST:
        there = np.maximum(0.0, here + share * downhill)
        promised = float(slope @ (there - here))
        there_cost, there_slope = cost_and_slope(there)
        if promised < 0 and there_cost <= cost + ENOUGH_SHARE * promised:
            return there, there_cost, there_slope
        share /= 2
    return None
