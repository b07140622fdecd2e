import math
from datetime import UTC, datetime

import numpy as np
import pytest

from scheduling.engine.arrivals import Question
from scheduling.engine.chance import Draws, draw_days
from scheduling.engine.inputs import Costs, Place, Supply, Uncertainty
from scheduling.engine.queueing import Round, round_for, simulate
from scheduling.engine.risk import DeliveryRisk, delivery_risk
from scheduling.engine.stakes import stakes_for

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
YARD_M3 = 0.764554857984  # exact, from the international yard
CERTAIN = Uncertainty(late_mean_min=0, late_sd_min=0, unload_cv=0, overtaking_chance=0)


def risk(
    loads, interval, unload_min, place=None, luck=CERTAIN, days=1, cold_joint_min=60.0, **changes
) -> DeliveryRisk:
    told = {"truck_m3": 8.0, "order_step_m3": 0.25, "loading_min": 0.0, "haul_min": 30.0, **changes}
    supply = Supply(**told)
    loads_m3 = (7.0,) * loads
    draws = draw_days(loads_m3, 60 * 7 / unload_min, supply.haul_min, luck, days, 1)
    turn = round_for(loads_m3, supply, place or Place(), luck.changeover_min, SEVEN)
    stakes = stakes_for(loads_m3, Costs(), supply.age_limit_min, cold_joint_min, SEVEN)
    return delivery_risk(simulate(np.arange(loads) * interval, turn, draws), draws, stakes)


def dead(told: DeliveryRisk) -> list[int]:
    return [load.number for load in told.loads if load.dead_chance > 0]


def test_six_trucks_at_once_lose_the_fifth_and_sixth():
    # a contractor's story: 15 min a truck, 30 min old on arrival; 90 min as in ASTM C94/C94M-21
    together = risk(6, 0, 15)
    assert [load.age_mean_min for load in together.loads] == pytest.approx([45, 60, 75, 90, 105, 120])
    assert dead(together) == [5, 6]
    assert together.dead_loads_mean == 2
    assert together.any_dead_chance == 1
    assert [load.age_mean_min for load in risk(6, 15, 15).loads] == pytest.approx([45] * 6)


def test_trucks_kept_beyond_their_free_minutes_are_charged_for():
    # worked by hand: six at once are on site 15, 30 .. 90 min; 7 min a yard frees 64.1 of them for 7 m3,
    # so 10.9 and 25.9 min are over, at 130 an hour
    over_min = (75 - 7 * 7 / YARD_M3) + (90 - 7 * 7 / YARD_M3)
    assert risk(6, 0, 15).wait_fees_mean == pytest.approx(130 * over_min / 60)
    assert risk(6, 15, 15).wait_fees_mean == 0


def test_a_spacing_slightly_too_tight_kills_only_the_eleventh():
    # our arithmetic after that story: unload 16, every 12, 35 min old on arrival
    tight = risk(11, 12, 16, haul_min=35.0)
    assert [load.wait_mean_min for load in tight.loads] == pytest.approx([4 * n for n in range(11)])
    assert tight.loads[9].age_mean_min == pytest.approx(87)
    assert dead(tight) == [11]
    assert dead(risk(11, 16, 16, haul_min=35.0)) == []


def test_room_for_one_truck_stretches_the_pour_by_its_changeovers():
    # a diary: the second truck tried to pass the first on a soft drive; 5 min to swap is our choice
    narrow = risk(4, 15, 10, place=Place(one_truck_at_a_time=True))
    assert narrow.crew_wait_mean_min == pytest.approx(15)
    assert narrow.truck_wait_mean_min == 0


def test_fifteen_trucks_of_a_published_example_end_after_three_hours_and_three_quarters():
    # a published teaching example: 8 m3 at 32 m3/h, every 15 min
    assert risk(15, 15, 15).finish_mean_min == pytest.approx(3 * 60 + 45)


@pytest.mark.parametrize(("gap", "chance"), [(59, 0), (60, 0), (61, 1)])
def test_an_interruption_over_the_limit_is_a_cold_joint(gap, chance):
    # the same example: an hour's interruption is the hold point
    told = risk(2, 15 + gap, 15)
    assert told.cold_joint_chance == chance
    assert told.gap_p90_min == pytest.approx(gap)


