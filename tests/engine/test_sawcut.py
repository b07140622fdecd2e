"""When the joints are cut."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import (
    BadInput,
    Finishing,
    Mix,
    Rectangle,
    SawType,
    Section,
    UniformDepth,
    WeatherHour,
)
from scheduling.engine.sawcut import plan_sawing, saw_rate_m_h, saw_window
from scheduling.engine.setting import set_times

FOOT_M = 0.3048
INCH_M = 0.0254
TWO_O_CLOCK = datetime(2026, 7, 14, 19, tzinfo=UTC)  # 14:00 in Kansas
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)
GARAGE = Rectangle(52 * FOOT_M, 38 * FOOT_M)


def celsius(fahrenheit):
    return (fahrenheit - 32) / 1.8


def sets(air_f, placed_at):
    first = placed_at - timedelta(hours=1)
    hours = (WeatherHour(at=first + timedelta(hours=n), air_c=celsius(air_f)) for n in range(120))
    return set_times(MIX, Forecast(tuple(hours)), placed_at)


def plan_of(air_f=70, outline=GARAGE, inches=5, placed_h=6.0, finish_lag_h=0.0, air_c=None, **finishing):
    """A slab placed `placed_h` before it was finished, at two o'clock."""
    strip = sets(air_f, TWO_O_CLOCK - timedelta(hours=placed_h))
    return plan_sawing(
        [Section(outline, UniformDepth(inches * INCH_M))],
        inches * INCH_M,
        Finishing(people=2, **finishing),
        TWO_O_CLOCK,
        TWO_O_CLOCK + timedelta(hours=finish_lag_h),
        strip,
        strip,
        air_c,
    )


def hours_after(moment):
    return (moment - TWO_O_CLOCK).total_seconds() / 3600


def codes(plan):
    return {finding.code for finding in plan.findings}


def test_finished_at_two_in_heat_is_first_checked_at_six_the_same_day():
    # Trade magazine and ACI 302.1R-15: from 4 h after finishing in hot weather, not the next morning
    plan = plan_of(air_f=92)
    assert hours_after(plan.opens_at) == pytest.approx(4.0)
    assert hours_after(plan.last_call_at) < 17  # before seven the next morning


def test_in_cold_the_first_check_may_be_the_next_day():
    opens_h = hours_after(plan_of(air_f=40, placed_h=12).opens_at)
    assert 10 < opens_h <= 24  # past midnight


@pytest.mark.parametrize(
    ("saw", "hot_h", "cold_h"), [(SawType.CONVENTIONAL, 4, 12), (SawType.EARLY_ENTRY, 1, 4)]
)
def test_the_first_try_runs_from_the_hot_to_the_cold_end_of_the_published_range(saw, hot_h, cold_h):
    # ACI 302.1R-15: 4 h hot to 12 h cold; ACI 224.4R-13: about 1 h hot, 4 h cold
    assert saw_window(saw, celsius(90)).opens_h == pytest.approx(hot_h)
    assert saw_window(saw, celsius(50)).opens_h == pytest.approx(cold_h, rel=0.2)
    assert hot_h < saw_window(saw, celsius(70)).opens_h < cold_h


def test_a_mild_day_lies_within_the_canadian_range():
    # CSA A23.1-94: 6 to 18 h
    window = saw_window(SawType.CONVENTIONAL, celsius(70))
    assert 6 <= window.opens_h < window.closes_h <= 18


def test_an_early_entry_saw_has_until_an_ordinary_one_could_start():
    for fahrenheit in (50, 70, 90):
        early = saw_window(SawType.EARLY_ENTRY, celsius(fahrenheit))
        ordinary = saw_window(SawType.CONVENTIONAL, celsius(fahrenheit))
        assert early.closes_h == pytest.approx(ordinary.opens_h)


@given(air_c=st.floats(-15, 45), saw=st.sampled_from(list(SawType)))
def test_a_window_is_open_and_shut_within_a_day(air_c, saw):
    # Common practice, no source: never later than 24 h
    window = saw_window(saw, air_c)
    assert 0 < window.opens_h < window.closes_h <= 24


@given(air_c=st.floats(-15, 44), saw=st.sampled_from(list(SawType)))
def test_warmer_is_never_later(air_c, saw):
    assert saw_window(saw, air_c + 1).opens_h <= saw_window(saw, air_c).opens_h
    assert saw_window(saw, air_c + 1).closes_h <= saw_window(saw, air_c).closes_h


def test_the_saw_changes_the_window():
    ordinary, early = plan_of(placed_h=8), plan_of(placed_h=8, saw=SawType.EARLY_ENTRY)
    assert early.opens_at < ordinary.opens_at
    assert early.last_call_at < ordinary.last_call_at


