"""Methods and headcounts side by side."""

import math
import time

import pytest

from scheduling.engine.comparison import Choice, compare, comparison_findings
from scheduling.engine.inputs import BadInput, Method, Place, Placing, Supply
from scheduling.engine.placement import placing_line

FOOT_M = 0.3048
INCH_M = 0.0254
YD3_M3 = 0.764555
GARAGE_M2, DEPTH_M = 52 * 38 * FOOT_M**2, 5 * INCH_M
LOADS_M3 = (9 * YD3_M3,) * 3 + (5 * YD3_M3,)
SUPPLY = Supply(truck_m3=9 * YD3_M3, order_step_m3=0.2, haul_min=20)
CREW = Placing(method=Method.CHUTE, people=5, reach_m=3.0)


def table(placing=CREW, loads_m3=LOADS_M3, supply=SUPPLY, place=None, **limits):
    return compare(placing, GARAGE_M2, DEPTH_M, loads_m3, supply, place or Place(), **limits)


def one(choices, method, people):
    (found,) = [choice for choice in choices if (choice.method, choice.people) == (method, people)]
    return found


def test_every_method_is_there_with_three_to_eight_people_as_the_line_itself_would_place():
    choices = table()
    assert [(c.method, c.people) for c in choices] == [(m, n) for m in Method for n in range(3, 9)]
    for choice in choices:
        placing = Placing(method=choice.method, people=choice.people, reach_m=3.0)
        assert choice.rate_m3_h == pytest.approx(placing_line(placing, GARAGE_M2, DEPTH_M).rate_m3_h)


def test_more_people_are_never_longer_at_it():
    choices = table()
    for method in Method:
        hours = [choice.hours for choice in choices if choice.method is method]
        assert hours == sorted(hours, reverse=True)


def test_hours_are_the_volume_over_the_rate_where_nothing_else_holds_it():
    choice = one(table(), Method.CHUTE, 5)
    assert choice.hours == pytest.approx(32 * YD3_M3 / choice.rate_m3_h)


def test_a_slow_plant_holds_every_method_to_its_pace():
    slow = Supply(truck_m3=9 * YD3_M3, order_step_m3=0.2, haul_min=20, plant_rate_m3_h=9.0)
    free, held = one(table(), Method.BOOM_PUMP, 8), one(table(supply=slow), Method.BOOM_PUMP, 8)
    assert held.rate_m3_h == free.rate_m3_h
    assert held.hours > 3 * 9 * YD3_M3 / 9.0 > free.hours


def test_a_faster_crew_wants_more_trucks():
    # Trade arithmetic: round trip over the interval, rounded up, no more than there are loads.
    choices = table(loads_m3=(9 * YD3_M3,) * 12)
    assert one(choices, Method.BARROW, 4).trucks < one(choices, Method.BOOM_PUMP, 8).trucks
    slow = one(choices, Method.CHUTE, 5)
    unload = 60 * 9 * YD3_M3 / slow.rate_m3_h
    assert slow.trucks == math.ceil((5 + 20 + unload + 5 + 20) / math.ceil(unload))


def test_what_does_not_get_there_is_marked():
    far = table(Placing(method=Method.CHUTE, people=5, reach_m=250 * FOOT_M))
    reach = {choice.method for choice in far if choice.within_reach}
    # Trade magazine: hand carts not beyond 200 ft, power carts to about 1,000 ft.
    assert reach == {Method.POWER_BUGGY, Method.LINE_PUMP}
    assert all(choice.within_reach for choice in table())


def test_a_pumps_moves_are_in_its_hours():
    moving = Placing(method=Method.CHUTE, people=5, reach_m=3.0, pump_moves=1)
    boom = one(table(moving), Method.BOOM_PUMP, 5)
    assert boom.hours == pytest.approx(one(table(), Method.BOOM_PUMP, 5).hours + 40 / 60)
    assert one(table(moving), Method.CHUTE, 5) == one(table(), Method.CHUTE, 5)


def test_people_slowed_by_the_weather_take_longer():
    assert one(table(capacity=0.7), Method.CHUTE, 5).hours > one(table(), Method.CHUTE, 5).hours


def test_a_much_quicker_way_is_told_of():
    barrows = Placing(method=Method.BARROW, people=5, reach_m=15.0)
    (note,) = comparison_findings(table(barrows), barrows)
    assert note.code == "quicker_way"
    best = min((c for c in table(barrows) if c.people == 5 and c.within_reach), key=lambda c: c.hours)
    assert note.facts["method"] == best.method.value
    assert note.facts["takes_min"] == pytest.approx(60 * best.hours)
    assert note.facts["booked_min"] == pytest.approx(60 * one(table(barrows), Method.BARROW, 5).hours)


def test_a_little_quicker_a_way_out_of_reach_or_one_for_others_is_not():
    chute = Choice(Method.CHUTE, 5, 20.0, 1.5, 3, True)
    assert comparison_findings((chute, Choice(Method.BOOM_PUMP, 5, 22.0, 1.35, 3, True)), CREW) == ()
    assert comparison_findings((chute, Choice(Method.BOOM_PUMP, 5, 40.0, 0.8, 3, False)), CREW) == ()
    assert comparison_findings((chute, Choice(Method.BOOM_PUMP, 8, 40.0, 0.8, 3, True)), CREW) == ()
    assert comparison_findings((Choice(Method.BOOM_PUMP, 5, 40.0, 0.8, 3, True),), CREW) == ()
    assert comparison_findings((chute, Choice(Method.BOOM_PUMP, 5, 40.0, 0.8, 3, True)), CREW) != ()


@pytest.mark.parametrize("people", [range(0), range(3), range(2, 9, 2)])
def test_headcounts_that_do_not_count_up_one_by_one_are_refused(people):
    with pytest.raises(BadInput) as caught:
        table(people=people)
    assert caught.value.field == "people"


def test_the_whole_table_takes_less_than_fifteen_milliseconds():
    spent = []
    for _ in range(10):
        began = time.perf_counter()
        table(loads_m3=(9 * YD3_M3,) * 12)
        spent.append(time.perf_counter() - began)
    assert min(spent) < 0.015