def test_days_are_summed_up_as_they_are():
    # two trucks due at 0 and 10 on ten days; unloading takes 6 .. 15 min, the same for both
    unload = np.tile(np.arange(6.0, 16.0), (2, 1))
    draws = Draws(np.zeros((2, 10)), unload, (10.0, 10.0), 0.0)
    paths = simulate(np.array([0.0, 10.0]), Round(30.0, 0.0, 0.0, (0.0, 0.0)), draws)
    stakes = stakes_for((7.0, 7.0), Costs(crew_per_h=60, truck_per_h=60), 48, 3.5, SEVEN)
    told = delivery_risk(paths, draws, stakes)
    waits = [max(0, minutes - 10) for minutes in range(6, 16)]
    assert told.days == 10
    assert told.all_trucks_wait_mean_min == pytest.approx(sum(waits) / 10)
    assert told.truck_wait_mean_min == pytest.approx(sum(waits) / 20)
    assert told.all_trucks_wait_p90_min == pytest.approx(np.quantile(waits, 0.9))
    assert told.crew_wait_mean_min == pytest.approx((4 + 3 + 2 + 1) / 10)
    assert told.finish_mean_min == pytest.approx(sum(10 + max(0, m - 10) + m for m in range(6, 16)) / 10)
    # the second is 20 min and twice its unloading old: exactly 48 at 14 min, too old at 15
    assert [load.dead_chance for load in told.loads] == pytest.approx([0, 0.1])
    assert told.any_dead_chance == pytest.approx(0.1)
    assert told.cold_joint_chance == pytest.approx(0.1)
    assert told.loads[1].start_mean_min == pytest.approx(10 + sum(waits) / 10)
    assert told.loads[1].wait_p90_min == pytest.approx(np.quantile(waits, 0.9))
    assert told.cost == pytest.approx(1.0 + sum(waits) / 10 + 1500 * 0.1 + 5000 * 0.1)


def test_nine_days_of_ten_end_within_the_spread():
    told = risk(8, 15, 14, luck=Uncertainty(), days=4000)
    question_days = 4000
    assert told.days == question_days
    assert told.finish_p05_min < told.finish_mean_min < told.finish_p95_min
    draws = draw_days((7.0,) * 8, 30.0, 30.0, Uncertainty(), question_days, 99)
    turn = Round(30.0, 35.0, 0.0, (0.0,) * 8)
    ends = simulate(np.arange(8) * 15.0, turn, draws).end[-1]
    within = np.mean((ends > told.finish_p05_min) & (ends < told.finish_p95_min))
    assert within == pytest.approx(0.9, abs=0.02)


def test_late_trucks_and_slow_ones_make_later_loads_older():
    told = risk(10, 14, 14, luck=Uncertainty(), days=2000)
    waits = [load.wait_mean_min for load in told.loads]
    assert waits[0] < waits[3] < waits[9]
    assert all(load.age_p90_min > load.age_mean_min for load in told.loads)
    assert all(load.wait_p90_min > load.wait_mean_min for load in told.loads)


def test_a_single_load_has_no_gap():
    told = risk(1, 0, 15)
    assert (told.gap_p90_min, told.cold_joint_chance, len(told.loads)) == (0, 0, 1)


def test_nothing_of_numpy_is_left_in_the_answer():
    told = risk(3, 15, 14, luck=Uncertainty(), days=50)
    numbers = [getattr(told, name) for name in told.__slots__ if name != "loads"]
    assert {type(number) for number in numbers} == {int, float}
    assert {type(getattr(load, name)) for load in told.loads for name in load.__slots__} == {int, float}
    assert all(math.isfinite(number) for number in numbers)


def test_a_question_asked_again_has_not_changed_its_answer():
    supply = Supply(truck_m3=8.0, order_step_m3=0.25, haul_min=20.0)
    draws = draw_days((7.0,) * 5, 30.0, 20.0, Uncertainty(), 100, 1)
    question = Question(
        round_for((7.0,) * 5, supply, Place(), 0, SEVEN),
        draws,
        stakes_for((7.0,) * 5, Costs(), 90.0, 60.0, SEVEN),
    )
    asked = np.arange(5) * 15.0
    first = question.cost(asked)
    question.cost(asked * 2)
    assert question.cost(asked) == first
