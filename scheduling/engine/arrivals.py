"""When to ask for each load: the least expected cost of trucks, crew and concrete waiting for each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from scheduling.engine.chance import Bools, Draws
from scheduling.engine.costs import Costs, TruckWaitRule, fees_for, free_minutes
from scheduling.engine.descent import descend
from scheduling.engine.forecast import Floats
from scheduling.engine.queueing import Ints, Paths, Round, room_for, simulate
from scheduling.engine.rounds import NOISE_MIN
from scheduling.engine.slopes import Leanings, slopes_in_asked

# A gap is a cold joint or not. To find its way the search lets that come on evenly over so many minutes
# either side of the limit, and takes no unloading for surer than this; what a plan costs is always told
# without either. Our choice.
EASED_MIN = 5.0
EASED_SD = 0.1
SURE_SD = 4.0  # a discharge hardly ever lasts longer than this many deviations: 3 in 100,000
FIRST_STEP_MIN = 2.0  # our choice
MOST_STEPS = 15  # our choice: from a good plan, the third digit of the cost stands still after ten


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


# --- what a plan costs ------------------------------------------------------------------------


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


def minutes_over_free(paths: Paths, stakes: Stakes) -> Floats:
    """Minutes on site beyond the free ones, below 0 within them."""
    over: Floats = paths.end - paths.arrive
    over -= in_line(paths, stakes.free_min)
    return over


def in_line(paths: Paths, by_load: tuple[float, ...]) -> Floats | float:
    """What holds of each load, by place in the line; one number where all are alike."""
    return by_load[0] if len(set(by_load)) == 1 else paths.in_line(by_load)


def mean_cost(paths: Paths, draws: Draws, stakes: Stakes) -> float:
    """Expected money lost to waiting, charges, dead loads, cold joints and overtime."""
    over = minutes_over_free(paths, stakes)
    late = np.maximum(0.0, paths.end[-1] - stakes.overtime_from_min)
    cost = (
        stakes.crew_per_min * crew_wait_min(paths).sum()
        + stakes.truck_per_min * (paths.start.sum() - paths.arrive.sum())
        + fees_for(stakes.truck_wait, over[over > 0]).sum()
        + stakes.rejected_load * _expected_dead(paths, draws, stakes)
        + stakes.cold_joint * cold_joints(paths, stakes.cold_joint_min).sum()
        + stakes.overtime_per_min * late.sum()
    )
    return float(cost) / draws.days


def _expected_dead(paths: Paths, draws: Draws, stakes: Stakes) -> float:
    """Dead loads of all days together.

    A dead load is rare and dear, so it is not counted but expected: from when its discharge
    starts, how likely is it to last too long?
    """
    if draws.unload_sd == 0:
        return float(dead_loads(paths, stakes.age_limit_min).sum())
    return float(_outliving(paths, draws, stakes.age_limit_min, draws.unload_sd).chance.sum())


class _Outliving(NamedTuple):
    """Where a discharge may outlast its load's limit, how likely, and how much more so for each minute."""

    where: tuple[Ints, ...]
    chance: Floats
    per_min: Floats


def _outliving(paths: Paths, draws: Draws, age_limit_min: float, unload_sd: float) -> _Outliving:
    planned = in_line(paths, draws.planned_min)
    left: Floats = paths.batch - paths.start
    left += age_limit_min
    where = np.nonzero(left < planned * math.exp(SURE_SD * unload_sd))
    mean = planned[where] if isinstance(planned, np.ndarray) else planned
    share = np.maximum(left[where] / mean, 1e-9)
    deviation = np.log(share) / unload_sd + unload_sd / 2
    density = np.exp(-(deviation**2) / 2) / math.sqrt(2 * math.pi)
    return _Outliving(where, ndtr(-deviation), density / (unload_sd * share * mean))


def eased_cost(paths: Paths, draws: Draws, stakes: Stakes, lean: Leanings) -> float:
    """The cost with its jumps eased, summed over the days; `lean` takes its slopes in every moment."""
    late = paths.end[-1] - stakes.overtime_from_min
    cost = stakes.crew_per_min * crew_wait_min(paths).sum()
    cost += stakes.truck_per_min * (paths.start.sum() - paths.arrive.sum())
    cost += stakes.overtime_per_min * np.maximum(late, 0.0).sum()

    lean.end.fill(stakes.truck_per_min)
    cost += _charged(minutes_over_free(paths, stakes), stakes.truck_wait, lean.end)
    np.negative(lean.end, out=lean.arrive)
    lean.batch.fill(0.0)
    lean.start.fill(0.0)

    dead = _outliving(paths, draws, stakes.age_limit_min, max(draws.unload_sd, EASED_SD))
    cost += stakes.rejected_load * dead.chance.sum()
    lean.start[dead.where] += stakes.rejected_load * dead.per_min
    lean.batch[dead.where] -= stakes.rejected_load * dead.per_min
    gaps = gaps_min(paths) - stakes.cold_joint_min
    cost += _eased(gaps, stakes.cold_joint, lean.start[1:], lean.end[:-1])
    lean.end[-1] += stakes.crew_per_min + stakes.overtime_per_min * (late > 0)
    return float(cost)


def _charged(over_min: Floats, rule: TruckWaitRule, on_site: Floats) -> float:
    """What the minutes over cost if every part of one counts; adds its slope to `on_site`."""
    per_min = rule.price / rule.block_min
    charged = np.flatnonzero(over_min > 0)
    on_site.reshape(-1)[charged] += per_min
    return per_min * float(over_min.reshape(-1)[charged].sum())


def _eased(beyond_min: Floats, price: float, later: Floats, earlier: Floats) -> float:
    """A price that comes on evenly from `EASED_MIN` before a limit to as much after.

    What lies beyond is the time from an earlier to a later moment; their slopes are added to.
    Few loads come near a limit, so only those are looked at.
    """
    near = np.nonzero(beyond_min > -EASED_MIN)
    share = np.minimum(beyond_min[near] / (2 * EASED_MIN) + 0.5, 1.0)
    slope = (price / (2 * EASED_MIN)) * (share < 1.0)
    later[near] += slope
    earlier[near] -= slope
    return price * float(share.sum())


# --- the best of all plans --------------------------------------------------------------------


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
