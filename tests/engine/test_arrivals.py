import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy.optimize import brentq

from scheduling.engine.arrivals import Question, asked_from, best_intervals
from scheduling.engine.chance import Draws
from scheduling.engine.inputs import Costs, Counted, TruckWaitRule
from scheduling.engine.queueing import Round, simulate
from scheduling.engine.stakes import Stakes, mean_cost, stakes_for

pytestmark = pytest.mark.slow

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
NO_FEE = TruckWaitRule(price=0)


def stakes(loads=3, **changes) -> Stakes:
    told = {
        "crew_per_min": 1.0,
        "truck_per_min": 1.0,
        "truck_wait": NO_FEE,
        "free_min": (0.0,) * loads,
        "rejected_load": 0.0,
        "cold_joint": 0.0,
        "age_limit_min": math.inf,
        "cold_joint_min": math.inf,
    }
    return Stakes(**{**told, **changes})


# --- published schedules: exponential service of mean 1, customers where they are asked to be -----


def memoryless(loads, crew, truck, days=60_000, seed=1) -> Question:
    unload = np.random.default_rng(seed).exponential(1.0, (loads, days))
    draws = Draws(np.zeros((loads, days)), unload, (1.0,) * loads, 1.0)
    turn = Round(0.0, 0.0, 0.0, (0.0,) * loads)
    return Question(turn, draws, stakes(loads, crew_per_min=crew, truck_per_min=truck))


def exact_cost(intervals, crew, truck):
    """Wait and idleness of a memoryless line, from the chances of so many being there at each arrival."""
    there, waited = np.array([1.0]), 0.0
    for interval in intervals:
        there = np.concatenate(([0.0], there))  # one more came
        left = np.zeros_like(there)
        for number, chance in enumerate(there):
            gone = [math.exp(-interval) * interval**k / math.factorial(k) for k in range(number)]
            left[1 : number + 1] += chance * np.array(gone[::-1])
            left[0] += chance * (1 - sum(gone))
        there = left
        waited += float(there @ np.arange(len(there)))
    finish = sum(intervals) + float(there @ np.arange(len(there))) + 1
    return crew * (finish - len(intervals) - 1) + truck * waited


DOME = [1.0060, 1.5092, 1.5895, 1.6111, 1.6100, 1.5908, 1.5455, 1.4417, 1.1253]


def test_the_yardstick_gives_the_published_costs():
    # Mahes, Mandjes, Boon and Taylor, arXiv:2103.09596, half and half: 4.693543, twice that here
    assert exact_cost(DOME, 1, 1) == pytest.approx(9.387086, abs=1e-5)
    assert exact_cost([1.4815] * 9, 1, 1) == pytest.approx(9.53806, abs=1e-5)
    assert exact_cost([math.log(2)], 1, 1) == pytest.approx(math.log(2))


@pytest.mark.parametrize(("crew", "truck", "interval"), [(1, 1, 0.693), (4, 1, 0.223), (1, 4, 1.609)])
def test_the_second_truck_comes_when_the_chances_balance_the_costs(crew, truck, interval):
    # two customers, exponential service: P(S <= x) = c_truck / (c_truck + c_crew)
    found = best_intervals(memoryless(2, crew, truck), np.array([1.0]))
    assert found == pytest.approx([interval], abs=0.02)


@pytest.mark.parametrize(
    ("crew", "truck", "intervals", "cost"),
    [
        (1, 1, [0.8890, 1.0527], 1.639715),
        (1, 1, [0.9746, 1.4225, 1.4004, 1.1136], 3.762523),
        (1, 1, DOME, 9.387086),
        (4, 1, [0.3959, 0.9553, 1.0944, 1.1370, 1.1409, 1.1183, 1.0659, 0.9629, 0.7172], 17.199621),
        (1, 4, [1.8855, 2.2083, 2.2442, 2.2530, 2.2536, 2.2478, 2.2303, 2.1757, 1.9058], 16.974763),
    ],
)
def test_the_best_schedules_are_the_published_domes(crew, truck, intervals, cost):
    # the shape as in Wang 1993; equal weights and ten as in arXiv:2103.09596, the others by its recursion
    found = best_intervals(memoryless(len(intervals) + 1, crew, truck), np.full(len(intervals), 1.4))
    assert exact_cost(found, crew, truck) == pytest.approx(cost, rel=1e-3)
    assert found == pytest.approx(intervals, abs=0.06)
    if len(intervals) == 9:
        assert max(found[0], found[-1]) < min(found[1:-1])


@pytest.mark.parametrize(("loads", "cost"), [(15, 15.097869), (20, 20.823617)])
def test_long_schedules_cost_what_was_published(loads, cost):
    # by the recursion of arXiv:2103.09596
    found = best_intervals(memoryless(loads, 1, 1), np.full(loads - 1, 1.4))
    assert exact_cost(found, 1, 1) == pytest.approx(cost, rel=1e-3)


def endless_cost(interval, crew, truck):
    """Of each truck in a D/M/1 line without end, by its closed form."""
    sigma = brentq(lambda s: s - math.exp(-(1 - s) * interval), 0, 1 - 1e-9)
    return crew * (interval - 1) + truck * sigma / (1 - sigma)


