"""Whether the party keeps up with the set, and when it is done."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.finishing import (
    BY_HAND_M2_H,
    PASSES,
    PassKind,
    labour_h,
    pass_rate_m2_h,
    plan_finishing,
    short_percent,
)
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Finish, Finishing, Mix, Severity, WeatherHour
from scheduling.engine.setting import set_times

FT2_M2 = 0.09290304
SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def sets(air_f, lag_h=0.0):
    """Set times of the first strip, placed at seven, and of the last, placed `lag_h` later."""
    hours = (WeatherHour(at=SEVEN + timedelta(hours=n), air_c=(air_f - 32) / 1.8) for n in range(110))
    forecast = Forecast(tuple(hours))
    return (
        set_times(MIX, forecast, SEVEN),
        set_times(MIX, forecast, SEVEN + timedelta(hours=lag_h)),
    )


def plan_of(area_ft2, air_f=70, lag_h=1.0, **finishing):
    return plan_finishing(Finishing(**finishing), area_ft2 * FT2_M2, *sets(air_f, lag_h))


def short(plan):
    return next((f for f in plan.findings if f.code == "finishing_short"), None)


def test_four_thousand_feet_by_four_finishers_is_ten_paid_hours_each():
    # Estimating text: about 1 labour hour per 100 ft2 machine trowelled
    assert labour_h(Finish.TROWEL, 4000 * FT2_M2)[0] == pytest.approx(40)
    plan = plan_of(4000, people=4, power_trowels=2)
    (note,) = [f for f in plan.findings if f.code == "finishing_labour"]
    assert note.facts["least_each_h"] == pytest.approx(10)


@pytest.mark.parametrize(
    ("finish", "h_ft2"), [(Finish.FLOAT, 0.010), (Finish.BROOM, 0.012), (Finish.TROWEL, 0.015)]
)
def test_paid_hours_span_the_published_labour_value(finish, h_ft2):
    # A published cost book, h/ft2
    least_h, most_h = labour_h(finish, FT2_M2)
    assert least_h <= h_ft2 * (1 + 1e-9)
    assert most_h >= h_ft2 * (1 - 1e-9)


def test_five_walk_behinds_at_their_day_rate_leave_29_percent_of_a_deck():
    # Trade magazine: 1,500 ft2 a day each, decks of 10,600 ft2
    assert short_percent(5 * 1500, 10_600) == pytest.approx(29.2, abs=0.1)
    assert short_percent(10_601, 10_600) == 0


def test_five_walk_behinds_do_not_stay_ahead_on_a_big_deck_in_heat():
    # The same case; placed over three hours
    found = short(plan_of(10_600, air_f=90, lag_h=3, people=5, power_trowels=5))
    assert found.facts["short_percent"] > 20
    assert found.facts["people_needed"] > 5


def test_a_walk_behind_finishes_its_day_rate_between_float_ready_and_final_set():
    # Trade magazine: 700 to 1,500 ft2 a day for each walk-behind; nothing placed meanwhile
    assert short(plan_of(1500, lag_h=0, people=2, power_trowels=1)) is None
    assert short(plan_of(2100, lag_h=0, people=2, power_trowels=1)) is not None


def test_two_finishers_broom_eight_hundred_feet_but_not_nine_hundred():
    # A contractor's rule: 2 finishers up to 800 ft2 in the 2 to 3 h the concrete gives
    assert short(plan_of(800, lag_h=0.4, people=2, finish=Finish.BROOM)) is None
    assert short(plan_of(900, lag_h=0.4, people=2, finish=Finish.BROOM)) is not None


def test_trowelling_by_hand_comes_to_the_hand_crews_day():
    # Trade magazine: experienced hand crew about 600 ft2 a day; taken as two people, 20 min to place
    assert short(plan_of(600, lag_h=0.33, people=2, power_trowels=0)) is None
    assert short(plan_of(800, lag_h=0.33, people=2, power_trowels=0)) is not None


def test_being_short_says_by_how_much_and_what_would_do():
    found = short(plan_of(4000, lag_h=2, people=2, power_trowels=1))
    assert found.severity is Severity.STOP
    needed = found.facts["people_needed"]
    assert short(plan_of(4000, lag_h=2, people=needed, power_trowels=1)) is None
    assert short(plan_of(4000, lag_h=2, people=needed - 1, power_trowels=1)) is not None


def test_being_a_little_short_is_only_a_caution_and_another_machine_may_do():
    found = short(plan_of(4000, air_f=90, lag_h=2, people=4, power_trowels=2))
    assert found.severity is Severity.CAUTION
    assert found.facts["power_trowels_needed"] == 3
    assert short(plan_of(4000, air_f=90, lag_h=2, people=4, power_trowels=3)) is None


def test_a_hopeless_slab_names_no_number_of_people():
    found = short(plan_of(300_000, air_f=90, lag_h=1, people=2))
    assert found.facts["people_needed"] is None
    assert found.facts["power_trowels_needed"] is None


def test_a_short_party_is_told_until_when_it_would_be_busy():
    plan = plan_of(4000, lag_h=2, people=2, power_trowels=1)
    facts = short(plan).facts
    assert facts["busy_until"] == plan.ends_at > facts["closes_at"] == plan.passes[-1].closes_at


def test_a_trowelled_slab_is_floated_once_and_trowelled_three_times():
    plan = plan_of(2000, people=3, power_trowels=2)
    assert [p.kind for p in plan.passes] == [PassKind.POWER_FLOAT] + [PassKind.TROWEL] * 3
    first, last = sets(70, 1.0)
    assert plan.starts_at == plan.passes[0].opens_at == plan.window.opens_at == first.float_ready.likely
    assert plan.passes[-1].closes_at == plan.window.closes_at == last.final.likely


@pytest.mark.parametrize("finish", list(Finish))
def test_coverage_is_the_area_over_the_sum_of_all_passes(finish):
    plan = plan_of(2000, people=3, power_trowels=2, finish=finish)
    hours = sum(plan.area_m2 / p.rate_m2_h for p in plan.passes)
    assert plan.coverage_m2_h == pytest.approx(plan.area_m2 / hours)


def test_placing_faster_than_the_finishers_can_follow_shows():
    # A slab placed in no time must be finished within one strip's time; placed slowly, it may take longer.
    crew = {"people": 3, "power_trowels": 2}
    assert short(plan_of(3000, lag_h=0.0, **crew)) is not None
    assert short(plan_of(3000, lag_h=2.0, **crew)) is None


def test_heat_leaves_less_time():
    cool, hot = (short(plan_of(2400, air_f=f, people=2, power_trowels=1)) for f in (70, 90))
    assert cool.facts["short_percent"] < hot.facts["short_percent"]


def test_machines_without_anyone_at_them_finish_nothing():
    assert pass_rate_m2_h(PassKind.TROWEL, 2, 2) == pass_rate_m2_h(PassKind.TROWEL, 2, 9)
    assert pass_rate_m2_h(PassKind.TROWEL, 3, 0) == pytest.approx(3 * BY_HAND_M2_H)


def test_a_broom_needs_no_machine():
    assert plan_of(800, people=2, finish=Finish.BROOM, power_trowels=0).coverage_m2_h == pytest.approx(
        plan_of(800, people=2, finish=Finish.BROOM, power_trowels=2).coverage_m2_h
    )


@given(
    area_ft2=st.floats(50, 20_000),
    air_f=st.sampled_from([45, 70, 95]),
    lag_h=st.floats(0, 6),
    people=st.integers(1, 12),
    power_trowels=st.integers(0, 6),
    finish=st.sampled_from(list(Finish)),
)
def test_times_are_in_order_and_more_people_are_never_done_later(
    area_ft2, air_f, lag_h, people, power_trowels, finish
):
    party = {"people": people, "power_trowels": power_trowels, "finish": finish}
    plan = plan_of(area_ft2, air_f, lag_h, **party)
    assert plan.starts_at < plan.first_finished_at <= plan.ends_at == plan.cure_at
    assert plan.ends_at - plan.starts_at >= timedelta(hours=plan.area_m2 / plan.coverage_m2_h) * 0.999999
    assert len(plan.passes) == len(PASSES[finish])
    bigger = plan_of(area_ft2, air_f, lag_h, **(party | {"people": people + 1}))
    assert bigger.ends_at <= plan.ends_at + timedelta(seconds=1)
    if short(plan) is None:
        assert short(bigger) is None


def test_a_last_strip_placed_before_the_first_is_refused():
    first, last = sets(70, 1.0)
    with pytest.raises(BadInput):
        plan_finishing(Finishing(people=2), 100.0, last, first)


def test_no_area_is_refused():
    with pytest.raises(BadInput):
        plan_finishing(Finishing(people=2), 0.0, *sets(70))
