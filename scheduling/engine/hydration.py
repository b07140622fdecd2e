"""How much heat cement gives off as it hardens, and how fast: the three-parameter curve of hydration.

``alpha(te) = alpha_u exp[-(tau / te)^beta]``, with `te` the hours at the reference temperature. All of it
is Schindler and Folliard (2005), ACI Materials Journal 102(1) 24-33, from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import Mix

SLAG_J_G = 461.0
FLY_ASH_J_G = 1800.0  # for each fraction of the ash that is lime
FLY_ASH_LIME = 0.10  # our choice, between a class F and a class C ash
WATER_CEMENT = 0.45  # an ordinary slab mix; our choice
CEMENT_KG_M3 = 335.0  # an ordinary slab mix, 564 lb/yd3; our choice where the mix does not tell


@dataclass(frozen=True, slots=True)
class Cement:
    """A cement's compounds as parts of its mass, and its fineness; an ordinary Type I (our choice)."""

    c3s: float = 0.57
    c2s: float = 0.17
    c3a: float = 0.09
    c4af: float = 0.08
    so3: float = 0.03
    lime: float = 0.01
    magnesia: float = 0.02
    blaine_m2_kg: float = 370.0


ORDINARY_CEMENT = Cement()


@dataclass(frozen=True, slots=True)
class Hydration:
    """A mix's heat: all it could give, J per m3 of concrete, and its curve over hours at the reference."""

    heat_j_m3: float
    ultimate: float
    tau_h: float
    beta: float

    def degree(self, age_h: Floats) -> Floats:
        """Return the part of the cement that has hydrated at ages in hours at the reference; 0 at 0."""
        with np.errstate(divide="ignore"):
            return self.ultimate * np.exp(-((self.tau_h / age_h) ** self.beta))

    def heat_rate_j_m3_h(self, age_h: Floats) -> Floats:
        """Return the heat given in an hour at the reference temperature, J/m3, at ages over 0."""
        left = (self.tau_h / age_h) ** self.beta
        return self.heat_j_m3 * self.ultimate * self.beta / age_h * left * np.exp(-left)


def cement_heat_j_g(cement: Cement) -> float:
    """Return all the heat a cement could give, J/g."""
    return (
        500 * cement.c3s
        + 260 * cement.c2s
        + 866 * cement.c3a
        + 420 * cement.c4af
        + 624 * cement.so3
        + 1186 * cement.lime
        + 850 * cement.magnesia
    )


def ultimate_degree(water_cement: float, fly_ash: float = 0.0, slag: float = 0.0) -> float:
    """Return the part of the cementitious material that hydrates at last; parts are of its mass."""
    return min(1.0, 1.031 * water_cement / (0.194 + water_cement) + 0.50 * fly_ash + 0.30 * slag)


def time_parameter_h(cement: Cement) -> float:
    """Return tau, hours at 21.1 °C, of a cement without fly ash or slag."""
    return 66.78 * cement.c3a**-0.154 * cement.c3s**-0.401 * cement.blaine_m2_kg**-0.804 * cement.so3**-0.758


def slope_parameter(cement: Cement, slag: float = 0.0) -> float:
    """Return beta, with slag as a part of the cementitious mass."""
    return (
        181.4
        * cement.c3a**0.146
        * cement.c3s**0.227
        * cement.blaine_m2_kg**-0.535
        * cement.so3**0.558
        * math.exp(-0.647 * slag)
    )


def activation_energy_j_mol(cement: Cement, fly_ash: float = 0.0, slag: float = 0.0) -> float:
    """Return the activation energy of hydration, J/mol; parts are of the cementitious mass."""
    share = 1 - 1.05 * fly_ash * (1 - FLY_ASH_LIME / 0.40) + 0.40 * slag
    return 22_100 * share * cement.c3a**0.30 * cement.c4af**0.25 * cement.blaine_m2_kg**0.35


def hydration_of(mix: Mix, slower: float = 1.0) -> Hydration:
    """Return how a mix gives off its heat.

    Parameters
    ----------
    mix : Mix
        Its fly ash and slag give less heat than the cement they stand for.
    slower : float
        By how much the mix sets later than a plain one, as a ratio of ages at initial set: heat keeps
        step with setting, so admixtures that move one move the other (our choice).
    """
    fly_ash, slag = mix.fly_ash_fraction, min(mix.slag_fraction, 1 - mix.fly_ash_fraction)
    heat_j_g = (
        cement_heat_j_g(ORDINARY_CEMENT) * (1 - fly_ash - slag)
        + SLAG_J_G * slag
        + FLY_ASH_J_G * FLY_ASH_LIME * fly_ash
    )
    cement_kg_m3 = CEMENT_KG_M3 if mix.cement_kg_m3 is None else mix.cement_kg_m3
    return Hydration(
        heat_j_m3=heat_j_g * 1000 * cement_kg_m3,
        ultimate=ultimate_degree(WATER_CEMENT, fly_ash, slag),
        tau_h=time_parameter_h(ORDINARY_CEMENT) * slower,
        beta=slope_parameter(ORDINARY_CEMENT),
    )
