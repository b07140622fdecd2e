"""What the crew is warned of."""

import pytest

from scheduling.engine.cautions import safety_findings
from scheduling.engine.inputs import Finish, Finishing, Place, SawType, Severity


def warned(place=None, **finishing):
    findings = safety_findings(place or Place(), Finishing(**{"people": 2, **finishing}))
    return {finding.code: finding for finding in findings}


def test_wet_concrete_is_always_told_of():
    assert warned()["wet_concrete_burns"].facts["rubber_boots"] is True


def test_a_backing_truck_needs_one_person_to_watch_it():
    # NIOSH FACE 04NE040
    assert warned(Place(trucks_must_back=True))["spotter_needed"].facts == {"people": 1}
    assert "spotter_needed" not in warned()


def test_power_lines_are_told_of_only_where_there_are_some():
    assert warned(Place(power_lines=True))["power_lines"].severity is Severity.CAUTION
    assert "power_lines" not in warned()


@pytest.mark.parametrize(
    ("indoors", "apf", "severity"), [(False, 0, Severity.NOTE), (True, 10, Severity.CAUTION)]
)
def test_a_wet_walk_behind_saw_wants_a_respirator_only_indoors(indoors, apf, severity):
    # OSHA 29 CFR 1926.1153 Table 1, walk-behind saw with continuous water (from memory)
    found = warned(Place(indoors=indoors))["silica_wet_saw"]
    assert (found.facts["respirator_apf"], found.severity) == (apf, severity)


def test_a_dry_early_entry_saw_is_not_in_the_table():
    # OSHA 29 CFR 1926.1153 Table 1 has no row for it: an exposure assessment instead.
    found = warned(saw=SawType.EARLY_ENTRY)
    assert "silica_assessment" in found
    assert "silica_wet_saw" not in found


def test_engines_indoors_bring_carbon_monoxide():
    # NIOSH 96-118 (from memory)
    indoors = Place(indoors=True)
    assert warned(indoors, power_trowels=2)["carbon_monoxide"].facts == {"power_trowels": 2, "saws": 1}
    assert (
        warned(indoors, power_trowels=2, finish=Finish.BROOM)["carbon_monoxide"].facts["power_trowels"] == 0
    )
    assert "carbon_monoxide" not in warned(power_trowels=2)
