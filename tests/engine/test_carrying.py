"""Barrows and buggies, against what was written of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.carrying import (
    BARROW_M3,
    barrow_bound_m3_h,
    barrow_load_m3,
    barrow_rate_m3_h,
    barrow_trips,
    buggy_rate_m3_h,
    carry_distance_m,
    filling_rate_m3_h,
)
from scheduling.engine.inputs import BadInput, Method, Placing

FOOT_M = 0.3048
FT3_M3 = 0.0283168
YD3_M3 = 0.764555


@pytest.mark.parametrize(("feet", "yd3_h"), [(25, 6.67), (50, 5.33), (100, 3.81), (150, 2.96)])
def test_the_most_one_person_wheels_is_gillette_and_hills(feet, yd3_h):
    # Gillette and Hill (1908): 3 ft3, 200 ft/min, 3/4 min lost on a trip (that from memory).
    assert barrow_bound_m3_h(feet * FOOT_M) / YD3_M3 == pytest.approx(yd3_h, abs=0.006)


@given(feet=st.floats(0, 200), ft3=st.floats(1.5, 10))
def test_a_working_hour_brings_a_quarter_to_two_thirds_of_the_bound(feet, ft3):
    rate, bound = (
        wheeled_m3_h(feet * FOOT_M, ft3 * FT3_M3) for wheeled_m3_h in (barrow_rate_m3_h, barrow_bound_m3_h)
    )
    assert bound / 4 < rate < bound * 2 / 3


@pytest.mark.parametrize("feet", [50, 100, 150, 200])
def test_one_barrow_brings_about_what_the_working_rule_says(feet):
    # From memory: 1 to 1.5 yd3/h for each person, taken as holding within half again.
    assert 1.0 <= barrow_rate_m3_h(feet * FOOT_M) / YD3_M3 <= 1.5 * 1.5


@pytest.mark.parametrize("feet", [100, 150, 200])
def test_a_hand_cart_brings_three_to_five_yards(feet):
    # Trade magazine: hand cart 3 to 5 yd3/h; of 8 ft3, our choice.
    assert 3 <= barrow_rate_m3_h(feet * FOOT_M, 8 * FT3_M3) / YD3_M3 <= 5


@pytest.mark.parametrize(("ft3", "trips"), [(3, 9), (2, 14)])
def test_a_yard_is_nine_barrows_on_the_level_and_thirteen_and_a_half_up_a_ramp(ft3, trips):
    # 27 / 3 and 27 / 2; the half trip is one.
    assert barrow_trips(27 * FT3_M3, ft3 * FT3_M3) == trips


def test_a_barrow_of_no_size_makes_no_trips():
    with pytest.raises(BadInput):
        barrow_trips(1.0, 0.0)


def wheeling(**fields):
    return Placing(method=Method.BARROW, people=5, **fields)


def test_a_barrow_takes_three_feet_on_the_level_and_two_up_a_ramp():
    # Gillette and Hill (1908)
    assert barrow_load_m3(wheeling()) == pytest.approx(3 * FT3_M3)
    assert barrow_load_m3(wheeling(carry_m=12.0, rise_m=1.0)) == pytest.approx(2 * FT3_M3)
    assert barrow_load_m3(wheeling(carry_m=5.0, rise_m=5.0)) == pytest.approx(2 * FT3_M3)
    assert 2 * FT3_M3 < barrow_load_m3(wheeling(carry_m=24.0, rise_m=1.0)) < 3 * FT3_M3


def test_the_size_of_the_barrow_is_as_entered():
    assert barrow_load_m3(wheeling(barrow_m3=0.16)) == pytest.approx(0.16)


def test_the_way_is_the_carry_else_the_reach_else_a_usual_one():
    assert carry_distance_m(wheeling(carry_m=0.0, reach_m=30.0)) == 0.0
    assert carry_distance_m(wheeling(reach_m=30.0)) == 30.0
    assert carry_distance_m(wheeling()) == pytest.approx(50 * FOOT_M)


def test_a_power_buggy_brings_fifteen_to_twenty_yards_at_six_hundred_feet():
    # Trade magazine; we take the middle. At 1,000 ft, where it ends being useful, it brings less, nearby
    # never more than the 20.
    assert buggy_rate_m3_h(600 * FOOT_M) / YD3_M3 == pytest.approx(17.5)
    assert 10 < buggy_rate_m3_h(1000 * FOOT_M) / YD3_M3 < 15
    assert buggy_rate_m3_h(100 * FOOT_M) / YD3_M3 == pytest.approx(20)


def test_filling_small_barrows_takes_more_of_the_truck_than_filling_big_ones():
    chute_m3_h = 30.0
    small, big = (filling_rate_m3_h(load_m3, chute_m3_h) for load_m3 in (BARROW_M3, 0.4))
    assert small < big < chute_m3_h


def test_a_negative_way_is_refused():
    with pytest.raises(BadInput):
        barrow_rate_m3_h(-1.0)
