import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import ciw
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.chance import Draws, draw_days
from scheduling.engine.inputs import BadInput, Place, Supply, Uncertainty, Window
from scheduling.engine.queueing import Round, plant_windows, room_for, round_for, simulate
from scheduling.engine.rounds import evenly, truck_trips
from tests.simulators import CutNormal, ciw_waits, days_of, simpy_day

pytestmark = pytest.mark.slow

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
CERTAIN = Uncertainty(late_mean_min=0, late_sd_min=0, unload_cv=0, overtaking_chance=0)


def supply(**changes) -> Supply:
    return Supply(**{"truck_m3": 8.0, "order_step_m3": 0.25, "haul_min": 20.0, **changes})


def one_day(late, unload, overtakes=None) -> Draws:
    """A single day as told, load by load."""
    passing = None if overtakes is None else np.array(overtakes, bool)[:, None]
    columns = (np.array(values, float)[:, None] for values in (late, unload))
    return Draws(*columns, planned_min=tuple(unload), unload_sd=0.0, overtakes=passing)


def site_alone(loads: int, **changes) -> Round:
    """No plant, no road: trucks are where they are asked to be."""
    return replace(Round(0.0, 0.0, 0.0, (0.0,) * loads), **changes)


def day(rows) -> list[float]:
    return rows[:, 0].tolist()


# --- one day, by hand -------------------------------------------------------------------------


def test_waits_follow_the_worked_example_of_a_single_line():
    # Lindley (1952), arithmetic: an arrival every 15, served in 12, 20, 14, 9, 25, 10, 12
    draws = one_day([0] * 7, [12, 20, 14, 9, 25, 10, 12])
    paths = simulate(np.arange(7) * 15.0, site_alone(7), draws)
    assert day(paths.start - paths.arrive) == [0, 0, 5, 4, 0, 10, 5]
    assert day(paths.start[1:] - paths.end[:-1]) == [3, 0, 0, 2, 0, 0]
    assert day(paths.end)[-1] == 107


def test_the_crew_is_not_ready_before_the_first_truck_is_due():
    paths = simulate(np.array([0.0]), site_alone(1), one_day([-10], [12]))
    assert (day(paths.arrive), day(paths.start), day(paths.end)) == ([-10], [0], [12])


def test_a_late_truck_comes_back_late():
    turn = site_alone(3, lead_min=20, back_min=15, trucks=2)
    paths = simulate(
        np.array([0.0, 15.0, 30.0]), turn, one_day([30, 0, 0], [10, 10, 10], [False, True, False])
    )
    # the second truck passed the late first, was empty at 25, was back at 40 and on site at 60
    assert day(paths.arrive) == [15, 30, 60]
    assert day(paths.batch) == [-5, -20, 40]


def test_a_truck_stays_behind_the_one_sent_before_it():
    paths = simulate(np.array([0.0, 10.0]), site_alone(2), one_day([25, 0], [10, 10], [False, False]))
    assert day(paths.arrive) == [25, 25]
    assert day(paths.start) == [25, 35]


def test_a_truck_that_overtakes_is_emptied_first():
    draws = one_day([25, 0], [10, 12], [False, True])
    paths = simulate(np.array([0.0, 10.0]), site_alone(2), draws)
    assert day(paths.arrive) == [10, 25]
    assert day(paths.unload) == [12, 10]
    assert day(paths.start) == [10, 25]
    assert day(paths.in_line([1, 2])) == [2, 1]


def test_one_truck_may_pass_several():
    draws = one_day([50, 0, 0, 0], [5, 6, 7, 8], [False, False, False, True])
    paths = simulate(np.array([0.0, 5.0, 10.0, 15.0]), site_alone(4), draws)
    assert day(paths.in_line([1, 2, 3, 4])) == [4, 1, 2, 3]
    assert day(paths.arrive) == [15, 50, 50, 50]


