"""What the crew is warned of."""

import pytest

from scheduling.engine.cautions import safety_findings
from scheduling.engine.inputs import Finish, Finishing, Method, Mix, Place, Placing, Severity

MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def warned(place=None, placing=None, cutting_h=2.0, **finishing):
    crew = placing or Placing(method=Method.CHUTE, people=5)
    findings = safety_findings(
        place or Place(), Finishing(**{"people": 2, **finishing}), crew, MIX, cutting_h
    )
    return {finding.code: finding for finding in findings}


def by(method, **fields):
    return warned(placing=Placing(method=method, people=5, **fields))


def test_wet_concrete_is_always_told_of():
    assert warned()["wet_concrete_burns"].facts["rubber_boots"] is True


def test_a_backing_truck_needs_one_person_to_watch_it():
    # NIOSH FACE 04NE040
    assert warned(Place(trucks_must_back=True))["spotter_needed"].facts == {"people": 1}
    assert "spotter_needed" not in warned()


def test_a_named_spotter_is_told_by_name_and_no_longer_asked_for():
    found = warned(Place(trucks_must_back=True, spotter="Rosa Field"))
    assert found["spotter_named"].facts == {"spotter": "Rosa Field"}
    assert "spotter_needed" not in found
    assert "spotter_named" not in warned(Place(spotter="Rosa Field"))


def test_power_lines_are_told_of_only_where_there_are_some():
    assert warned(Place(power_lines=True))["power_lines"].severity is Severity.CAUTION
    assert "power_lines" not in warned()


def test_what_is_told_of_dust_is_of_this_saw_and_place():
    # OSHA 29 CFR 1926.1153 table 1, walk-behind saw with continuous water (from memory)
    assert warned(Place(indoors=True))["silica_wet_saw"].facts["respirator_apf"] == 10


def test_where_nothing_is_cut_there_is_neither_dust_nor_a_saws_fumes():
    quiet = warned(Place(indoors=True), cutting_h=0, finish=Finish.BROOM)
    assert not {"silica_wet_saw", "carbon_monoxide"} & set(quiet)
    assert warned(Place(indoors=True), cutting_h=0)["carbon_monoxide"].facts["saws"] == 0


def test_engines_indoors_bring_carbon_monoxide():
    # NIOSH 96-118 (from memory)
    indoors = Place(indoors=True)
    engines = warned(indoors, power_trowels=2)["carbon_monoxide"].facts
    assert engines == {"power_trowels": 2, "saws": 1, "power_buggies": 0}
    assert (
        warned(indoors, power_trowels=2, finish=Finish.BROOM)["carbon_monoxide"].facts["power_trowels"] == 0
    )
    assert "carbon_monoxide" not in warned(power_trowels=2)


def test_power_buggies_run_engines_too():
    buggies = Placing(method=Method.POWER_BUGGY, people=5, carts=2)
    assert warned(Place(indoors=True), buggies)["carbon_monoxide"].facts["power_buggies"] == 2


@pytest.mark.parametrize("method", list(Method))
def test_whoever_stands_by_a_pumps_hose_is_told_to_stand_clear(method):
    # WorkSafeBC 2007105910 and 2023181300014: hoses that whipped, the one after a blockage and moves
    found = by(method).get("stand_clear")
    assert (found is not None) == (method in (Method.LINE_PUMP, Method.BOOM_PUMP))


def test_a_pump_that_moves_is_told_of_as_moving():
    # WorkSafeBC 2023181300014: the blockage came after the second move.
    assert by(Method.LINE_PUMP)["stand_clear"].facts["after_a_move"] is False
    assert by(Method.LINE_PUMP, pump_moves=1)["stand_clear"].facts["after_a_move"] is True


def test_a_boom_near_power_lines_is_told_how_far_off_to_keep():
    # Trade magazine: no nearer than 17 ft.
    lines = Place(power_lines=True)
    boom = warned(lines, Placing(method=Method.BOOM_PUMP, people=5))["power_lines"].facts
    assert boom == {"boom": True, "clearance_m": pytest.approx(5.18, abs=0.01)}
    assert warned(lines)["power_lines"].facts == {"boom": False}


def test_a_full_barrow_is_heavy_and_a_small_one_is_not():
    # 3 ft3 at 2,400 kg/m3
    assert by(Method.BARROW)["heavy_barrows"].facts["barrow_kg"] == pytest.approx(204, abs=1)
    assert "heavy_barrows" not in by(Method.BARROW, barrow_m3=0.04)
    assert "heavy_barrows" not in by(Method.POWER_BUGGY)
