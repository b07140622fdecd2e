"""How warm a slab is through its first days: heat between weather, concrete and ground, hour by hour.

One dimension, top to ground. The slab's cells are even, the ground's grow downwards to where two days
are not felt; no heat passes below. Each step is implicit (backward Euler), so no step is too long to
be stable, and for many strips at once: every strip has the same matrix, and only its top differs, which
is put in afterwards as one more heat through the uppermost face.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduling.engine.evaporation import saturation_pressures_kpa, saturation_slopes_kpa_k
from scheduling.engine.exposure import STEFAN_BOLTZMANN_W_M2_K4, ZERO_K, Exposure
from scheduling.engine.forecast import Floats
from scheduling.engine.hydration import Hydration
from scheduling.engine.inputs import require_positive

CONCRETE_W_M_K = 2.0  # 1.5 to 2.5, from memory
CONCRETE_J_M3_K = 2.4e6  # 2400 kg/m3 at 1.0 kJ/kg K; common values, from memory
GROUND_W_M_K = 1.3  # 0.8 to 1.8, from memory
GROUND_J_M3_K = 2.0e6  # moist gravel or soil; our choice

SLAB_CELLS = 8
GROUND_CELLS = 9
GROUND_GROWTH = 1.5

LATENT_J_KG = 2.45e6  # of water near 20 °C

GAS_CONSTANT_J_MOL_K = 8.314
LABORATORY_ENERGY_J_MOL = 40_000.0  # of the concrete's own temperature: 40 to 45 kJ/mol, ASTM C1074, Type I
REFERENCE_C = 21.1  # 70 °F, as Schindler and Folliard (2005) take it
COLDEST_CLOCK_C = 0.0  # our choice: fresh concrete is kept from freezing (ACI 306R-16), whatever the weather


@dataclass(frozen=True, slots=True)
class Drying:
    """Ages, hours at the reference, up to which the top stays wet and from which it no longer dries."""

    wet_h: float
    dry_h: float

    def share(self, age_h: Floats) -> Floats:
        """Return how much of a wet surface's drying is left at ages."""
        left = (self.dry_h - age_h) / (self.dry_h - self.wet_h)
        return np.maximum(0.0, np.minimum(1.0, left))  # np.clip takes several times as long on few strips


