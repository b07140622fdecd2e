"""Each way of bringing concrete, against measured and told rates."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import BadInput, Method, Place, Placing, Supply
from scheduling.engine.methods import (
    METHODS,
    gets_there,
    line_length_m,
    lost_m3,
    moves_min,
    needed_m,
    reach_m,
)
from scheduling.engine.placement import Stage, placing_line

FOOT_M = 0.3048
FT3_M3 = 0.0283168
YD3_M3 = 0.764555
SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)


def line_of(people, method, depth_m=0.12, area_m2=300.0, **fields):
    return placing_line(Placing(method=method, people=people, **fields), area_m2, depth_m)


def best_m3_h(method, **fields):
    """With everybody it can use."""
    return line_of(40, method, depth_m=0.3, **fields).rate_m3_h


def age_min(load_yd3, rate_yd3_h, arrives_old_min=35):
    """Age of one load as it is empty."""
    supply = Supply(truck_m3=8.0, order_step_m3=0.1, loading_min=5, haul_min=arrives_old_min - 5)
    run = deliver((load_yd3 * YD3_M3,), (0,), SEVEN, rate_yd3_h * YD3_M3, supply, Place())
    return run.loads[0].age_min, [finding.code for finding in run.findings]


# --- carts ------------------------------------------------------------------------------------


def test_two_hand_carts_at_a_hundred_and_fifty_feet_bring_eight_yards():
    # Trade magazine: hand cart 3 to 5 yd3/h per man; 8 ft3 in the cart is our choice.
    line = line_of(9, Method.BARROW, carry_m=150 * FOOT_M, barrow_m3=8 * FT3_M3, carts=2)
    assert line.limited_by is Stage.CARRY
    assert line.rate_m3_h / YD3_M3 == pytest.approx(8, abs=0.2)


def test_a_truck_emptied_by_two_hand_carts_is_too_old_and_by_a_power_cart_is_not():
    # 10 yd3 that arrives 35 min old: 75 min at 8 yd3/h makes 110, 34 min at 17.5 makes 69; limit 90.
    carts = line_of(9, Method.BARROW, carry_m=150 * FOOT_M, barrow_m3=8 * FT3_M3, carts=2)
    age, codes = age_min(10, carts.rate_m3_h / YD3_M3)
    assert age == pytest.approx(110, abs=3)
    assert "load_too_old" in codes
    buggy = line_of(9, Method.POWER_BUGGY, carry_m=600 * FOOT_M, carts=1)
    assert buggy.rate_m3_h / YD3_M3 == pytest.approx(17.5)
    age, codes = age_min(10, buggy.rate_m3_h / YD3_M3)
    assert age == pytest.approx(35 + 34, abs=1)
    assert "load_too_old" not in codes


def test_a_family_at_one_and_a_half_yards_an_hour_and_a_gang_at_eleven_are_both_placed():
    # First-hand account: a family moved 6 yd3 by barrow in about 4 h, the driver had seen 22 in 2 h.
    family = line_of(2, Method.BARROW, carry_m=30.0, rate_factor=0.5)
    assert family.rate_m3_h / YD3_M3 == pytest.approx(1.5, abs=0.4)
    gang = line_of(16, Method.BARROW, carry_m=30.0)
    assert gang.rate_m3_h / YD3_M3 >= 11


def test_six_yards_at_one_and_a_half_an_hour_want_smaller_loads():
    # The same account: 240 min to empty; with 60 min left a load may be 1.5 yd3.
    supply = Supply(truck_m3=8.0, order_step_m3=0.1, loading_min=5, haul_min=25)
    run = deliver((6 * YD3_M3,), (0,), SEVEN, 1.5 * YD3_M3, supply, Place())
    (found,) = [finding for finding in run.findings if finding.code == "load_too_old"]
    assert found.facts["largest_load_m3"] / YD3_M3 == pytest.approx(1.5)


@pytest.mark.parametrize(("method", "measured_m3_h"), [(Method.BARROW, 6.69), (Method.POWER_BUGGY, 8.53)])
def test_gangs_place_in_the_range_measured_on_site(method, measured_m3_h):
    # Olaoluwa et al., Lagos: barrow 6.69 m3/h (58 pours), dumper 8.53 (26), delays of a quarter among them.
    for people in (8, 10, 12):
        assert 0.6 * measured_m3_h < 0.75 * line_of(people, method).rate_m3_h < 2 * measured_m3_h


def test_a_second_buggy_brings_twice_as_much_until_the_truck_holds_them():
    one, two, five = (
        line_of(20, Method.POWER_BUGGY, depth_m=0.3, carry_m=300.0, carts=n).rate_m3_h for n in (1, 2, 5)
    )
    assert two == pytest.approx(2 * one)
    assert five < 5 * one


# --- pumps and belts --------------------------------------------------------------------------


@pytest.mark.parametrize("method", [Method.LINE_PUMP, Method.BOOM_PUMP])
def test_pumps_run_at_their_usual_pace_and_no_faster(method):
    # Trade figures: usually 35 to 45 m3/h, whatever the pump is rated.
    assert 35 <= best_m3_h(method) <= 45
    assert best_m3_h(method, rate_factor=1.5) <= 45


def test_a_long_line_is_slower_than_a_short_one():
    assert best_m3_h(Method.LINE_PUMP, line_m=120.0) < best_m3_h(Method.LINE_PUMP, line_m=40.0)


def test_a_belt_gives_what_a_truck_gives_at_its_quickest():
    # From memory: 1 min/yd3.
    assert best_m3_h(Method.CONVEYOR, slump_mm=200.0) == pytest.approx(60 * YD3_M3)


def test_a_usual_boom_loses_half_to_one_yard_in_hopper_and_pipe():
    # From memory.
    assert 0.5 <= lost_m3(Placing(method=Method.BOOM_PUMP, people=5)) / YD3_M3 <= 1.0


@pytest.mark.parametrize("method", [method for method, row in METHODS.items() if not row.is_pump])
def test_what_is_no_pump_loses_nothing_and_is_not_moved(method):
    placing = Placing(method=method, people=5, line_m=50.0, hose_moves=2, pump_moves=1)
    assert lost_m3(placing) == 0
    assert moves_min(placing) == 0


def test_a_line_is_as_long_as_entered_else_as_far_as_it_must_reach():
    crew = Placing(method=Method.LINE_PUMP, people=5, reach_m=80.0)
    assert line_length_m(crew) == 80.0
    assert line_length_m(replace(crew, line_m=95.0)) == 95.0
    assert line_length_m(replace(crew, method=Method.BOOM_PUMP)) == 40.0


# --- reach ------------------------------------------------------------------------------------


def test_what_is_carried_must_get_as_far_as_it_is_carried():
    crew = Placing(method=Method.BARROW, people=5, reach_m=20.0, carry_m=70.0)
    assert needed_m(crew, Method.BARROW) == 70.0
    assert needed_m(crew, Method.CHUTE) == 20.0
    assert not gets_there(crew, Method.BARROW)
    assert gets_there(crew, Method.LINE_PUMP)


def test_a_method_reaches_as_far_as_entered():
    crew = Placing(method=Method.BOOM_PUMP, people=5, reaches_m={Method.BOOM_PUMP: 40.0})
    assert reach_m(crew, Method.BOOM_PUMP) == 40.0
    assert reach_m(crew, Method.CHUTE) == METHODS[Method.CHUTE].reach_m


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("carry_m", -1.0),
        ("carry_m", float("nan")),
        ("rise_m", -0.1),
        ("barrow_m3", 0.0),
        ("barrow_m3", 0.6),
        ("carts", 0),
        ("line_m", 501.0),
        ("hose_moves", -1),
        ("pump_moves", 21),
        ("slump_mm", 301.0),
        ("slope", 0.6),
        ("reaches_m", {Method.CHUTE: 0.0}),
    ],
)
def test_what_cannot_be_is_refused_by_name(field, value):
    with pytest.raises(BadInput) as caught:
        Placing(method=Method.BARROW, people=5, **{field: value})
    assert caught.value.field == field
