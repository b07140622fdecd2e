"""The heat of hydration and its curve."""

import numpy as np
import pytest

from scheduling.engine.hydration import (
    ORDINARY_CEMENT,
    Hydration,
    activation_energy_j_mol,
    cement_heat_j_g,
    hydration_of,
    slope_parameter,
    time_parameter_h,
    ultimate_degree,
)
from scheduling.engine.inputs import Mix
from scheduling.engine.slabheat import quickening

PLAIN = Mix(name="m", strength_mpa=28, aggregate_mm=19)
HOURS = np.linspace(0.01, 200, 200_000)


def curve() -> Hydration:
    return hydration_of(PLAIN)


def test_an_ordinary_cement_has_the_parameters_of_its_compounds():
    # Schindler and Folliard (2005), from memory: C3S 0.57, C2S 0.17, C3A 0.09, C4AF 0.08, SO3 0.03, free lime
    # 0.01, MgO 0.02, Blaine 370 m2/kg, w/cm 0.45.
    assert cement_heat_j_g(ORDINARY_CEMENT) == pytest.approx(488.3, abs=0.1)
    assert ultimate_degree(0.45) == pytest.approx(0.7204, abs=1e-4)
    assert time_parameter_h(ORDINARY_CEMENT) == pytest.approx(14.897, abs=0.001)
    assert slope_parameter(ORDINARY_CEMENT) == pytest.approx(0.6711, abs=1e-4)
    assert activation_energy_j_mol(ORDINARY_CEMENT) == pytest.approx(45_218, abs=1)


def test_a_day_at_the_reference_hydrates_a_third():
    assert float(curve().degree(np.array(24.0))) == pytest.approx(0.3485, abs=1e-4)


@pytest.mark.parametrize(
    ("temp_c", "initial_h", "final_h"),
    [(10, 8.15, 12.62), (15, 5.84, 9.04), (21.1, 3.95, 6.12), (26.7, 2.80, 4.33), (32.2, 2.02, 3.12)],
)
def test_the_curve_sets_when_the_authors_say_it_does(temp_c, initial_h, final_h):
    # Initial set at a degree of 0.14 w/cm, final at 0.26: Schindler (2004), from memory.
    pace = float(quickening(np.array(float(temp_c)), activation_energy_j_mol(ORDINARY_CEMENT)))
    ages = np.interp([0.14 * 0.45, 0.26 * 0.45], curve().degree(HOURS), HOURS)
    assert ages / pace == pytest.approx([initial_h, final_h], rel=0.005)


def test_all_the_heat_of_the_curve_is_what_the_cement_hydrates():
    given = np.trapezoid(curve().heat_rate_j_m3_h(HOURS), HOURS)
    hydrated = curve().degree(HOURS[-1:])[0] * curve().heat_j_m3
    assert given == pytest.approx(hydrated, rel=1e-4)


def test_without_losing_any_it_would_warm_by_fifty_kelvin():
    # 335 kg/m3, 2350 kg/m3 of concrete, 1.0 kJ/kg K.
    assert curve().heat_j_m3 * curve().ultimate / (2350 * 1000) == pytest.approx(50.1, abs=0.1)


def test_fly_ash_and_slag_give_less_heat_and_a_retarder_gives_it_later():
    ash, slag = (
        hydration_of(Mix(name="m", strength_mpa=28, aggregate_mm=19, **parts))
        for parts in (
            {"fly_ash_fraction": 0.25},
            {"slag_fraction": 0.5},
        )
    )
    assert ash.heat_j_m3 < curve().heat_j_m3
    assert slag.heat_j_m3 < curve().heat_j_m3
    late = hydration_of(PLAIN, slower=1.4)
    assert float(late.degree(np.array(14.0))) == pytest.approx(float(curve().degree(np.array(10.0))))


def test_nothing_has_hydrated_at_placing():
    assert float(curve().degree(np.array(0.0))) == 0.0
