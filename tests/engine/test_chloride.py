"""Calcium chloride in the mix."""

from dataclasses import replace

import numpy as np
import pytest

from scheduling.engine.chloride import chloride_findings, chloride_kg
from scheduling.engine.inputs import BadInput, Finishing, Mix, Reinforcement, Severity
from scheduling.engine.mixage import ages_of, chloride_hurry
from scheduling.engine.slabheat import quickening

LB_KG, YD3_M3 = 0.45359237, 0.764554858
MIX = Mix(
    name="quick",
    strength_mpa=28,
    aggregate_mm=19,
    cement_kg_m3=564 * LB_KG / YD3_M3,
    calcium_chloride_fraction=0.02,
)

PLAIN, DECORATIVE = Finishing(people=2), Finishing(people=2, decorative=True)


def test_two_percent_of_564_pounds_in_thirty_yards_are_338_pounds():
    # Trade magazine: at most 2 % of the cement's weight; the sums are ours
    assert chloride_kg(MIX, YD3_M3) / LB_KG == pytest.approx(11.28, abs=0.01)
    assert chloride_kg(MIX, 30 * YD3_M3) / LB_KG == pytest.approx(338.4, abs=0.1)


@pytest.mark.parametrize("fraction", [0.04, 0.0201, -0.01])
def test_more_than_two_percent_is_refused(fraction):
    with pytest.raises(BadInput) as refused:
        replace(MIX, calcium_chloride_fraction=fraction)
    assert refused.value.field == "calcium_chloride_fraction"


@pytest.mark.parametrize("steel", [Reinforcement.MESH, Reinforcement.BARS])
def test_over_steel_it_stops_the_pour(steel):
    (found,) = chloride_findings(MIX, steel, PLAIN, 30.0)
    assert (found.code, found.severity) == ("chloride_steel", Severity.STOP)


def test_in_a_decorative_slab_it_stops_the_pour_and_over_steel_for_both_reasons():
    # Trade magazine: none on steel or decorative work
    (found,) = chloride_findings(MIX, Reinforcement.NONE, DECORATIVE, 30.0)
    assert (found.code, found.severity) == ("chloride_decorative", Severity.STOP)
    both = chloride_findings(MIX, Reinforcement.BARS, DECORATIVE, 30.0)
    assert [one.code for one in both] == ["chloride_steel", "chloride_decorative"]


def test_without_steel_it_is_told_and_without_it_nothing_is():
    (found,) = chloride_findings(MIX, Reinforcement.NONE, PLAIN, 30 * YD3_M3)
    assert (found.code, found.severity) == ("calcium_chloride", Severity.NOTE)
    assert found.facts["chloride_kg"] == pytest.approx(338.4 * LB_KG, abs=0.1)
    without = replace(MIX, calcium_chloride_fraction=0.0)
    assert chloride_findings(without, Reinforcement.BARS, DECORATIVE, 30.0) == ()


def test_one_percent_hurries_as_eleven_fahrenheit_do():
    # Trade magazine: 1 % about equals 11 °F
    assert chloride_hurry(0.0) == 1.0
    warmer = float(quickening(np.array(21.1 + 11 / 1.8), 40_000.0))
    assert chloride_hurry(0.01) == pytest.approx(warmer)
    plain, quick = ages_of(replace(MIX, calcium_chloride_fraction=0.0)), ages_of(MIX)
    for before, after in zip(plain, quick, strict=True):
        assert after.likely_h < before.likely_h
        assert after.early_h < after.likely_h < after.late_h
    # ASTM C494 type C, from memory: initial set at most 3:30 earlier
    assert 1.0 <= plain.initial.likely_h - quick.initial.likely_h <= 3.5
