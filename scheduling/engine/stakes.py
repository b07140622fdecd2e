"""What a day with trucks is charged for: waiting, fees, dead loads, cold joints and overtime."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from scheduling.engine.chance import Bools, Draws
from scheduling.engine.costs import fees_for, free_minutes
from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import Costs, TruckWaitRule
from scheduling.engine.queueing import Ints, Paths
from scheduling.engine.rounds import NOISE_MIN
from scheduling.engine.slopes import Leanings

# A gap is a cold joint or not. To find its way the search lets that come on evenly over so many minutes
# either side of the limit, and takes no unloading for surer than this; what a plan costs is always told
# without either. Our choice.
EASED_MIN = 5.0
EASED_SD = 0.1
BLOCK = 24_000  # loads times days: measured, larger blocks fall out of the processor's cache
SURE_SD = 4.0  # a discharge hardly ever lasts longer than this many deviations: 3 in 100,000


@dataclass(frozen=True, slots=True)
class Stakes:
    """What a day is charged for, per minute and per event, with the limits it is held to.

    `free_min` are the minutes on site that each load is not charged for, in the order sent.
    `overtime_from_min` counts from the first asked arrival; None where no overtime is paid.
    """

    crew_per_min: float
    truck_per_min: float
    truck_wait: TruckWaitRule
    free_min: tuple[float, ...]
    rejected_load: float
    cold_joint: float
    age_limit_min: float
    cold_joint_min: float
    overtime_per_min: float = 0.0
    overtime_from_min: float = math.inf


def stakes_for(
    loads_m3: Sequence[float],
    costs: Costs,
    age_limit_min: float,
    cold_joint_min: float,
    starts_at: datetime,
) -> Stakes:
    """Put costs and limits together for these loads, the first of them asked for at `starts_at`."""
    overtime_from = math.inf
    if costs.overtime_from_at is not None:
        overtime_from = (costs.overtime_from_at - starts_at.astimezone(UTC)) / timedelta(minutes=1)
    return Stakes(
        crew_per_min=costs.crew_per_h / 60,
        truck_per_min=costs.truck_per_h / 60,
        truck_wait=costs.truck_wait,
        free_min=tuple(free_minutes(costs.truck_wait, m3) for m3 in loads_m3),
        rejected_load=costs.rejected_load,
        cold_joint=costs.cold_joint,
        age_limit_min=age_limit_min,
        cold_joint_min=cold_joint_min,
        overtime_per_min=costs.overtime_per_h / 60,
        overtime_from_min=overtime_from,
    )


# --- what happened on every day ---------------------------------------------------------------


def gaps_min(paths: Paths) -> Floats:
    """Minutes from the end of each discharge to the start of the next, shape (loads - 1, days)."""
    return paths.start[1:] - paths.end[:-1]


def ages_min(paths: Paths) -> Floats:
    """Age of each load at the end of its discharge, by place in the line."""
    return paths.end - paths.batch


def dead_loads(paths: Paths, age_limit_min: float) -> Bools:
    """Where a load outlives its limit, by place in the line; exactly the limit is good."""
    return ages_min(paths) > age_limit_min + NOISE_MIN


def cold_joints(paths: Paths, cold_joint_min: float) -> Bools:
    """Where a gap is longer than the concrete placed before it stands, shape (loads - 1, days)."""
    return gaps_min(paths) > cold_joint_min + NOISE_MIN


def crew_wait_min(paths: Paths) -> Floats:
    """Minutes the crew stands from the first asked arrival to the last discharge, shape (days,)."""
    return paths.end[-1] - paths.unload.sum(axis=0)


# --- what that costs --------------------------------------------------------------------------


def mean_cost(paths: Paths, draws: Draws, stakes: Stakes) -> float:
    """Expected money lost to waiting, charges, dead loads, cold joints and overtime."""
    bill = _Bill(paths, draws, stakes)
    return (bill.crew() + sum(bill.at(places) for places in bill.blocks())) / draws.days


def mean_fees(paths: Paths, stakes: Stakes) -> float:
    """Expected money a day that the supplier charges for trucks kept on site."""
    over = paths.end - paths.arrive - _in_line(paths, stakes.free_min)
    return float(fees_for(stakes.truck_wait, over).sum()) / over.shape[1]


def eased_cost(paths: Paths, draws: Draws, stakes: Stakes, lean: Leanings) -> float:
    """The cost with its jumps eased, summed over the days; `lean` takes its slopes in every moment."""
    bill = _Bill(paths, draws, stakes)
    cost = sum(bill.eased_at(places, lean) for places in bill.blocks())
    overtime = paths.end[-1] > stakes.overtime_from_min
    lean.end[-1] += stakes.crew_per_min + stakes.overtime_per_min * overtime
    return bill.crew() + cost


class _Outliving(NamedTuple):
    """Where a discharge may outlast its load's limit, how likely, and how much more so each minute."""

    where: Ints
    chance: Floats
    per_min: Floats