def test_a_changeover_stands_between_two_trucks():
    paths = simulate(np.array([0.0, 0.0]), site_alone(2, changeover_min=5), one_day([0, 0], [10, 10]))
    assert day(paths.start) == [0, 15]


def test_the_plant_loads_one_truck_after_another():
    turn = site_alone(3, lead_min=25, plant_min=(7.0, 7.0, 7.0))
    paths = simulate(np.zeros(3), turn, one_day([0] * 3, [1] * 3))
    assert day(paths.batch) == [-25, -18, -11]


@pytest.mark.parametrize(
    ("busy", "batch"),
    [
        (((-10.0, -5.0),), -20),  # ends as the other begins
        (((-11.0, -5.0),), -5),  # would run into the other
        (((-40.0, -20.0),), -20),  # begins as the other ends
        (((-40.0, -15.0),), -15),
        (((-40.0, -15.0), (-8.0, 3.0)), 3),  # the gap between them is too short
        (((-40.0, 30.0), (-30.0, -10.0)), 30),  # one lies within the other
    ],
)
def test_a_load_waits_until_the_plant_is_done_with_other_pours(busy, batch):
    turn = site_alone(1, lead_min=20, plant_min=(10.0,), plant_busy=busy)
    assert day(simulate(np.array([0.0]), turn, one_day([0], [10])).batch) == [batch]


# --- the deterministic engine is the case without luck ----------------------------------------


@given(
    loads=st.lists(st.floats(1, 10), min_size=1, max_size=20),
    interval=st.floats(0, 40),
    rate=st.floats(8, 80),
    supply=st.builds(
        supply,
        trucks=st.none() | st.integers(1, 8),
        plant_rate_m3_h=st.none() | st.floats(20, 120),
        loading_min=st.floats(0, 12),
        haul_min=st.floats(0, 60),
        return_min=st.none() | st.floats(0, 60),
        washout_min=st.floats(0, 15),
    ),
    place=st.builds(Place, one_truck_at_a_time=st.booleans()),
    passing=st.sampled_from([0.0, 1.0]),
)
def test_without_luck_every_load_goes_as_the_plan_says(loads, interval, rate, supply, place, passing):
    luck = replace(CERTAIN, overtaking_chance=passing)
    draws = draw_days(loads, rate, supply.haul_min, luck, 1, 1)
    turn = round_for(loads, supply, place, 0, SEVEN)
    paths = simulate(np.arange(len(loads)) * interval, turn, draws)
    trips = truck_trips(loads, evenly(interval, len(loads)), rate, supply, place)
    for rows, name in ((paths.batch, "batch"), (paths.arrive, "arrive"), (paths.end, "end")):
        assert day(rows) == pytest.approx([getattr(trip, name) for trip in trips], abs=1e-6)


# --- two general simulators -------------------------------------------------------------------