@dataclass(frozen=True, slots=True)
class Course:
    """How slabs went: arrays of moments by strips, `elapsed_s` after placing; NaN once the air is unknown.

    `mean_c` is of the slab through its depth, `age_h` its equivalent age at the reference temperature,
    `dried_kg_m2` what has dried off it. `cells_c` (cells by strips) is how it all stands at the end;
    `top_j_m2` is all the heat that went in through the top, `hydration_j_m2` all that the cement gave.
    """

    elapsed_s: Floats
    surface_c: Floats
    mean_c: Floats
    age_h: Floats
    dried_kg_m2: Floats
    cells_c: Floats
    top_j_m2: Floats
    hydration_j_m2: Floats


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells from the top down: depths, m, heat capacities, J/m2/K, and passages between them, W/m2/K."""

    depths_m: Floats
    capacities_j_m2_k: Floats
    passages_w_m2_k: Floats
    top_w_m2_k: float  # from the uppermost cell's middle to the surface


def grid_of(
    thickness_m: float, ground_w_m_k: float = GROUND_W_M_K, ground_j_m3_k: float = GROUND_J_M3_K
) -> Grid:
    """Return the cells of a slab on the ground; raise `BadInput` for a thickness that is not positive."""
    require_positive("thickness_m", thickness_m)
    cell_m = thickness_m / SLAB_CELLS
    slab_m = np.full(SLAB_CELLS, cell_m)
    ground_m = cell_m * GROUND_GROWTH ** np.arange(1, GROUND_CELLS + 1)
    depths_m = np.concatenate([slab_m, ground_m])
    conductivities = np.repeat([CONCRETE_W_M_K, ground_w_m_k], [SLAB_CELLS, GROUND_CELLS])
    capacities = np.repeat([CONCRETE_J_M3_K, ground_j_m3_k], [SLAB_CELLS, GROUND_CELLS])
    halves = depths_m / 2 / conductivities
    return Grid(depths_m, capacities * depths_m, 1 / (halves[:-1] + halves[1:]), float(1 / halves[0]))


def _inverse(grid: Grid, step_s: float) -> Floats:
    """The inverse of one step's matrix: cells' heat, J/m2, in; temperatures out."""
    passed = grid.passages_w_m2_k * step_s
    matrix: Floats = np.diag(grid.capacities_j_m2_k)
    for upper, heat in enumerate(passed):
        matrix[upper, upper] += heat
        matrix[upper + 1, upper + 1] += heat
        matrix[upper, upper + 1] -= heat
        matrix[upper + 1, upper] -= heat
    return np.linalg.inv(matrix).astype(np.float64)


def quickening(temp_c: Floats, energy_j_mol: float, reference_c: float = REFERENCE_C) -> Floats:
    """Return how fast concrete hardens against the reference: ``exp[-Ea/R (1/T - 1/Tr)]``, ASTM C1074."""
    inverse_k = 1 / (temp_c + ZERO_K) - 1 / (reference_c + ZERO_K)
    pace: Floats = np.exp(-energy_j_mol / GAS_CONSTANT_J_MOL_K * inverse_k)
    return pace


def march(
    grid: Grid,
    steps_s: Floats,
    exposure: Exposure,
    slab_c: Floats,
    ground_c: Floats,
    hydration: Hydration,
    drying: Drying,
    energy_j_mol: float,
    until_age_h: float = np.inf,
) -> Course:
    """Carry slabs through the weather.

    Parameters
    ----------
    grid : Grid
    steps_s : ndarray, shape (steps,)
        Lengths of the steps, s; of few different lengths.
    exposure : Exposure
        Of steps by strips.
    slab_c, ground_c : ndarray, shape (strips,)
        Concrete and ground at placing, °C.
    hydration : Hydration
    drying : Drying
    energy_j_mol : float
        Activation energy, of the concrete's own temperature.
    until_age_h : float
        Stop when every strip is that old, in hours at the reference.

    Returns
    -------
    Course
        The clock counts no temperature under 0 °C. The heat balance closes to rounding: what the cells
        took is what went in by the top and what the cement gave.
    """
    state = _State(grid, exposure, slab_c, ground_c, hydration, drying, energy_j_mol)
    inverses = {step_s: _inverse(grid, step_s) for step_s in np.unique(steps_s)}
    rows = [state.row()]
    for step, step_s in enumerate(steps_s):
        state.advance(step, float(step_s), inverses[step_s])
        rows.append(state.row())
        if step % 6 == 5 and not np.any(state.age_h < until_age_h):
            break
    surface_c, mean_c, age_h, dried_kg_m2 = (np.array(column) for column in zip(*rows, strict=True))
    elapsed_s = np.append(0.0, np.cumsum(steps_s))[: len(rows)]
    return Course(
        elapsed_s,
        surface_c,
        mean_c,
        age_h,
        dried_kg_m2,
        state.cells_c,
        state.top_j_m2,
        state.hydration_j_m2,
    )


class _State:
    """Strips at one moment."""

    def __init__(
        self,
        grid: Grid,
        exposure: Exposure,
        slab_c: Floats,
        ground_c: Floats,
        hydration: Hydration,
        drying: Drying,
        energy_j_mol: float,
    ) -> None:
        self._grid, self._exposure, self._hydration = grid, exposure, hydration
        self._drying, self._energy_j_mol = drying, energy_j_mol
        self._capacities = grid.capacities_j_m2_k[:, None]
        self._slab_share = np.repeat([1 / SLAB_CELLS, 0.0], [SLAB_CELLS, GROUND_CELLS])
        self._thickness_m = float(grid.depths_m[:SLAB_CELLS].sum())
        self._still_gain_w_m2 = exposure.gain_w_m2 + exposure.convection_w_m2_k * exposure.air_c
        self._radiating = exposure.emissivity * STEFAN_BOLTZMANN_W_M2_K4
        self.cells_c = np.concatenate(
            [np.tile(slab_c, (SLAB_CELLS, 1)), np.tile(ground_c, (GROUND_CELLS, 1))]
        )
        self.surface_c = slab_c.astype(np.float64)
        self.mean_c = self.surface_c
        self._pace = self._paced()
        self.age_h, self.dried_kg_m2 = np.zeros_like(self.surface_c), np.zeros_like(self.surface_c)
        self.top_j_m2, self.hydration_j_m2 = np.zeros_like(self.surface_c), np.zeros_like(self.surface_c)

    def row(self) -> tuple[Floats, Floats, Floats, Floats]:
        return self.surface_c, self.mean_c, self.age_h, self.dried_kg_m2

    def advance(self, step: int, step_s: float, inverse: Floats) -> None:
        """One step: cells without the top's heat, then what the top lets in, then that heat's spreading."""
        gain_w_m2, loss_w_m2_k, wet, dry, dry_slope = self._top(step)
        heat_j_m2 = self._heat_j_m2(step_s)
        content = self._capacities * self.cells_c
        content[:SLAB_CELLS] += heat_j_m2 / SLAB_CELLS
        cells_c, spread = inverse @ content, inverse[:, :1] * step_s
        through = self._grid.top_w_m2_k
        into_w_m2 = (gain_w_m2 - loss_w_m2_k * cells_c[0]) / (
            1 + loss_w_m2_k * (1 / through + float(spread[0, 0]))
        )
        self.cells_c = cells_c + spread * into_w_m2
        surface_c = self.cells_c[0] + into_w_m2 / through
        # The straight line may run a little below nothing within a step; no water comes out of the air.
        dried = np.maximum(0.0, wet * (dry + dry_slope * (surface_c - self.surface_c)) * (step_s / 3600))
        self.dried_kg_m2 = self.dried_kg_m2 + dried
        self.surface_c = surface_c
        self.mean_c = self._slab_share @ self.cells_c
        self.top_j_m2 = self.top_j_m2 + into_w_m2 * step_s
        self.hydration_j_m2 = self.hydration_j_m2 + heat_j_m2
        before, self._pace = self._pace, self._paced()
        self.age_h = self.age_h + (before + self._pace) * (step_s / 7200)

    def _paced(self) -> Floats:
        return quickening(np.maximum(self.mean_c, COLDEST_CLOCK_C), self._energy_j_mol)

    def _heat_j_m2(self, step_s: float) -> Floats:
        """What the cement gives in the step, by its age half way through."""
        hours = self._pace * (step_s / 3600)
        return self._hydration.heat_rate_j_m3_h(self.age_h + hours / 2) * hours * self._thickness_m

    def _top(self, step: int) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """The heat into the top as a straight line in its temperature, and the drying that is in it."""
        weather, surface_c = self._exposure, self.surface_c
        saturated_kpa = saturation_pressures_kpa(surface_c)
        per_kpa, deficit_kpa = weather.per_kpa_kg_m2_h[step], saturated_kpa - weather.vapour_kpa[step]
        wet = np.where(deficit_kpa > 0, self._drying.share(self.age_h), 0.0)
        dry, dry_slope = per_kpa * deficit_kpa, per_kpa * saturation_slopes_kpa_k(surface_c, saturated_kpa)
        cooling = wet * (LATENT_J_KG / 3600)
        surface_k = surface_c + ZERO_K
        radiated = self._radiating[step] * (surface_k * surface_k * surface_k)
        lost = 4 * radiated + cooling * dry_slope
        gain = self._still_gain_w_m2[step] - radiated * surface_k - cooling * dry + lost * surface_c
        return gain, weather.convection_w_m2_k[step] + lost, wet, dry, dry_slope
