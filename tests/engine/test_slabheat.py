"""Heat through slab and ground: against the exact half-space, its own balance, and finer steps and cells."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import erfc, erfcx

from scheduling.engine.exposure import Exposure
from scheduling.engine.hydration import Hydration
from scheduling.engine.inputs import BadInput
from scheduling.engine.slabheat import (
    CONCRETE_J_M3_K,
    CONCRETE_W_M_K,
    SLAB_CELLS,
    Drying,
    grid_of,
    march,
    quickening,
)

COLD = Hydration(heat_j_m3=0.0, ultimate=0.72, tau_h=14.9, beta=0.67)
WARM = Hydration(heat_j_m3=1.64e8, ultimate=0.72, tau_h=14.9, beta=0.67)
DRYING = Drying(2.75, 6.4)


def exposed(steps, strips=1, air_c=0.0, h=10.0, gain=0.0, emissivity=0.0, per_kpa=0.0, vapour=1.0):
    full = [np.full((steps, strips), float(value)) for value in (air_c, h, gain, emissivity, per_kpa, vapour)]
    return Exposure(*full, dry_known=np.ones((steps, strips), dtype=bool))


def carried(hours, step_s=600.0, thickness_m=0.125, start_c=20.0, hydration=COLD, grid=None, **weather):
    steps = round(hours * 3600 / step_s)
    ones = np.ones(1)
    return march(
        grid or grid_of(thickness_m),
        np.full(steps, step_s),
        exposed(steps, **weather),
        ones * start_c,
        ones * start_c,
        hydration,
        DRYING,
        40_000.0,
    )


def half_space_c(x_m, hours, h, start_c=20.0, air_c=0.0):
    """Carslaw and Jaeger's semi-infinite solid that loses heat by convection."""
    k, diffusivity, t = CONCRETE_W_M_K, CONCRETE_W_M_K / CONCRETE_J_M3_K, hours * 3600
    s, root = x_m / (2 * math.sqrt(diffusivity * t)), h * math.sqrt(diffusivity * t) / k
    # exp(hx/k + root^2) erfc(s + root), where the exponential alone may be too large
    lost = erfc(s) - math.exp(-s * s) * erfcx(s + root)
    return start_c + (air_c - start_c) * lost


@pytest.mark.parametrize(
    ("h", "hours", "x_m", "temp_c"),
    [
        (10, 1, 0.0, 15.059),
        (10, 1, 0.10, 19.382),
        (10, 6, 0.0, 10.752),
        (10, 6, 0.05, 13.236),
        (10, 24, 0.0, 6.991),
        (10, 24, 0.20, 13.080),
        (20, 1, 0.05, 16.553),
        (20, 6, 0.0, 6.991),
        (20, 24, 0.10, 7.757),
    ],
)
def test_the_exact_half_space_is_as_tabled(h, hours, x_m, temp_c):
    # Conduction of Heat in Solids, semi-infinite solid with convection; k 2, rho c 2.4e6, 20 °C into 0 °C.
    assert half_space_c(x_m, hours, h) == pytest.approx(temp_c, abs=0.001)


@pytest.mark.parametrize("h", [10, 20])
@pytest.mark.parametrize("hours", [1, 6, 24])
def test_a_slab_on_ground_of_its_own_kind_cools_as_the_exact_half_space(h, hours):
    # Cells of 16 mm and steps of a minute; the surface, and every cell of the slab at its middle.
    grid = grid_of(0.125, CONCRETE_W_M_K, CONCRETE_J_M3_K)
    course = carried(hours, step_s=60.0, grid=grid, h=h)
    assert course.surface_c[-1, 0] == pytest.approx(half_space_c(0.0, hours, h), abs=0.06)
    for cell in range(SLAB_CELLS):
        x_m = (cell + 0.5) * 0.125 / SLAB_CELLS
        assert course.cells_c[cell, 0] == pytest.approx(half_space_c(x_m, hours, h), abs=0.06)


