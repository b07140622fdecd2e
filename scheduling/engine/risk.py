"""What a plan of trucks may come to: waits, dead loads, cold joints and the finish, as chances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduling.engine.chance import Bools, Draws
from scheduling.engine.forecast import Floats
from scheduling.engine.queueing import Paths
from scheduling.engine.stakes import (
    Stakes,
    ages_min,
    cold_joints,
    crew_wait_min,
    dead_loads,
    gaps_min,
    mean_cost,
    mean_fees,
)

HIGH = 0.9  # "at most so much on nine days of ten"
SPREAD = (0.05, 0.95)  # nine days of ten lie between


@dataclass(frozen=True, slots=True)
class LoadRisk:
    """One place in the line at the site, the first to discharge first.

    `p90` is what is not exceeded on nine days of ten. `start_mean_min` counts from the first asked
    arrival, age from water meeting cement to the end of discharge.
    """

    number: int
    wait_mean_min: float
    wait_p90_min: float
    start_mean_min: float
    age_mean_min: float
    age_p90_min: float
    dead_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryRisk:
    """What to expect of a plan, over many days that may come.

    Waits are per truck, and for all trucks of a day together; the crew's from the first asked
    arrival to the last discharge. `any_dead_chance` is how likely at least one load outlives its
    limit, `cold_joint_chance` how likely at least one gap is too long, `gap_p90_min` the day's
    longest gap. The finish counts from the first asked arrival; nine days of ten lie between
    `finish_p05_min` and `finish_p95_min`. `wait_fees_mean` is what the supplier charges for trucks kept
    beyond their free minutes. `cost` is the expected money lost to waiting and risk.
    """

    days: int
    truck_wait_mean_min: float
    truck_wait_p90_min: float
    all_trucks_wait_mean_min: float
    all_trucks_wait_p90_min: float
    crew_wait_mean_min: float
    crew_wait_p90_min: float
    any_dead_chance: float
    dead_loads_mean: float
    cold_joint_chance: float
    gap_p90_min: float
    finish_mean_min: float
    finish_p05_min: float
    finish_p95_min: float
    wait_fees_mean: float
    cost: float
    loads: tuple[LoadRisk, ...]


def delivery_risk(paths: Paths, draws: Draws, stakes: Stakes) -> DeliveryRisk:
    """Sum up what happened on every day.

    Parameters
    ----------
    paths : Paths
        What `queueing.simulate` made of a plan and `draws`.
    draws : Draws
    stakes : Stakes
        For the age and cold-joint limits, and the cost.

    Returns
    -------
    DeliveryRisk
    """
    wait, dead = paths.start - paths.arrive, dead_loads(paths, stakes.age_limit_min)
    of_all, of_crew, finish = wait.sum(axis=0), crew_wait_min(paths), paths.end[-1]
    finish_p05, finish_p95 = (float(value) for value in np.quantile(finish, SPREAD))
    return DeliveryRisk(
        days=wait.shape[1],
        truck_wait_mean_min=float(wait.mean()),
        truck_wait_p90_min=_high(wait),
        all_trucks_wait_mean_min=float(of_all.mean()),
        all_trucks_wait_p90_min=_high(of_all),
        crew_wait_mean_min=float(of_crew.mean()),
        crew_wait_p90_min=_high(of_crew),
        any_dead_chance=any_chance(dead),
        dead_loads_mean=float(dead.sum(axis=0).mean()),
        cold_joint_chance=any_chance(cold_joints(paths, stakes.cold_joint_min)),
        gap_p90_min=_high(gaps_min(paths).max(axis=0)) if len(wait) > 1 else 0.0,
        finish_mean_min=float(finish.mean()),
        finish_p05_min=finish_p05,
        finish_p95_min=finish_p95,
        wait_fees_mean=mean_fees(paths, stakes),
        cost=mean_cost(paths, draws, stakes),
        loads=_by_load(paths, wait, dead),
    )


def any_chance(happened: Bools) -> float:
    """How likely it is to happen at least once in a day, from what did, shape (places, days)."""
    return float(happened.any(axis=0).mean())


def _high(values: Floats) -> float:
    return float(np.quantile(values, HIGH))


def _by_load(paths: Paths, wait: Floats, dead: Bools) -> tuple[LoadRisk, ...]:
    ages = ages_min(paths)
    columns = (
        wait.mean(axis=1),
        np.quantile(wait, HIGH, axis=1),
        paths.start.mean(axis=1),
        ages.mean(axis=1),
        np.quantile(ages, HIGH, axis=1),
        dead.mean(axis=1),
    )
    rows = zip(*(column.tolist() for column in columns), strict=True)
    return tuple(LoadRisk(number, *row) for number, row in enumerate(rows, start=1))