def test_nothing_is_cut_before_it_has_set():
    # Finished an hour after placing in the cool: the saw waits for final set, not for the clock
    plan = plan_of(air_f=50, placed_h=1, saw=SawType.EARLY_ENTRY)
    strip = sets(50, TWO_O_CLOCK - timedelta(hours=1))
    assert plan.opens_at == strip.final.likely
    assert plan.last_call_at > plan.opens_at


def test_without_the_air_at_finishing_the_mean_while_it_set_is_taken():
    assert plan_of(air_f=60).opens_at == plan_of(air_f=60, air_c=celsius(60)).opens_at
    assert plan_of(air_f=60, air_c=celsius(90)).opens_at < plan_of(air_f=60).opens_at


@pytest.mark.parametrize(("inches", "feet_a_day"), [(1, 2000), (1.5, 1800), (2, 1600), (1.25, 1900)])
def test_one_saw_cuts_what_the_cost_book_says(inches, feet_a_day):
    # Published cost book, from memory: green concrete, feet in an 8 h day
    assert saw_rate_m_h(inches * INCH_M) == pytest.approx(feet_a_day * FOOT_M / 8)


def test_a_deeper_cut_is_slower_and_never_stands_still():
    rates = [saw_rate_m_h(inches * INCH_M) for inches in (1, 1.5, 2, 3, 6)]
    assert rates == sorted(rates, reverse=True)
    assert rates[-1] > 0


def test_a_garage_slab_is_cut_in_an_hour():
    plan = plan_of()
    assert plan.length_m == pytest.approx((3 * 38 + 2 * 52) * FOOT_M)
    assert plan.depth_m == pytest.approx(1.25 * INCH_M)
    assert plan.hours_needed == pytest.approx(218 / 1900 * 8)
    assert plan.ends_at - plan.starts_at == timedelta(hours=plan.hours_needed)
    assert "saw_short" not in codes(plan)


def test_a_big_slab_is_more_than_one_saw_can_cut_in_time():
    plan = plan_of(air_f=90, outline=Rectangle(300 * FOOT_M, 150 * FOOT_M), inches=6)
    (found,) = [f for f in plan.findings if f.code == "saw_short"]
    assert found.facts["hours_needed"] > found.facts["window_h"] == pytest.approx(4)
    assert found.facts["saws_needed"] == -(-plan.hours_needed // 4)


def test_the_last_strip_is_not_cut_before_it_is_ready():
    plan = plan_of(air_f=90, finish_lag_h=5)
    assert hours_after(plan.opens_at) == pytest.approx(4)
    assert hours_after(plan.ends_at) == pytest.approx(9)
    assert hours_after(plan.last_call_at) == pytest.approx(13)


def test_a_pad_without_joints_needs_nobody_at_the_saw():
    plan = plan_of(outline=Rectangle(3.0, 3.0))
    assert (plan.starts_at, plan.ends_at, plan.hours_needed) == (None, None, 0)


def test_a_spacing_over_thirty_six_thicknesses_is_warned_of():
    # ACI 302.1R: 24 to 36 thicknesses
    assert "joint_spacing_wide" in codes(plan_of(inches=4, joint_spacing_m=4.0))
    assert "joint_spacing_wide" not in codes(plan_of(inches=4, joint_spacing_m=3.6))


def test_every_section_has_its_own_layout():
    sections = [
        Section(Rectangle(12.0, 12.0), UniformDepth(0.1)),
        Section(Rectangle(9.0, 3.0), UniformDepth(0.1)),
    ]
    strip = sets(70, TWO_O_CLOCK - timedelta(hours=6))
    plan = plan_sawing(sections, 0.1, Finishing(people=2), TWO_O_CLOCK, TWO_O_CLOCK, strip, strip)
    assert len(plan.layouts) == 2
    assert plan.length_m == pytest.approx(sum(layout.length_m for layout in plan.layouts))


@pytest.mark.parametrize(("sections", "lag_h"), [(0, 1), (1, -1)])
def test_nothing_to_cut_or_an_end_before_the_start_is_refused(sections, lag_h):
    strip = sets(70, TWO_O_CLOCK - timedelta(hours=6))
    last = TWO_O_CLOCK + timedelta(hours=lag_h)
    slab = [Section(GARAGE, UniformDepth(0.1))] * sections
    with pytest.raises(BadInput):
        plan_sawing(slab, 0.1, Finishing(people=2), TWO_O_CLOCK, last, strip, strip)
