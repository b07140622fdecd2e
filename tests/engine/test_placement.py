"""How fast a crew places, and what holds it to that."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.inputs import BadInput, Method, Placing, Reinforcement, Severity
from scheduling.engine.methods import CHUTE_FLOW_M3_H
from scheduling.engine.placement import Stage, placing_line
from scheduling.engine.strikeoff import strike_off_rate_m2_h

FOOT_M = 0.3048
INCH_M = 0.0254
YD3_M3 = 0.764555
GARAGE_M2 = 52 * 38 * FOOT_M**2


def line_of(people, depth_in=4.5, area_m2=GARAGE_M2, **placing):
    return placing_line(
        Placing(**{"method": Method.CHUTE, "people": people, **placing}), area_m2, depth_in * INCH_M
    )


def finding(line, code):
    (found,) = [f for f in line.findings if f.code == code]
    return found


def codes(line):
    return {f.code for f in line.findings}


@pytest.mark.parametrize("depth_in", [4, 4.5, 5])
def test_five_people_by_chute_place_two_loads_in_about_forty_minutes(depth_in):
    # Common practice, no source: 18 yd3 from two 9 yd3 loads in about 40 min, a cloudy 65 F
    # morning, hand strike-off with a two-person 14 ft straightedge, slab 52 x 38 ft.
    yd3_h = line_of(5, depth_in).rate_m3_h / YD3_M3
    assert 24 <= yd3_h <= 30
    assert 36 <= 18 / yd3_h * 60 <= 45


def test_five_people_stand_one_at_the_chute_two_raking_two_at_the_board():
    teams = line_of(5).teams
    assert [(team.stages, team.people) for team in teams] == [
        ((Stage.UNLOAD,), 1),
        ((Stage.RAKE,), 2),
        ((Stage.STRIKE_OFF, Stage.BULL_FLOAT), 2),
    ]


def test_crews_of_four_and_five_place_what_hand_screed_crews_place():
    # Judgement of the trade, no source: 10-20, up to 27 yd3/h for a crew of 4 to 5.
    assert 10 <= line_of(4).rate_m3_h / YD3_M3 <= 20
    assert 20 <= line_of(5).rate_m3_h / YD3_M3 <= 27


def test_half_a_crew_of_four_places_about_half():
    # First-hand account: four planned at 20 yd3/h; with two there, about 10.
    assert line_of(2).rate_m3_h / line_of(4).rate_m3_h == pytest.approx(0.5, abs=0.1)


def test_a_team_by_turns_goes_as_the_sum_of_its_times():
    (team,) = line_of(1).teams
    assert team.stages == (Stage.UNLOAD, Stage.RAKE, Stage.STRIKE_OFF, Stage.BULL_FLOAT)
    unload, rake, depth_m = CHUTE_FLOW_M3_H, 10.0, 4.5 * INCH_M
    strike, bull = strike_off_rate_m2_h(8 * FOOT_M, 1) * depth_m, 500 * depth_m
    assert team.rate_m3_h == pytest.approx(1 / (1 / unload + 1 / rake + 1 / strike + 1 / bull))


def test_one_person_alone_strikes_no_wider_than_eight_feet():
    assert line_of(1, straightedge_m=4.27).strike_width_m == pytest.approx(8 * FOOT_M)
    assert line_of(5, straightedge_m=4.27).strike_width_m == pytest.approx(4.27)
    assert line_of(5, straightedge_m=2.0).strike_width_m == pytest.approx(2.0)


def test_a_pad_narrower_than_the_board_is_struck_in_one_strip():
    assert line_of(5, area_m2=9.0).strike_width_m == pytest.approx(3.0)


def test_a_shorter_board_makes_the_line_no_faster():
    assert line_of(5, straightedge_m=2.4).rate_m3_h < line_of(5, straightedge_m=4.27).rate_m3_h


@pytest.mark.parametrize("method", list(Method))
@given(people=st.integers(1, 59), depth_in=st.floats(3, 12), factor=st.floats(0.3, 2.0))
def test_one_more_person_never_slows_the_line_and_the_finding_tells_the_truth(
    method, people, depth_in, factor
):
    crew = {"method": method, "rate_factor": factor}
    line, bigger = line_of(people, depth_in, **crew), line_of(people + 1, depth_in, **crew)
    assert bigger.rate_m3_h >= line.rate_m3_h - 1e-9
    assert finding(line, "limiting_stage").facts["one_more_person_m3_h"] == pytest.approx(bigger.rate_m3_h)
    assert line.rate_m3_h == min(team.rate_m3_h for team in line.teams)


def test_the_truck_holds_a_big_crew_and_says_so():
    # From memory: a truck gives its load on open slab in 1 to 2 min/yd3, so 30 to 60 yd3/h.
    line = line_of(14)
    assert line.limited_by is Stage.UNLOAD
    assert line.rate_m3_h == pytest.approx(CHUTE_FLOW_M3_H)
    assert 30 <= line.rate_m3_h / YD3_M3 <= 60
    facts = finding(line, "limiting_stage").facts
    assert facts["stage"] == "unload"
    assert facts["one_more_person_m3_h"] == pytest.approx(facts["rate_m3_h"])


def test_people_the_line_cannot_use_are_told_of():
    line = line_of(30)
    used = sum(team.people for team in line.teams)
    assert finding(line, "spare_people").facts["people"] == 30 - used > 0
    assert "spare_people" not in codes(line_of(5))


def test_a_crews_own_record_moves_people_but_not_the_truck():
    assert line_of(5, rate_factor=0.8).rate_m3_h == pytest.approx(0.8 * line_of(5).rate_m3_h)
    assert line_of(30, rate_factor=1.5).rate_m3_h == pytest.approx(CHUTE_FLOW_M3_H)


def test_steel_slows_the_line_and_bars_more_than_mesh():
    plain, mesh, bars = (line_of(5, reinforcement=steel).rate_m3_h for steel in Reinforcement)
    assert plain > mesh > bars > 0.7 * plain


def test_a_longer_chute_is_slower_and_takes_another_hand():
    assert line_of(5, method=Method.EXTENDED_CHUTE).rate_m3_h < line_of(5).rate_m3_h
    big = line_of(14, method=Method.EXTENDED_CHUTE)
    assert next(team.people for team in big.teams if Stage.UNLOAD in team.stages) == 2


def test_thirty_feet_is_beyond_any_chute_from_there_and_the_others_come_with_their_own_rates():
    # A US ready-mix supplier: chutes with extensions reach about 12 ft. The trade's way out: a second
    # truck position, carts, or a pump.
    stop = finding(line_of(5, reach_m=30 * FOOT_M), "out_of_reach")
    assert stop.severity is Severity.STOP
    assert stop.facts["reach_m"] == pytest.approx(12 * FOOT_M)
    assert stop.facts["needed_m"] == pytest.approx(30 * FOOT_M)
    assert stop.facts["second_truck_position"] is True
    assert stop.facts["extended_chute"] is False
    assert "extended_chute_m3_h" not in stop.facts
    for method in ("barrow", "power_buggy", "line_pump", "boom_pump", "conveyor"):
        assert stop.facts[method] is True
        there = line_of(5, reach_m=30 * FOOT_M, method=Method(method))
        assert stop.facts[f"{method}_m3_h"] == pytest.approx(there.rate_m3_h)
        assert "out_of_reach" not in codes(there)


def test_a_plant_whose_trucks_discharge_at_the_front_reaches_farther():
    front = {"reach_m": 20 * FOOT_M, "reaches_m": {Method.CHUTE: 22 * FOOT_M}}
    assert "out_of_reach" not in codes(line_of(5, **front))
    assert finding(line_of(5, reach_m=20 * FOOT_M), "out_of_reach").facts["reach_m"] < 20 * FOOT_M


def test_an_extension_chute_is_offered_where_it_gets_there():
    # Common practice, no source: a 10 ft extension chute adds about 6 ft.
    assert finding(line_of(5, reach_m=17 * FOOT_M), "out_of_reach").facts["extended_chute"] is True
    longer = line_of(5, reach_m=17 * FOOT_M, method=Method.EXTENDED_CHUTE)
    assert "out_of_reach" not in codes(longer)


@pytest.mark.parametrize("reach_m", [None, 0.0, 2.7, 12 * FOOT_M])
def test_what_the_chute_reaches_is_no_matter(reach_m):
    assert "out_of_reach" not in codes(line_of(5, reach_m=reach_m))


def test_two_people_are_a_thin_crew_and_three_are_not():
    assert finding(line_of(2), "crew_thin").severity is Severity.CAUTION
    assert "crew_thin" not in codes(line_of(3))


@pytest.mark.parametrize(("area_m2", "depth_m", "field"), [(0, 0.1, "area_m2"), (50, 0, "depth_m")])
def test_a_slab_without_size_is_refused(area_m2, depth_m, field):
    with pytest.raises(BadInput) as caught:
        placing_line(Placing(method=Method.CHUTE, people=5), area_m2, depth_m)
    assert caught.value.field == field


def test_a_crew_of_thirty_is_laid_out_in_no_time():
    spent = []
    for _ in range(20):
        began = time.perf_counter()
        line_of(30)
        spent.append(time.perf_counter() - began)
    assert min(spent) < 0.005


def test_half_the_people_by_any_way_place_from_a_third_to_all_of_it():
    # First-hand account: four planned, two there at the start; the rate goes with the people.
    for method in Method:
        four, two = line_of(4, method=method), line_of(2, method=method)
        assert 0.3 * four.rate_m3_h < two.rate_m3_h < 0.8 * four.rate_m3_h


def test_people_slowed_by_the_weather_place_that_much_less_and_the_truck_gives_as_much():
    whole = line_of(5).rate_m3_h
    slowed = placing_line(Placing(method=Method.CHUTE, people=5), GARAGE_M2, 4.5 * INCH_M, capacity=0.75)
    assert slowed.rate_m3_h == pytest.approx(0.75 * whole)
    assert slowed.capacity == 0.75
    crowd = placing_line(Placing(method=Method.CHUTE, people=40), GARAGE_M2, 4.5 * INCH_M, capacity=0.9)
    assert crowd.rate_m3_h == pytest.approx(CHUTE_FLOW_M3_H)


@pytest.mark.parametrize("capacity", [0.0, 1.01])
def test_a_capacity_of_nothing_or_of_more_than_all_is_refused(capacity):
    with pytest.raises(BadInput) as caught:
        placing_line(Placing(method=Method.CHUTE, people=5), GARAGE_M2, 0.1, capacity)
    assert caught.value.field == "capacity"


def test_the_limit_says_who_stands_where():
    facts = finding(line_of(5), "limiting_stage").facts
    assert facts["posts"] == "unload:1,rake:2,strike_off+bull_float:2"
    assert finding(line_of(5, method=Method.BOOM_PUMP), "limiting_stage").facts["posts"].startswith("carry:1")


def test_barrows_are_refused_beyond_two_hundred_feet_and_a_buggy_is_not():
    # Trade magazine: hand carts not beyond 200 ft, power carts to about 1,000 ft.
    far = {"carry_m": 250 * FOOT_M}
    stop = finding(line_of(5, method=Method.BARROW, **far), "out_of_reach")
    assert stop.facts["reach_m"] == pytest.approx(200 * FOOT_M)
    assert "out_of_reach" not in codes(line_of(5, method=Method.POWER_BUGGY, **far))
    assert "out_of_reach" not in codes(line_of(5, method=Method.BARROW, carry_m=200 * FOOT_M))
    assert "out_of_reach" in codes(line_of(5, method=Method.POWER_BUGGY, carry_m=1001 * FOOT_M))


def test_barrow_loads_are_counted_from_the_barrow_there_is():
    # A yard is 9 loads of 3 ft3 or 13.5 of 2, never a fixed number.
    yards = GARAGE_M2 * 4.5 * INCH_M / YD3_M3
    level = finding(line_of(5, method=Method.BARROW), "barrow_trips").facts
    assert level["trips"] == pytest.approx(9 * yards, abs=1.1)  # the last one is a whole trip
    ramp = finding(line_of(5, method=Method.BARROW, carry_m=10.0, rise_m=2.0), "barrow_trips").facts
    assert ramp["trips"] == pytest.approx(13.5 * yards, abs=1.1)
    assert "barrow_trips" not in codes(line_of(5))


def test_a_pumps_line_full_of_concrete_is_told_of():
    found = finding(line_of(5, method=Method.LINE_PUMP, line_m=60.0), "line_volume")
    # 3 in pipe: pi/4 0.0762^2 = 4.56 l/m, and a hopper of 0.15 m3.
    assert found.facts["lost_m3"] == pytest.approx(60 * 0.00456 + 0.15, rel=1e-3)
    assert line_of(5, method=Method.LINE_PUMP, line_m=60.0).lost_m3 == found.facts["lost_m3"]
    assert "line_volume" not in codes(line_of(5))


def test_moving_a_pump_takes_its_set_up_again():
    # WorkSafeBC 2023181300014: a pump moved twice; each move takes time and holds the trucks.
    still = line_of(5, method=Method.BOOM_PUMP)
    moved = line_of(5, method=Method.BOOM_PUMP, pump_moves=2, hose_moves=1)
    assert still.moves_min == 0
    assert moved.moves_min >= 2 * still.setup_min
    assert finding(moved, "method_setup").facts["moves_min"] == moved.moves_min
    assert line_of(5, pump_moves=2).moves_min == 0


def test_a_mix_too_stiff_for_a_pump_is_told_of_only_where_there_is_one():
    assert "stiff_for_pump" in codes(line_of(5, method=Method.LINE_PUMP, slump_mm=50.0))
    assert "stiff_for_pump" not in codes(line_of(5, method=Method.LINE_PUMP, slump_mm=77.0))
    assert "stiff_for_pump" not in codes(line_of(5, slump_mm=50.0))


def test_an_ordinary_mix_creeps_down_a_steep_slab_and_a_stiff_one_stays():
    assert "wet_on_slope" in codes(line_of(5, slope=0.1))
    assert "wet_on_slope" not in codes(line_of(5, slope=0.1, slump_mm=50.0))
    assert "wet_on_slope" not in codes(line_of(5, slope=0.02))


@pytest.mark.parametrize(
    "slower",
    [{"slope": 0.1}, {"fibres": True}, {"slump_mm": 40.0}, {"reinforcement": Reinforcement.BARS}],
    ids=str,
)
@pytest.mark.parametrize("method", list(Method))
def test_whatever_makes_work_slower_slows_every_way_of_placing(method, slower):
    assert line_of(3, method=method, **slower).rate_m3_h < line_of(3, method=method).rate_m3_h


def test_a_thicker_slab_takes_more_concrete_in_the_hour():
    four, six, eight = (line_of(5, depth_in).rate_m3_h for depth_in in (4, 6, 8))
    assert four < six <= eight