@dataclass(slots=True)
class _Bill:
    """Money of all days together, some places of the line at a time; indices run over a block's cells."""

    paths: Paths
    draws: Draws
    stakes: Stakes
    free: Floats | float = field(init=False)
    planned: Floats | float = field(init=False)

    def __post_init__(self) -> None:
        self.free = _in_line(self.paths, self.stakes.free_min)
        self.planned = _in_line(self.paths, self.draws.planned_min)

    def blocks(self) -> list[slice]:
        """The places in the line, as many at a time as a processor keeps at hand."""
        places, step = len(self.paths.start), max(1, BLOCK // self.draws.days)
        return [slice(first, min(first + step, places)) for first in range(0, places, step)]

    def crew(self) -> float:
        stakes, end = self.stakes, self.paths.end[-1]
        overtime = np.maximum(0.0, end - stakes.overtime_from_min).sum()
        waited = end.sum() - self.paths.unload.sum()
        return float(stakes.crew_per_min * waited + stakes.overtime_per_min * overtime)

    def at(self, places: slice) -> float:
        over = self._over(places)
        fees = fees_for(self.stakes.truck_wait, over[np.flatnonzero(over > 0)]).sum()
        dead = self.stakes.rejected_load * self._dead(places)
        joints = self.stakes.cold_joint * int(np.count_nonzero(self._beyond(places) > NOISE_MIN))
        return self._standing(places) + float(fees) + dead + joints

    def eased_at(self, places: slice, lean: Leanings) -> float:
        lean.start[places].fill(0.0)
        lean.batch[places].fill(0.0)
        lean.end[places].fill(self.stakes.truck_per_min)
        cost = self._standing(places) + self._eased_fees(places, lean)
        np.negative(lean.end[places], out=lean.arrive[places])
        return cost + self._eased_dead(places, lean) + self._eased_joints(places, lean)

    # --- trucks that stand --------------------------------------------------------------------

    def _standing(self, places: slice) -> float:
        waited = self.paths.start[places].sum() - self.paths.arrive[places].sum()
        return self.stakes.truck_per_min * float(waited)

    def _over(self, places: slice) -> Floats:
        """Minutes on site beyond the free ones, below 0 within them."""
        over: Floats = self.paths.end[places] - self.paths.arrive[places]
        over -= _of(self.free, places)
        return over.reshape(-1)

    def _eased_fees(self, places: slice, lean: Leanings) -> float:
        """As if every part of a minute counted."""
        per_min = self.stakes.truck_wait.price / self.stakes.truck_wait.block_min
        over = self._over(places)
        charged = np.flatnonzero(over > 0)
        lean.end[places].reshape(-1)[charged] += per_min
        return per_min * float(over[charged].sum())

    # --- loads that die -----------------------------------------------------------------------

    def _dead(self, places: slice) -> float:
        """Dead loads of all days. They are rare and dear, so they are not counted but expected: from when
        its discharge starts, how likely is it to last too long?"""
        if self.draws.unload_sd > 0:
            return float(self._outliving(places, self.draws.unload_sd).chance.sum())
        ages = self.paths.end[places] - self.paths.batch[places]
        return float(np.count_nonzero(ages > self.stakes.age_limit_min + NOISE_MIN))

    def _outliving(self, places: slice, sd: float) -> _Outliving:
        planned = _of(self.planned, places)
        left: Floats = self.paths.batch[places] - self.paths.start[places]
        left += self.stakes.age_limit_min
        where = np.flatnonzero(left < planned * math.exp(SURE_SD * sd))
        mean = planned.reshape(-1)[where] if isinstance(planned, np.ndarray) else planned
        share = np.maximum(left.reshape(-1)[where] / mean, 1e-9)
        deviation = np.log(share) / sd + sd / 2
        density = np.exp(-(deviation**2) / 2) / math.sqrt(2 * math.pi)
        return _Outliving(where, ndtr(-deviation), density / (sd * share * mean))

    def _eased_dead(self, places: slice, lean: Leanings) -> float:
        price = self.stakes.rejected_load
        dead = self._outliving(places, max(self.draws.unload_sd, EASED_SD))
        lean.start[places].reshape(-1)[dead.where] += price * dead.per_min
        lean.batch[places].reshape(-1)[dead.where] -= price * dead.per_min
        return price * float(dead.chance.sum())

    # --- gaps ---------------------------------------------------------------------------------

    def _beyond(self, places: slice) -> Floats:
        """Minutes that the gap before each place is over its limit; there is none before the first."""
        later, earlier = _after_and_before(places)
        gap: Floats = self.paths.start[later] - self.paths.end[earlier]
        gap -= self.stakes.cold_joint_min
        return gap.reshape(-1)

    def _eased_joints(self, places: slice, lean: Leanings) -> float:
        """A joint that comes on evenly from `EASED_MIN` before the limit to as much after."""
        price, beyond = self.stakes.cold_joint, self._beyond(places)
        near = np.flatnonzero(beyond > -EASED_MIN)
        share = np.minimum(beyond[near] / (2 * EASED_MIN) + 0.5, 1.0)
        slope = (price / (2 * EASED_MIN)) * (share < 1.0)
        later, earlier = _after_and_before(places)
        lean.start[later].reshape(-1)[near] += slope
        lean.end[earlier].reshape(-1)[near] -= slope
        return price * float(share.sum())


def _after_and_before(places: slice) -> tuple[slice, slice]:
    """The places that have a gap before them, and those on its other side."""
    first = max(1, places.start)
    return slice(first, places.stop), slice(first - 1, places.stop - 1)


def _in_line(paths: Paths, by_load: tuple[float, ...]) -> Floats | float:
    """What holds of each load, by place in the line on every day; one number where all are alike."""
    return by_load[0] if len(set(by_load)) == 1 else paths.in_line(by_load)


def _of(values: Floats | float, places: slice) -> Floats | float:
    return values[places] if isinstance(values, np.ndarray) else values