def test_twice_the_convection_is_four_times_the_time_at_twice_the_depth():
    # The exact solution's own scaling: h = 20 after 6 h stands as h = 10 after 24 h, at half the depth.
    near = carried(6, step_s=30.0, grid=grid_of(0.1, CONCRETE_W_M_K, CONCRETE_J_M3_K), h=20)
    far = carried(24, step_s=120.0, grid=grid_of(0.2, CONCRETE_W_M_K, CONCRETE_J_M3_K), h=10)
    assert near.surface_c[-1, 0] == pytest.approx(far.surface_c[-1, 0], abs=1e-9)


EVERYTHING = {
    "air_c": 24.0,
    "h": 14.0,
    "gain": 750.0,
    "emissivity": 0.9,
    "per_kpa": 0.15,
    "vapour": 1.2,
    "hydration": WARM,
}


@given(
    thickness_m=st.floats(0.05, 0.6),
    start_c=st.floats(5, 35),
    step_s=st.sampled_from([60.0, 600.0, 3600.0, 36_000.0]),
    air_c=st.floats(-20, 45),
    h=st.floats(5, 60),
    gain=st.floats(0, 1200),
    per_kpa=st.floats(0, 0.6),
)
def test_what_the_cells_took_is_what_went_in(thickness_m, start_c, step_s, **weather):
    # The balance closes to rounding, however long the step.
    hours = 40 * step_s / 3600
    grid = grid_of(thickness_m)
    weather = EVERYTHING | weather
    course = carried(hours, step_s, thickness_m, start_c, grid=grid, **weather)
    stored = float((grid.capacities_j_m2_k * (course.cells_c[:, 0] - start_c)).sum())
    given_j = float(course.top_j_m2[0] + course.hydration_j_m2[0])
    assert stored == pytest.approx(given_j, abs=1e-9 * grid.capacities_j_m2_k.sum() * 40)


def test_steps_of_ten_minutes_are_fine_enough():
    coarse, fine = carried(12, 600.0, **EVERYTHING), carried(12, 20.0, **EVERYTHING)
    assert np.abs(coarse.mean_c - fine.mean_c[::30]).max() < 0.5
    assert np.abs(coarse.surface_c[6:] - fine.surface_c[::30][6:]).max() < 0.8
    assert np.abs(coarse.age_h[1:] / fine.age_h[::30][1:] - 1).max() < 0.02


def test_halving_the_step_halves_the_error():
    # First order in time, as an implicit step is.
    ends = [float(carried(6, step, **EVERYTHING).mean_c[-1, 0]) for step in (1200.0, 600.0, 300.0, 10.0)]
    errors = [abs(end - ends[-1]) for end in ends[:-1]]
    assert errors[0] / errors[1] == pytest.approx(2, rel=0.2)
    assert errors[1] / errors[2] == pytest.approx(2, rel=0.2)


def test_the_cells_are_small_enough():
    # Eight even cells against the exact solution's mean over the slab, steps of ten seconds.
    grid = grid_of(0.125, CONCRETE_W_M_K, CONCRETE_J_M3_K)
    course = carried(6, 10.0, grid=grid, h=20)
    depths = np.linspace(0, 0.125, 201)
    exact = np.trapezoid([half_space_c(x, 6, 20) for x in depths], depths) / 0.125
    assert course.mean_c[-1, 0] == pytest.approx(exact, abs=0.03)


@pytest.mark.parametrize("step_s", [3600.0, 86_400.0, 1e7])
def test_no_step_is_too_long_to_be_stable(step_s):
    course = carried(20 * step_s / 3600, step_s, h=40)
    temps = course.cells_c[:, 0]
    assert np.all((temps >= -1e-9) & (temps <= 20 + 1e-9))


def test_strips_together_go_as_each_alone():
    grid, steps_s = grid_of(0.1), np.full(48, 600.0)
    airs = np.tile([5.0, 20.0, 35.0], (48, 1))
    together = exposed(48, 3, h=12.0, gain=500.0, emissivity=0.9, per_kpa=0.15)
    together = Exposure(
        airs,
        *(
            getattr(together, name)
            for name in ("convection_w_m2_k", "gain_w_m2", "emissivity", "per_kpa_kg_m2_h", "vapour_kpa")
        ),
        dry_known=together.dry_known,
    )
    starts = np.array([15.0, 20.0, 30.0])
    course = march(grid, steps_s, together, starts, starts, WARM, DRYING, 40_000.0)
    for strip, air_c in enumerate((5.0, 20.0, 35.0)):
        alone = carried(
            8,
            grid=grid,
            start_c=starts[strip],
            hydration=WARM,
            air_c=air_c,
            h=12.0,
            gain=500.0,
            emissivity=0.9,
            per_kpa=0.15,
        )
        assert course.surface_c[:, strip] == pytest.approx(alone.surface_c[:, 0], abs=1e-9)
        assert course.age_h[:, strip] == pytest.approx(alone.age_h[:, 0], abs=1e-9)


