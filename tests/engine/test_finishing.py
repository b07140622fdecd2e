"""Whether the party keeps up with the set, and when it is done."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.finishing import plan_finishing
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Finish, Finishing, Mix, Severity, WeatherHour
from scheduling.engine.passes import BY_HAND_M2_H, GRACE, PASSES, PassKind, labour_h, pass_rate_m2_h
from tests.engine.placed import sets_of, strips_placed

FT2_M2 = 0.09290304
SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def forecast_of(air_f):
    hours = (WeatherHour(at=SEVEN + timedelta(hours=n), air_c=(air_f - 32) / 1.8) for n in range(110))
    return Forecast(tuple(hours))


def plan_of(area_ft2, air_f=70, lag_h=1.0, **finishing):
    """A slab whose first strip is placed at seven and its last `lag_h` later."""
    strips = strips_placed(area_ft2 * FT2_M2, SEVEN, lag_h)
    return plan_finishing(Finishing(**finishing), strips, sets_of(strips, MIX, forecast_of(air_f)))


def whole_second(moment):
    return moment.replace(microsecond=0)


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


def test_five_walk_behinds_do_not_stay_ahead_on_a_big_deck_in_heat():
    # Trade magazine: 1,500 ft2 a day each, decks of 10,600 ft2, which leaves 29 %; placed over three hours
    found = short(plan_of(10_600, air_f=90, lag_h=3, people=5, power_trowels=5))
    assert found.facts["short_percent"] > 20
    assert found.facts["people_needed"] > 5


def test_five_walk_behinds_at_their_day_rate_are_short_of_a_big_deck_by_about_its_published_share():
    # Trade magazine: 1,500 ft2 a day each, so 7,500 of 10,600 ft2: short by 29 %; two people to a machine
    found = short(plan_of(10_600, lag_h=0, people=10, power_trowels=5))
    assert found.facts["short_percent"] == pytest.approx(29, abs=8)


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
    found = short(plan_of(3200, air_f=90, lag_h=2, people=4, power_trowels=2))
    assert found.severity is Severity.CAUTION
    assert found.facts["power_trowels_needed"] == 3
    assert short(plan_of(3200, air_f=90, lag_h=2, people=4, power_trowels=3)) is None


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
    assert plan.starts_at == plan.passes[0].opens_at == whole_second(plan.window.opens_at)
    assert plan.passes[-1].closes_at == plan.strips[-1].hard_at == whole_second(plan.window.closes_at)


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
    assert plan.starts_at < plan.first_finished_at == plan.cure_at <= plan.ends_at
    work_h = plan.area_m2 / plan.coverage_m2_h
    assert plan.ends_at - plan.starts_at >= timedelta(hours=work_h) - timedelta(seconds=2)
    assert len(plan.passes) == len(PASSES[finish])
    bigger = plan_of(area_ft2, air_f, lag_h, **(party | {"people": people + 1}))
    assert bigger.ends_at <= plan.ends_at + timedelta(seconds=1)
    if short(plan) is None:
        assert short(bigger) is None


def test_every_strip_needs_its_set_times():
    strips = strips_placed(100.0, SEVEN, 1.0)
    with pytest.raises(BadInput):
        plan_finishing(Finishing(people=2), strips, sets_of(strips[1:], MIX, forecast_of(70)))
    with pytest.raises(BadInput):
        plan_finishing(Finishing(people=2), [], [])


# --- strip by strip ---------------------------------------------------------------------------

parties = st.fixed_dictionaries(
    {
        "people": st.integers(1, 12),
        "power_trowels": st.integers(0, 6),
        "finish": st.sampled_from(list(Finish)),
    }
)
slabs = st.fixed_dictionaries(
    {
        "area_ft2": st.floats(50, 20_000),
        "air_f": st.sampled_from([45, 70, 95]),
        "lag_h": st.floats(0, 6),
    }
)


def worked(plan):
    """The passes the party makes, as it makes them."""
    made = [(one.starts_at, one.ends_at) for strip in plan.strips for one in strip.passes if one.starts_at]
    return sorted(made)


def lost_m2(plan):
    return sum(strip.area_m2 for strip in plan.strips if strip.lost)


@given(slabs, parties)
def test_the_party_is_never_in_two_strips_at_once(slab, party):
    times = worked(plan_of(**slab, **party))
    for (_, left_at), (arrived_at, _) in pairwise(times):
        assert arrived_at >= left_at


@given(slabs, parties)
def test_every_pass_of_a_strip_that_is_not_lost_lies_in_its_window_and_after_the_one_before(slab, party):
    for strip in plan_of(**slab, **party).strips:
        for one in strip.passes:
            assert one.opens_at < one.closes_at <= strip.hard_at
            assert (one.starts_at is None) == (one.ends_at is None) == strip.lost
        if not strip.lost:
            grace = GRACE * (strip.hard_at - strip.passes[0].opens_at) + timedelta(seconds=2)
            assert all(p.opens_at <= p.starts_at <= p.ends_at <= p.closes_at + grace for p in strip.passes)
            assert all(a.ends_at <= b.starts_at for a, b in pairwise(strip.passes))
            assert strip.finished_at == strip.passes[-1].ends_at
        assert strip.placed_at < strip.ready_early_at < strip.passes[0].opens_at <= strip.finished_at


@given(slabs, parties)
def test_more_finishers_and_more_machines_never_lose_more(slab, party):
    lost = lost_m2(plan_of(**slab, **party))
    assert lost_m2(plan_of(**slab, **(party | {"people": party["people"] + 1}))) <= lost + 1e-6
    more_trowels = party | {"power_trowels": party["power_trowels"] + 1}
    assert lost_m2(plan_of(**slab, **more_trowels)) <= lost + 1e-6


@given(slabs, parties)
def test_a_strip_placed_later_is_never_ready_or_hard_earlier(slab, party):
    for before, after in pairwise(plan_of(**slab, **party).strips):
        assert before.ready_early_at <= after.ready_early_at
        assert before.hard_at <= after.hard_at
        for early, late in zip(before.passes, after.passes, strict=True):
            assert early.opens_at <= late.opens_at
            assert early.closes_at <= late.closes_at


@given(slabs, parties)
def test_lost_strips_are_neighbours_and_none_is_lost_without_being_said(slab, party):
    plan = plan_of(**slab, **party)
    lost = [strip.number for strip in plan.strips if strip.lost]
    assert lost == list(range(lost[0], lost[-1] + 1)) if lost else short(plan) is None
    if lost:
        facts = short(plan).facts
        assert (facts["first_bay"], facts["last_bay"]) == (lost[0], lost[-1])
        assert facts["lost_percent"] == pytest.approx(100 * lost_m2(plan) / plan.area_m2)


def test_a_carpenter_alone_in_the_mid_nineties_loses_what_he_pours_over_an_hour():
    # finehomebuilding.com: one carpenter, mid-90s °F, poured over an hour; unworkable at about 1 3/4 h
    plan = plan_of(500, air_f=95, lag_h=1.0, people=1, power_trowels=0)
    assert plan.strips[0].ready_early_at - plan.strips[0].placed_at < timedelta(hours=1.75)
    assert lost_m2(plan) > 0


def test_slower_placing_saves_what_faster_placing_loses():
    party = {"people": 3, "power_trowels": 2}
    assert lost_m2(plan_of(3400, lag_h=0.5, **party)) > 0
    assert lost_m2(plan_of(3400, lag_h=2.5, **party)) == 0


def test_curing_may_begin_on_the_first_strip_while_the_last_is_still_trowelled():
    plan = plan_of(2000, lag_h=2.0, people=4, power_trowels=2)
    assert plan.cure_at == plan.strips[0].finished_at < plan.ends_at == plan.strips[-1].finished_at
