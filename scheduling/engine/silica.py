"""Dust from cutting joints: what the silica rule's table asks for, by saw, place and hours of cutting."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.engine.inputs import Fact, Finding, SawType, Severity

# 29 CFR 1926.1153, paragraph (c), table 1. It knows saws with an integrated water feed only.
RULE = "OSHA 29 CFR 1926.1153 table 1"
SHORT_SHIFT_H = 4.0
APF = 10  # the protection factor wherever the table asks one of a saw


@dataclass(frozen=True, slots=True)
class SilicaRow:
    """A row of the table: the respirator's factor outdoors to 4 h and over, and the same under a roof.

    `indoors_allowed` is False for a saw that the table knows outdoors only.
    """

    apf_short: int
    apf_long: int
    apf_indoors: int
    indoors_allowed: bool = True


ROWS: dict[SawType, SilicaRow] = {
    SawType.CONVENTIONAL: SilicaRow(0, 0, APF),  # a walk-behind saw; from memory, others as found in print
    SawType.HANDHELD: SilicaRow(0, APF, APF),
    SawType.DRIVABLE: SilicaRow(0, 0, APF, indoors_allowed=False),
}


def silica_finding(saw: SawType, indoors: bool, hours: float) -> Finding:
    """Say what dust asks for.

    Parameters
    ----------
    saw : SawType
    indoors : bool
        Under a roof or in an enclosed place.
    hours : float
        Hours of cutting in the shift.

    Returns
    -------
    Finding
        ``silica_wet_saw``: a NOTE, a CAUTION where a respirator is asked for. ``silica_outdoors_only`` STOP
        for a drivable saw indoors. ``silica_assessment`` CAUTION for the early-entry saw, which is run dry
        and stands in no row.
    """
    row = ROWS.get(saw)
    if row is None:
        return Finding(Severity.CAUTION, "silica_assessment", {"indoors": indoors}, RULE)
    if indoors and not row.indoors_allowed:
        return Finding(Severity.STOP, "silica_outdoors_only", {"saw": saw.value}, RULE)
    outdoors_apf = row.apf_long if hours > SHORT_SHIFT_H else row.apf_short
    apf = row.apf_indoors if indoors else outdoors_apf
    facts: dict[str, Fact] = {
        "saw": saw.value,
        "indoors": indoors,
        "water_on_blade": True,
        "respirator_apf": apf,
        "cutting_h": hours,
    }
    return Finding(Severity.CAUTION if apf else Severity.NOTE, "silica_wet_saw", facts, RULE)