@pytest.mark.parametrize(("crew", "truck", "interval"), [(4, 1, 1.3495), (1, 1, 1.6803), (1, 4, 2.2631)])
def test_amid_a_long_pour_the_intervals_near_those_of_an_endless_one(crew, truck, interval):
    # the cheapest interval of D/M/1
    found = best_intervals(memoryless(60, crew, truck, days=8000), np.full(59, interval * 1.3))
    middle = float(np.mean(found[20:40]))
    assert middle == pytest.approx(interval, rel=0.06)
    least = endless_cost(interval, crew, truck)
    assert endless_cost(middle, crew, truck) == pytest.approx(least, rel=0.01)
    assert endless_cost(interval * 1.3, crew, truck) > 1.03 * least


# --- what a day costs, by hand ----------------------------------------------------------------


def cost_of(asked, unload, late=None, changeover=0.0, **changes):
    columns = (np.array(values, float)[:, None] for values in (late or [0] * len(unload), unload))
    draws = Draws(*columns, planned_min=tuple(unload), unload_sd=0.0)
    turn = Round(30.0, 0.0, changeover, (0.0,) * len(unload))
    paths = simulate(np.array(asked, float), turn, draws)
    return mean_cost(paths, draws, stakes(len(unload), **changes))


def test_waiting_costs_by_the_minute():
    # arrive 0, 10, 30; served 12 each: the second waits 2, the crew 6
    assert cost_of([0, 10, 30], [12, 12, 12], crew_per_min=4, truck_per_min=0.5) == pytest.approx(4 * 6 + 1)


def test_the_crew_waits_for_a_late_first_truck_and_for_changeovers():
    assert cost_of([0, 12], [12, 12], late=[7, 7], changeover=3, truck_per_min=0) == pytest.approx(10)


def test_fees_are_charged_truck_by_truck_as_the_supplier_counts():
    # on site 12, 22 and 32 minutes, 15 free: 0, 7 and 17 over
    rule = TruckWaitRule(free_min=15, price=5, block_min=10, counted=Counted.STARTED)
    fees = cost_of(
        [0, 2, 4], [12] * 3, crew_per_min=0, truck_per_min=0, truck_wait=rule, free_min=(15.0,) * 3
    )
    assert fees == pytest.approx(5 + 10)


def test_each_load_has_its_own_free_minutes():
    rule = TruckWaitRule(free_min_per_m3=2, price=1)
    fees = cost_of([0, 0], [12, 6], crew_per_min=0, truck_per_min=0, truck_wait=rule, free_min=(14.0, 8.0))
    assert fees == pytest.approx(18 - 8)


@pytest.mark.parametrize(("limit", "dead"), [(66, 0), (65.9, 1), (53, 2), (20, 3)])
def test_a_load_is_lost_when_it_outlives_its_limit_and_not_when_it_meets_it(limit, dead):
    # batched 30 min before they are due, at 0, 0 and 24: emptied at ages 42, 54 and 66 - 24 + 24
    lost = cost_of(
        [0, 0, 0],
        [12, 12, 12],
        crew_per_min=0,
        truck_per_min=0,
        rejected_load=100,
        age_limit_min=limit,
    )
    assert lost == pytest.approx(100 * dead)


@pytest.mark.parametrize(("limit", "joints"), [(18, 0), (17.9, 1), (7.9, 2)])
def test_a_gap_longer_than_its_limit_is_a_cold_joint(limit, joints):
    cost = cost_of([0, 20, 50], [12, 12, 12], crew_per_min=0, cold_joint=70, cold_joint_min=limit)
    assert cost == pytest.approx(70 * joints)


def test_overtime_counts_from_its_moment():
    costs = Costs(
        crew_per_h=0,
        truck_per_h=0,
        truck_wait=NO_FEE,
        overtime_per_h=60,
        overtime_from_at=SEVEN + timedelta(hours=1),
    )
    told = stakes_for((7.0,), costs, 1000, 1000, SEVEN)
    draws = Draws(np.zeros((1, 1)), np.array([[75.0]]), (75.0,), 0.0)
    paths = simulate(np.zeros(1), Round(0, 0, 0, (0.0,)), draws)
    assert mean_cost(paths, draws, told) == pytest.approx(15)


def test_an_expected_lost_load_is_what_counting_them_on_many_days_comes_to():
    days, sd = 40_000, 0.3
    luck = np.random.default_rng(2)
    unload = 14 * np.exp(sd * luck.standard_normal((3, days)) - sd * sd / 2)
    draws = Draws(np.zeros((3, days)), unload, (14.0,) * 3, sd)
    paths = simulate(np.array([0.0, 8.0, 16.0]), Round(30.0, 0.0, 0.0, (0.0,) * 3), draws)
    cost = mean_cost(paths, draws, stakes(crew_per_min=0, truck_per_min=0, rejected_load=1, age_limit_min=62))
    counted = float(((paths.end - paths.batch) > 62).sum()) / days
    assert counted > 0.1
    assert cost == pytest.approx(counted, rel=0.03)


def test_intervals_and_asked_moments_tell_the_same():
    assert asked_from(np.array([5.0, 10.0])).tolist() == [0, 5, 15]
