"""Orders into trucks."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduling.engine.inputs import BadInput, Mix, Severity, Supply
from scheduling.engine.loads import load_findings, load_limit, order_in_steps, split_order

YD3 = 0.9144**3
LB = 0.45359237
MIX = Mix(name="4000", strength_mpa=28, aggregate_mm=19, density_kg_m3=2400)


def supply(truck_m3=10.0, order_step_m3=0.25, **more):
    return Supply(truck_m3=truck_m3, order_step_m3=order_step_m3, haul_min=20, **more)


def split(order_m3, limit_m3=10.0, **more):
    return split_order(order_m3, limit_m3, supply(**more))


def told(loads_m3, hold_last_load=False, **more):
    return {found.code: found for found in load_findings(loads_m3, supply(**more), hold_last_load)}


# --- order steps ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("need", "step", "ordered"),
    [
        (9.15, 0.25, 9.25),  # a short pour told on finehomebuilding.com: 8.8 net and 4 %
        (9.68, 0.25, 9.75),  # and 10 %
        (9.75, 0.25, 9.75),
        (9.75001, 0.25, 10.0),
        (0.1 + 0.2, 0.1, 0.3),  # 0.30000000000000004
        (0.01, 0.5, 0.5),
    ],
)
def test_an_order_is_rounded_up_to_the_plants_step(need, step, ordered):
    assert order_in_steps(need, step) == pytest.approx(ordered)


@given(st.integers(1, 4000), st.sampled_from([0.1, 0.25, 0.5, 1.0]))
def test_a_need_in_whole_steps_is_ordered_as_it_is_in_yards_too(steps, step):
    assert order_in_steps(steps * step, step) == pytest.approx(steps * step, rel=1e-12)
    assert order_in_steps(steps * (step * YD3), step * YD3) == pytest.approx(steps * step * YD3, rel=1e-12)


def test_a_step_under_a_litre_is_refused():
    with pytest.raises(BadInput) as caught:
        order_in_steps(10, 0.0009)
    assert caught.value.code == "step_too_small"


# --- what one truck may carry -----------------------------------------------------------------


def test_the_drum_limits_a_truck_without_weights():
    assert load_limit(MIX, supply(truck_m3=8)) == (8, "drum")


def test_the_payload_limits_a_truck_by_the_mixs_density():
    assert load_limit(MIX, supply(payload_kg=18_000)) == (7.5, "payload")


def test_the_road_leaves_what_the_empty_truck_does_not_weigh():
    # A loaded truck weighs about 66,000 lb (rocketconcretecompany.com); 27,000 lb empty is common, no source.
    truck = supply(road_limit_kg=66_000 * LB, truck_empty_kg=27_000 * LB, payload_kg=30_000)
    limit_m3, limited_by = load_limit(MIX, truck)
    assert limited_by == "road"
    assert limit_m3 == pytest.approx(39_000 * LB / 2400)


def test_light_concrete_fills_the_drum_before_it_weighs_too_much():
    light = Mix(name="light", strength_mpa=28, aggregate_mm=10, density_kg_m3=1700)
    assert load_limit(light, supply(payload_kg=18_000)) == (10, "drum")


@pytest.mark.parametrize("empty_kg", [12_000, 12_001])
def test_a_truck_that_alone_weighs_all_the_road_allows_is_refused(empty_kg):
    with pytest.raises(BadInput) as caught:
        load_limit(MIX, supply(road_limit_kg=12_000, truck_empty_kg=empty_kg))
    assert (caught.value.field, caught.value.code) == ("truck_empty_kg", "no_payload_left")


# --- splitting --------------------------------------------------------------------------------


def test_every_load_is_full_but_the_balance():
    # Twenty-six yards, as in a home builder's diary, come in three trucks.
    assert split(26.0) == (10, 10, 6)


def test_whole_trucks_leave_no_balance():
    # A house-building diary: ten 10-yard trucks for 100 yards.
    assert split(100.0) == (10,) * 10


def test_a_load_is_whole_steps_under_the_limit():
    assert split(20.0, limit_m3=7.9) == (7.75, 7.75, 4.5)


def test_a_limit_of_whole_yards_is_not_lost_to_rounding():
    yards = split_order(30 * YD3, 10 * YD3, supply(truck_m3=10 * YD3, order_step_m3=0.25 * YD3))
    assert [load / YD3 for load in yards] == pytest.approx([10, 10, 10])


def test_a_small_balance_is_filled_up_from_the_load_before_it():
    assert split(21.0, minimum_load_m3=4) == (10, 7, 4)


def test_what_one_load_cannot_spare_the_one_before_it_gives():
    assert split(21.0, minimum_load_m3=6) == (9, 6, 6)


def test_a_minimum_between_steps_is_met_by_the_next_step():
    assert split(11.0, minimum_load_m3=2.1) == (8.75, 2.25)


def test_loads_that_cannot_all_reach_the_minimum_are_left_full():
    assert split(11.0, minimum_load_m3=6) == (10, 1)


def test_a_single_small_load_is_told_to_be_short():
    loads = split(1.5, minimum_load_m3=3)
    assert loads == (1.5,)
    found = told(loads, minimum_load_m3=3)["short_load"]
    assert found.severity is Severity.CAUTION
    assert found.facts == {"load": 1, "load_m3": 1.5, "minimum_load_m3": 3}


def test_a_filled_up_balance_is_not_short():
    assert "short_load" not in told(split(21.0, minimum_load_m3=6), minimum_load_m3=6)


def test_a_step_that_no_truck_may_carry_is_refused():
    with pytest.raises(BadInput) as caught:
        split(5.0, limit_m3=0.2)
    assert caught.value.code == "step_above_load"


def test_three_hundred_loads_are_the_most():
    assert len(split(3000.0)) == 300
    with pytest.raises(BadInput) as caught:
        split(3000.25)
    assert caught.value.code == "too_many_loads"


@given(
    st.integers(1, 2000), st.floats(1, 12), st.floats(0, 8), st.sampled_from([0.1, 0.25, 0.5, 1.0, 0.5 * YD3])
)
def test_loads_carry_the_order_and_are_short_only_when_they_must_be(steps, limit_m3, minimum_m3, step_m3):
    order_m3 = steps * step_m3
    assume(steps <= 250 * int(limit_m3 / step_m3))
    loads = split(order_m3, limit_m3=limit_m3, order_step_m3=step_m3, minimum_load_m3=minimum_m3)
    assert sum(loads) == pytest.approx(order_m3, rel=1e-12)
    assert 0 < min(loads) <= max(loads) <= limit_m3 * (1 + 1e-6)
    reachable = step_m3 * round(order_m3 / step_m3 // len(loads)) >= minimum_m3
    assert min(loads) >= minimum_m3 * (1 - 1e-6) or not reachable


# --- the last load ----------------------------------------------------------------------------


def test_the_last_load_waits_for_a_measure():
    # NRMCA CIP 8: measure what is left near the end, so that the last trucks can still be changed.
    found = told((10.0, 10.0, 6.0), hold_last_load=True)["hold_last_load"]
    assert found.severity is Severity.NOTE
    assert found.facts == {"load": 3, "remaining_m3": 6.0}


def test_a_single_load_is_not_held():
    assert told((8.0,), hold_last_load=True) == {}


def test_nothing_is_held_unless_asked():
    assert told((10.0, 6.0), hold_last_load=False) == {}


def test_a_road_limit_without_the_trucks_own_weight_is_told_as_unchecked():
    assert "road_limit_unchecked" in told((8.0,), road_limit_kg=30_000)
    assert told((8.0,), road_limit_kg=30_000, truck_empty_kg=12_000) == {}


def test_a_truck_of_ten_cubic_yards_takes_forty_quarter_steps_however_few_digits_they_were_typed_with():
    loads = split_order(
        80 * 0.19113872, 7.64554858, Supply(truck_m3=7.64554858, order_step_m3=0.19113872, haul_min=20)
    )
    assert loads == pytest.approx((40 * 0.19113872,) * 2)