@pytest.mark.parametrize("trucks", [None, 1, 2, 5])
@pytest.mark.parametrize("passing", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("busy", [(), ((-20.0, -5.0), (30.0, 50.0))])
def test_simpy_brings_every_truck_of_every_day_at_the_same_moments(trucks, passing, busy):
    loads = (7.0,) * 11 + (3.0,)
    plant = supply(trucks=trucks, plant_rate_m3_h=50.0)
    draws = draw_days(loads, 30.0, plant.haul_min, Uncertainty(overtaking_chance=passing), 40, 1)
    turn = replace(round_for(loads, plant, Place(one_truck_at_a_time=True), 1.0, SEVEN), plant_busy=busy)
    asked = np.arange(12) * 11.0
    paths = simulate(asked, turn, draws)
    for number, told in enumerate(days_of(asked, turn, draws)):
        happened = simpy_day(told)
        in_line = np.argsort(happened.start, kind="stable")
        for name in ("batch", "arrive", "start", "end"):
            theirs = np.array(getattr(happened, name))[in_line]
            assert getattr(paths, name)[:, number] == pytest.approx(theirs, abs=1e-9), name


def test_ciw_with_luck_of_its_own_has_the_same_waits_within_its_error():
    lead, asked, days = 25.0, np.arange(10) * 14.0 + 20, 1500
    luck = Uncertainty(late_mean_min=3, late_sd_min=8, unload_cv=0.3, overtaking_chance=1)
    draws = draw_days((7.0,) * 10, 30.0, 20.0, luck, 20_000, 1)
    paths = simulate(asked, site_alone(10, lead_min=lead), draws)
    ours = (paths.start - paths.arrive).mean(axis=1)
    sd = math.sqrt(math.log(1.09))
    unload = ciw.dists.Lognormal(math.log(14) - sd * sd / 2, sd)
    theirs = np.array(
        ciw_waits(asked.tolist(), CutNormal(lead + 3, 8, lead - 15, lead + 45), unload, days, 1)
    )
    error = theirs.std(axis=0) / math.sqrt(days)
    assert np.all(np.abs(ours - theirs.mean(axis=0)) < 3.5 * error + 0.02)
    assert np.all(theirs.mean(axis=0)[1:] > 20 * 0.02)  # waits worth comparing


# --- closed forms -----------------------------------------------------------------------------


def fleet_forever(trucks, away, service, loads=600, days=400):
    """Mean wait and how busy the site is, for trucks whose time away is drawn by `away`."""
    luck = np.random.default_rng(7)
    shape = (loads, days)
    unload = luck.exponential(service, shape)
    draws = Draws(away(luck, shape), unload, (service,) * loads, 1.0, np.ones(shape, bool))
    paths = simulate(np.zeros(loads), site_alone(loads, trucks=trucks), draws)
    steady = slice(loads // 4, loads - trucks)  # the last ones find no trucks behind them
    waits = (paths.start - paths.arrive)[steady]
    busy = paths.unload[steady].sum(axis=0) / (paths.end[steady.stop - 1] - paths.end[steady.start - 1])
    return waits.mean(), busy.mean()


def exponential(mean):
    return lambda luck, shape: luck.exponential(mean, shape)


def lognormal(mean, cv):
    sd = math.sqrt(math.log1p(cv * cv))
    return lambda luck, shape: mean * np.exp(sd * luck.standard_normal(shape) - sd * sd / 2)


@pytest.mark.parametrize(
    ("trucks", "away", "service", "wait", "busy"),
    [
        # a textbook of management science (Anderson, Sweeney): six machines, 0.05 an hour, 0.5 an hour
        (6, 20, 2, 1.2790, 1 - 0.4845),
        # its printers: five of them, 20 and 2 hours
        (5, 20, 2, None, 0.4360),
        # Hillier and Lieberman, from memory: two machines, 12 and 8 hours
        (2, 12, 8, 3.20, 0.6897),
        # product form; 9 yards in 12 min, an hour's way
        (2, 60, 12, 2.00, 0.3243),
        (5, 60, 12, 11.90, 0.7151),
        (8, 60, 12, 31.23, 0.9300),
        (10, 60, 12, 50.25, 0.9816),
    ],
)
def test_a_fleet_waits_as_the_finite_source_queue_says(trucks, away, service, wait, busy):
    seen_wait, seen_busy = fleet_forever(trucks, exponential(away), service)
    assert seen_busy == pytest.approx(busy, rel=0.01)
    if wait is not None:
        assert seen_wait == pytest.approx(wait, rel=0.02)


@pytest.mark.parametrize(
    ("trucks", "away", "service", "wait", "busy"),
    [
        (3, 50, 16, 9.1032, 0.63912),
        (5, 50, 16, 24.9965, 0.87915),
        (8, 50, 16, 63.2877, 0.99004),
        (4, 30, 10, 10.3846, 0.79389),
    ],
)
def test_only_the_mean_of_the_time_away_matters_in_the_long_run(trucks, away, service, wait, busy):
    # product form of the machine-repairman model: insensitive to the law of the time away
    seen_wait, seen_busy = fleet_forever(trucks, lognormal(away, 1.5), service)
    assert seen_wait == pytest.approx(wait, rel=0.02)
    assert seen_busy == pytest.approx(busy, rel=0.01)


@pytest.mark.parametrize(
    ("busy", "wait"), [(0.5, 0.2550), (0.6, 0.4798), (0.7, 0.8762), (0.8, 1.6927), (0.9, 4.1787)]
)
def test_evenly_spaced_trucks_wait_as_d_m_1_says(busy, wait):
    # D/M/1: sigma = exp(-(1 - sigma) / rho), Wq = sigma / (1 - sigma) for a mean service of 1
    loads, days = 1500, 1200
    unload = np.random.default_rng(3).exponential(1.0, (loads, days))
    draws = Draws(np.zeros((loads, days)), unload, (1.0,) * loads, 1.0)
    paths = simulate(np.arange(loads) / busy, site_alone(loads), draws)
    waits = (paths.start - paths.arrive)[500:].mean(axis=0)
    assert waits.mean() == pytest.approx(wait, abs=4 * waits.std() / math.sqrt(days))
    assert waits.mean() == pytest.approx(wait, rel=0.03)


# --- what a round is put together from --------------------------------------------------------


def test_a_round_is_put_together_from_supply_and_site():
    plant = supply(loading_min=6, haul_min=20, return_min=18, washout_min=4, plant_rate_m3_h=60, trucks=3)
    busy = [Window(SEVEN + timedelta(minutes=30), SEVEN + timedelta(minutes=40))]
    turn = round_for((8.0, 3.0), plant, Place(one_truck_at_a_time=True), 2, SEVEN, busy)
    assert (turn.lead_min, turn.back_min, turn.trucks) == (26, 22, 3)
    assert turn.plant_min == (8, 6)  # its rate sets the full load, its loading point the small one
    assert turn.changeover_min == 7  # our choice of 5 for a site with room for one, and 2
    assert turn.plant_busy == ((30, 40),)


def test_another_pours_loads_take_the_plant_while_they_are_loaded():
    windows = plant_windows([SEVEN, SEVEN + timedelta(hours=1)], (8.0, 3.0), supply(plant_rate_m3_h=60))
    minutes = [(window.closes_at - window.opens_at) / timedelta(minutes=1) for window in windows]
    assert minutes == [8, 5]
    assert [window.opens_at for window in windows] == [SEVEN, SEVEN + timedelta(hours=1)]


def test_loads_that_take_the_plant_no_time_are_in_nobodys_way():
    assert plant_windows([SEVEN], (8.0,), supply(loading_min=0)) == ()


def test_moments_without_a_zone_are_refused():
    naive = Window(datetime(2026, 6, 10, 7), datetime(2026, 6, 10, 8))
    with pytest.raises(BadInput):
        round_for((8.0,), supply(), Place(), 0, SEVEN, [naive])
    with pytest.raises(BadInput):
        round_for((8.0,), supply(), Place(), 0, datetime(2026, 6, 10, 7))


@pytest.mark.parametrize("passing", [0.0, 0.5])
def test_arrays_written_over_hold_what_new_ones_would(passing):
    plant = supply(trucks=4)
    draws = draw_days((7.0,) * 9, 30.0, 20.0, Uncertainty(overtaking_chance=passing), 50, 1)
    turn = round_for((7.0,) * 9, plant, Place(), 0, SEVEN)
    room = room_for(turn, draws)
    for interval in (9.0, 14.0):
        asked = np.arange(9) * interval
        again, new = simulate(asked, turn, draws, room), simulate(asked, turn, draws)
        for name in ("batch", "arrive", "unload", "start", "end"):
            assert np.array_equal(getattr(again, name), getattr(new, name)), name
