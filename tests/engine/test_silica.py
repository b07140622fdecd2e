"""What the silica rule's table asks for when joints are cut."""

import pytest

from scheduling.engine.inputs import SawType, Severity
from scheduling.engine.silica import silica_finding


@pytest.mark.parametrize(
    ("saw", "indoors", "hours", "apf"),
    [
        # OSHA 29 CFR 1926.1153 table 1, walk-behind saw: none outdoors however long, 10 indoors (from memory)
        (SawType.CONVENTIONAL, False, 3.0, 0),
        (SawType.CONVENTIONAL, False, 7.0, 0),
        (SawType.CONVENTIONAL, True, 0.5, 10),
        # handheld power saw with water: none to 4 h outdoors, 10 over 4 h, 10 indoors
        (SawType.HANDHELD, False, 4.0, 0),
        (SawType.HANDHELD, False, 4.1, 10),
        (SawType.HANDHELD, True, 0.5, 10),
        # drivable saw: outdoors only, none
        (SawType.DRIVABLE, False, 8.0, 0),
    ],
)
def test_the_table_says_what_respirator(saw, indoors, hours, apf):
    finding = silica_finding(saw, indoors, hours)
    assert (finding.code, finding.facts["respirator_apf"]) == ("silica_wet_saw", apf)
    assert finding.severity is (Severity.CAUTION if apf else Severity.NOTE)


def test_a_drivable_saw_does_not_cut_indoors():
    # OSHA 29 CFR 1926.1153 table 1: drivable saws, outdoors only
    finding = silica_finding(SawType.DRIVABLE, True, 1.0)
    assert (finding.code, finding.severity) == ("silica_outdoors_only", Severity.STOP)


@pytest.mark.parametrize("indoors", [True, False])
def test_a_dry_early_entry_saw_is_not_in_the_table(indoors):
    # No row for it: an exposure assessment instead.
    finding = silica_finding(SawType.EARLY_ENTRY, indoors, 1.0)
    assert (finding.code, finding.facts["indoors"]) == ("silica_assessment", indoors)
