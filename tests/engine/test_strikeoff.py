"""How fast a slab is struck off, by hand and by machine."""

import pytest

from scheduling.engine.inputs import Method, Placing, Reinforcement, Screed
from scheduling.engine.placement import placing_line
from scheduling.engine.strikeoff import (
    LASER_M2_H,
    PULL_M_S,
    people_to_strike,
    strike_off_rate_m2_h,
    strike_width_m,
    struck_m2_h,
)

FOOT_M = 0.3048
INCH_M = 0.0254
YD3_M3 = 0.764555
BOARD_M = 14 * FOOT_M


def yd3_h(people, screed, depth_in=6, method=Method.BOOM_PUMP, area_m2=2000.0):
    crew = Placing(method=method, people=people, screed=screed)
    return placing_line(crew, area_m2, depth_in * INCH_M).rate_m3_h / YD3_M3


def test_two_people_pull_a_bay_in_the_time_the_trade_gives():
    # Common practice, no source: a bay 17 to 18 ft long in 45 to 60 s.
    assert 17 * FOOT_M / PULL_M_S >= 45
    assert 18 * FOOT_M / PULL_M_S <= 60


def test_the_gross_strike_off_is_a_seventh_of_the_pull():
    pull_m2_h = PULL_M_S * BOARD_M * 3600
    assert strike_off_rate_m2_h(BOARD_M, 2) == pytest.approx(pull_m2_h / 7)


@pytest.mark.parametrize(("feet", "people"), [(4, 1), (8, 1), (9, 2), (10, 2), (14, 2), (16, 2)])
def test_a_board_over_eight_feet_takes_two(feet, people):
    # Common practice, no source.
    assert people_to_strike(feet * FOOT_M) == people


def test_one_runs_a_vibrating_screed_as_wide_as_two_pull_a_board():
    # From memory: boards of 4 to 16 ft on a screed that one walks with.
    assert people_to_strike(14 * FOOT_M, Screed.VIBRATING) == 1
    assert strike_width_m(BOARD_M, 1, Screed.VIBRATING) == BOARD_M
    assert strike_width_m(BOARD_M, 1, Screed.HAND) == pytest.approx(8 * FOOT_M)


def test_a_vibrating_screed_strikes_off_nearly_twice_as_much():
    by_hand, vibrating = (
        strike_off_rate_m2_h(BOARD_M, 2, screed) for screed in (Screed.HAND, Screed.VIBRATING)
    )
    assert 1.5 * by_hand < vibrating < 2 * by_hand


@pytest.mark.parametrize("screed", list(Screed))
@pytest.mark.parametrize("people", range(1, 8))
def test_one_more_person_at_the_board_never_strikes_off_less(screed, people):
    width_m = strike_width_m(BOARD_M, people, screed)
    wider_m = strike_width_m(BOARD_M, people + 1, screed)
    assert strike_off_rate_m2_h(wider_m, people + 1, screed) >= strike_off_rate_m2_h(width_m, people, screed)


def test_one_laser_screed_covers_a_hundred_and_ten_thousand_feet_in_twenty_two_hours():
    # Trade magazine, one laser screed and 14 workers.
    area_m2 = 110_000 * FOOT_M**2
    assert area_m2 / strike_off_rate_m2_h(3.0, 3, Screed.LASER) == pytest.approx(22)


def test_a_laser_screed_takes_what_each_of_four_took_on_a_mega_slab():
    # Trade magazine: 315 yd3/h over four laser screeds for 32 h, 79 each; what they strike off at 5 to 6 in.
    at_five, at_six = (LASER_M2_H * depth_in * INCH_M / YD3_M3 for depth_in in (5, 6))
    assert at_five <= 79 <= at_six


def test_crews_of_five_place_with_each_screed_what_the_trade_says():
    # Judgement of the trade, no source: by hand 10 to 20, up to 27 with five; vibrating 20 to 40; laser
    # 50 to 100 with everybody it wants.
    assert 20 <= yd3_h(5, Screed.HAND, depth_in=4, method=Method.CHUTE) <= 27
    assert 20 <= yd3_h(4, Screed.VIBRATING) <= 40
    assert yd3_h(14, Screed.LASER) >= 50


def test_steel_slope_and_fibres_slow_the_board():
    plain = Placing(method=Method.CHUTE, people=5)
    level = struck_m2_h(plain, BOARD_M, 2, 1.0)
    for fields in (
        {"reinforcement": Reinforcement.BARS},
        {"slope": 0.08},
        {"fibres": True},
        {"slump_mm": 60.0},
    ):
        hindered = Placing(method=Method.CHUTE, people=5, **fields)
        assert 0.5 * level < struck_m2_h(hindered, BOARD_M, 2, 1.0) < level


def test_a_quick_crew_does_not_speed_a_laser_screed_past_its_rate():
    crew = Placing(method=Method.CHUTE, people=5, screed=Screed.LASER)
    assert struck_m2_h(crew, 3.0, 3, 1.4) == pytest.approx(LASER_M2_H)
    assert struck_m2_h(crew, 3.0, 3, 0.7) == pytest.approx(0.7 * LASER_M2_H)
