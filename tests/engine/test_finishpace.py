"""Placing no faster than the finishers can follow."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.finishing import plan_finishing
from scheduling.engine.finishpace import slowed_enough, spread
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Admixture, Finish, Finishing, Mix, WeatherHour
from scheduling.engine.party import Task, all_in_time
from tests.engine.placed import sets_of, strips_placed

FT2_M2 = 0.09290304
DEPTH_M = 0.127
SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
PLAIN = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def air(air_f):
    hours = (WeatherHour(at=SEVEN + timedelta(hours=n), air_c=(air_f - 32) / 1.8) for n in range(160))
    return Forecast(tuple(hours))


def plan_at(area_ft2, rate_m3_h, air_f=70, mix=PLAIN, times=1.0, **finishing):
    """A slab placed in 16 strips at that rate, or `times` as slowly."""
    area_m2 = area_ft2 * FT2_M2
    strips = strips_placed(area_m2, SEVEN, times * area_m2 * DEPTH_M / rate_m3_h, count=16)
    return plan_finishing(Finishing(**finishing), strips, sets_of(strips, mix, air(air_f)))


def short(plan):
    return next((f for f in plan.findings if f.code == "finishing_short"), None)


def safe_rate_m2_h(coverage_m2_h, area_m2, window_h):
    """The fastest placing that leaves nobody with concrete past saving: ``A / f <= A / p + w``."""
    return 1 / (1 / coverage_m2_h - window_h / area_m2)


@pytest.mark.parametrize(
    ("area_ft2", "people", "power_trowels", "finish"),
    [
        (6000, 2, 1, Finish.TROWEL),
        (6000, 3, 1, Finish.TROWEL),
        (6000, 4, 2, Finish.TROWEL),
        (3000, 2, 1, Finish.TROWEL),
        (3000, 4, 0, Finish.BROOM),
        (6000, 2, 0, Finish.FLOAT),
    ],
)
def test_slowed_as_told_the_slab_gets_finished_and_less_slowed_it_does_not(
    area_ft2, people, power_trowels, finish
):
    crew = {"people": people, "power_trowels": power_trowels, "finish": finish}
    found = short(plan_at(area_ft2, 40.0, **crew))
    placing_h = area_ft2 * FT2_M2 * DEPTH_M / 40.0
    times = 1 + found.facts["longer_min"] / 60 / placing_h
    assert short(plan_at(area_ft2, 40.0, times=times * 1.001, **crew)) is None
    assert short(plan_at(area_ft2, 40.0, times=times / 1.06, **crew)) is not None


@pytest.mark.parametrize("party", [(2, 1), (3, 1), (4, 2)])
def test_no_party_follows_faster_than_the_time_in_hand_lets_it(party):
    # p = 1 / (1/f - w/A): done A/f after the first strip is ready, the last ready A/p later with w in hand
    people, power_trowels = party
    crew = {"people": people, "power_trowels": power_trowels}
    plan = plan_at(6000, 40.0, **crew)
    window_h = (plan.strips[0].hard_at - plan.strips[0].passes[0].opens_at) / timedelta(hours=1)
    most_m2_h = safe_rate_m2_h(plan.coverage_m2_h, plan.area_m2, window_h)
    placed_h = plan.area_m2 * DEPTH_M / 40.0 + short(plan).facts["longer_min"] / 60
    assert plan.area_m2 / placed_h <= most_m2_h * 1.001


def test_at_ninety_five_the_window_is_short_for_a_small_crew_and_a_retarder_is_no_way_out():
    # First-hand accounts: in the 90s F concrete is unworkable at about 1.75 h, 4 yd3 with retarder stiff in
    # 1 h; a retarder buys 30 to 90 min and the crew was too small.
    slab = {"area_ft2": 900, "rate_m3_h": 8.0, "air_f": 95}
    retarded = Mix(
        name="retarded", strength_mpa=25, aggregate_mm=20, admixtures=frozenset({Admixture.RETARDER})
    )
    assert short(plan_at(**slab, people=1, power_trowels=0)) is not None
    assert short(plan_at(**slab, mix=retarded, people=1, power_trowels=0)) is not None
    assert short(plan_at(**slab, people=5, power_trowels=2)) is None


def test_five_walk_behinds_cannot_follow_a_big_deck_in_heat():
    # Trade magazine: five walk-behinds could not stay ahead on 10,600 ft2 decks in heat.
    assert short(plan_at(10_600, 40.0, air_f=92, people=5, power_trowels=5)).facts["longer_min"] > 60


def test_where_no_pace_helps_none_is_named():
    tasks = (Task(0, 0, 100.0, 0.0, 1.0), Task(1, 0, 10.0, 0.5, 1.5))
    assert slowed_enough(tasks, (0.0, 0.5), (0.02,)) is None


@given(
    areas=st.lists(st.floats(1, 200), min_size=1, max_size=8),
    h_m2=st.floats(0.001, 0.05),
    factor=st.floats(1, 5),
)
def test_spreading_moves_windows_apart_and_keeps_their_length(areas, h_m2, factor):
    tasks = tuple(Task(n, 0, area_m2, n * 0.5, n * 0.5 + 2) for n, area_m2 in enumerate(areas))
    offsets_h = [0.5 * n for n in range(len(areas))]
    moved = spread(tasks, offsets_h, factor)
    for before, after in zip(tasks, moved, strict=True):
        assert after.opens_h == pytest.approx(before.opens_h * factor)
        assert after.closes_h - after.opens_h == pytest.approx(2.0)
    if all_in_time(tasks, (h_m2,)):
        assert all_in_time(moved, (h_m2,))
