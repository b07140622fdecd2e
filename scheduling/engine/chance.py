"""Seeded days on which trucks and people strayed from the plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import Uncertainty, require_positive
from scheduling.engine.rounds import check_loads, unload_min

Bools: TypeAlias = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Draws:
    """Days that may come, a column each; a row is a load in the order they are sent.

    `unload_min` was drawn about `planned_min`, the standard deviation of its logarithm `unload_sd`.
    `overtakes` says whether a truck that is faster than the one sent before it can pass it; None
    where none ever can.
    """

    late_min: Floats
    unload_min: Floats
    planned_min: tuple[float, ...]
    unload_sd: float
    overtakes: Bools | None = None

    @property
    def days(self) -> int:
        return self.unload_min.shape[1]

    def share(self, every: int) -> Draws:
        """One day of so many."""
        overtakes = None if self.overtakes is None else self.overtakes[:, ::every].copy()
        late, unload = (rows[:, ::every].copy() for rows in (self.late_min, self.unload_min))
        return replace(self, late_min=late, unload_min=unload, overtakes=overtakes)


def draw_days(
    loads_m3: Sequence[float],
    rate_m3_h: float,
    haul_min: float,
    uncertainty: Uncertainty,
    days: int,
    seed: int,
) -> Draws:
    """Draw days on which these loads are brought and placed.

    Parameters
    ----------
    loads_m3 : sequence of float
        Volumes in the order they are sent.
    rate_m3_h : float
        How fast the crew empties a truck on average.
    haul_min : float
        A truck is never earlier than this.
    uncertainty : Uncertainty
    days : int
    seed : int
        The same seed gives the same luck, whatever the uncertainty: plans are compared on equal days.

    Returns
    -------
    Draws
        Arrays of shape (loads, days).

    Raises
    ------
    BadInput
        No loads, a volume, rate or number of days that is not positive.
    """
    check_loads(loads_m3, rate_m3_h)
    require_positive("days", days)
    shape = (len(loads_m3), days)
    luck = np.random.default_rng(seed)
    late_chance, unload_chance = _even_chances(luck, shape), _even_chances(luck, shape)
    planned = tuple(unload_min(m3, rate_m3_h) for m3 in loads_m3)
    unload_sd = math.sqrt(math.log1p(uncertainty.unload_cv**2))
    factor = np.exp(unload_sd * ndtri(unload_chance) - unload_sd**2 / 2)
    passing = uncertainty.overtaking_chance
    return Draws(
        late_min=np.maximum(_lateness(late_chance, uncertainty), -haul_min),
        unload_min=np.array(planned)[:, None] * factor,
        planned_min=planned,
        unload_sd=unload_sd,
        overtakes=luck.random(shape) < passing if passing > 0 else None,
    )


def _even_chances(luck: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Draw chances between 0 and 1 that lie evenly along each row, in an order of their own.

    Latin hypercube sampling, McKay, Beckman and Conover 1979, doi:10.2307/1268522: each load has its
    full share of good and bad days, so that few days tell as much as many.
    """
    days = shape[1]
    places = luck.permuted(np.broadcast_to(np.arange(days, dtype=float), shape), axis=1)
    return (places + luck.random(shape)) / days


def _lateness(chance: Floats, uncertainty: Uncertainty) -> Floats:
    """Turn even chances into minutes late: the inverse of the cut-off normal's distribution."""
    mean, sd = uncertainty.late_mean_min, uncertainty.late_sd_min
    earliest, latest = uncertainty.earliest_min, uncertainty.latest_min
    if sd == 0:
        return np.full(chance.shape, mean)
    if math.isinf(sd):
        return earliest + chance * (latest - earliest)
    below, above = ndtr((earliest - mean) / sd), ndtr((latest - mean) / sd)
    within: Floats = mean + sd * ndtri(below + chance * (above - below))
    return np.clip(within, earliest, latest)