def test_a_slab_that_can_lose_no_heat_warms_as_its_cement_gives_it():
    # 335 kg/m3, alpha_u 0.72, 488 J/g: an ultimate rise of about 50 K at 2350 kg/m3 and 1.0 kJ/kg K, by the
    # curve's own arithmetic; here over slab and ground together.
    grid = grid_of(0.125)
    course = carried(24, grid=grid, hydration=WARM, h=0.0)
    assert course.top_j_m2[0] == 0
    hydrated = WARM.degree(course.age_h[-1])[0]
    assert course.hydration_j_m2[0] == pytest.approx(1.64e8 * 0.125 * hydrated, rel=0.01)


def test_drying_cools_and_stops_as_the_slab_sets():
    wet = carried(24, air_c=30.0, per_kpa=0.3, start_c=30.0)
    dry = carried(24, air_c=30.0, start_c=30.0)
    assert wet.surface_c[6, 0] < dry.surface_c[6, 0] - 2
    dried = np.diff(wet.dried_kg_m2[:, 0])
    set_by_then = wet.age_h[:-1, 0] > DRYING.dry_h
    assert np.all(dried[set_by_then] == 0)
    assert np.all(dried[~set_by_then] > 0)


@given(
    air_c=st.floats(-20, 40),
    warmer_k=st.floats(0, 15),
    h=st.floats(5, 50),
    gain=st.floats(0, 1000),
    start_c=st.floats(5, 35),
    per_kpa=st.floats(0, 0.5),
)
def test_warmer_air_never_makes_a_colder_slab_until_it_has_set(air_c, warmer_k, h, gain, start_c, per_kpa):
    weather = {"h": h, "gain": gain, "per_kpa": per_kpa, "emissivity": 0.9, "hydration": WARM}
    cool = carried(24, start_c=start_c, air_c=air_c, **weather)
    warm = carried(24, start_c=start_c, air_c=air_c + warmer_k, **weather)
    setting = cool.age_h[:, 0] <= DRYING.dry_h
    assert np.all(warm.mean_c[setting] >= cool.mean_c[setting] - 1e-6)
    assert np.all(warm.age_h[setting] >= cool.age_h[setting] - 1e-9)


def test_unknown_air_makes_all_that_follows_unknown():
    steps_s, weather = np.full(12, 600.0), exposed(12)
    weather.air_c[6:] = np.nan
    twenty = np.full(1, 20.0)
    course = march(grid_of(0.1), steps_s, weather, twenty, twenty, COLD, DRYING, 40_000.0)
    assert not np.isnan(course.age_h[:7]).any()
    assert np.isnan(course.age_h[7:]).all()


def test_it_stops_when_all_are_old_enough():
    course = march(
        grid_of(0.1),
        np.full(600, 600.0),
        exposed(600, air_c=20.0),
        np.full(1, 20.0),
        np.full(1, 20.0),
        COLD,
        DRYING,
        40_000.0,
        until_age_h=5.0,
    )
    assert course.age_h[-1, 0] >= 5.0
    assert course.elapsed_s[-1] < 8 * 3600


@pytest.mark.parametrize(
    ("temp_c", "factor"),
    [(5, 0.349), (10, 0.474), (15, 0.637), (20, 0.847), (30, 1.455), (35, 1.883), (40, 2.416)],
)
def test_concrete_hardens_as_fast_as_the_standard_says(temp_c, factor):
    # ASTM C1074 with Ea = 40 kJ/mol against 23 °C.
    assert float(quickening(np.array(float(temp_c)), 40_000, 23)) == pytest.approx(factor, abs=0.001)


def test_a_slab_without_thickness_is_refused():
    with pytest.raises(BadInput):
        grid_of(0.0)
