"""At what ages a mix floats and sets, and how its parts move them.

Ages are in hours at the reference of 21.1 °C (70 °F) of the concrete's own temperature: an hour in
colder concrete is less than an hour of age.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from scheduling.engine.inputs import Admixture, Mix
from scheduling.engine.slabheat import LABORATORY_ENERGY_J_MOL, REFERENCE_C, quickening

# Ages of a plain mix. Float-ready: what the waits of ASCC Position Statement 15 come to in an ordinary slab
# on an ordinary day. Initial set (ASTM C403): from the hydration curve of Schindler and Folliard (2005) for
# an ordinary Type I cement at w/cm 0.45, from memory. Final set: so that an ordinary slab in air of 70 °F
# sets in PCA's 6 h, from memory; the curve has 6.12 h, and NRMCA CIP 31 2 to 12 h overall.
FLOAT_READY_H = 2.70
INITIAL_SET_H = 3.95
FINAL_SET_H = 6.4

PLAIN_SPREAD = 0.15  # our choice: how far, either way, a plain mix may be from its likely age
CHLORIDE_K = 11 / 1.8  # 1 % of calcium chloride hurries setting as 11 °F more do (trade magazine)
LEAST_SHARE = 0.4  # our choice: no mix is ready before this share of a plain mix's age
FLOAT_SHARE = 2 / 3  # our choice: what of a shift of set shows by float-ready, as the ages above stand


@dataclass(frozen=True, slots=True)
class Shift:
    """How a part of the mix moves its sets, in hours at 21.1 °C; `early_h` and `late_h` widen the range."""

    set_h: float
    early_h: float
    late_h: float
    source: str

    def times(self, amount: float) -> Shift:
        """Return the shift for `amount` times as much."""
        return Shift(self.set_h * amount, self.early_h * amount, self.late_h * amount, self.source)


SHIFTS: Mapping[Admixture, Shift] = MappingProxyType(
    {
        Admixture.WATER_REDUCER: Shift(0.25, 0.25, 0.5, "ASTM C494 type A: 1:00 earlier to 1:30 later"),
        Admixture.SUPERPLASTICIZER: Shift(0.5, 0.5, 1.0, "ASTM C494 type F: 1:00 earlier to 1:30 later"),
        Admixture.RETARDER: Shift(1.5, 0.5, 1.5, "ASTM C494 type B: 1:00 to 3:30 later; planned as 1 to 3 h"),
        Admixture.ACCELERATOR: Shift(-1.5, 1.5, 0.5, "ASTM C494 type C: 1:00 to 3:30 earlier; as 1 to 3 h"),
        Admixture.AIR_ENTRAINER: Shift(0.0, 0.0, 0.0, "common practice, no source: does not move setting"),
    }
)
FLY_ASH = Shift(3.3, 1.1, 1.1, "20 to 25 % sets 0.5 to 1 h later at 70 °F, from memory")  # for 100 %
SLAG_OVER = Shift(5.0, 2.0, 3.0, "Slag Cement Association: slower above 30 %; amount our choice")  # for 100 %
SLAG_FREE_FRACTION = 0.3  # Slag Cement Association: up to here little effect


class Age(NamedTuple):
    """An age as a range, hours at 21.1 °C."""

    early_h: float
    likely_h: float
    late_h: float


class MixAges(NamedTuple):
    """The ages at which a mix floats and sets."""

    float_ready: Age
    initial: Age
    final: Age

    @property
    def slower(self) -> float:
        """By how much later the mix sets than a plain one, as a ratio."""
        return self.initial.likely_h / INITIAL_SET_H


def ages_of(mix: Mix) -> MixAges:
    """Return the ages at which a mix is float-ready, and at initial and final set."""
    shifts, hurry = _shifts(mix), chloride_hurry(mix.calcium_chloride_fraction)
    ages = (
        _age(FLOAT_READY_H, [shift.times(FLOAT_SHARE) for shift in shifts]),
        _age(INITIAL_SET_H, shifts),
        _age(FINAL_SET_H, shifts),
    )
    return MixAges(*(Age(*(hours / hurry for hours in age)) for age in ages))


def chloride_hurry(fraction: float) -> float:
    """Return how many times as fast concrete sets with calcium chloride, a part of its cement."""
    warmed_c = np.array(REFERENCE_C + CHLORIDE_K * 100 * fraction)
    return float(quickening(warmed_c, LABORATORY_ENERGY_J_MOL))


def _shifts(mix: Mix) -> list[Shift]:
    shifts = [SHIFTS[admixture] for admixture in sorted(mix.admixtures)]
    shifts.append(FLY_ASH.times(mix.fly_ash_fraction))
    shifts.append(SLAG_OVER.times(max(0.0, mix.slag_fraction - SLAG_FREE_FRACTION)))
    return shifts


def _age(plain_h: float, shifts: list[Shift]) -> Age:
    """Move a plain mix's age by its shifts; their uncertainties are independent, so add as squares."""
    least_h = LEAST_SHARE * plain_h
    likely_h = plain_h + sum(shift.set_h for shift in shifts)
    early_h = likely_h - math.hypot(PLAIN_SPREAD * plain_h, *(shift.early_h for shift in shifts))
    late_h = likely_h + math.hypot(PLAIN_SPREAD * plain_h, *(shift.late_h for shift in shifts))
    return Age(*(max(least_h, hours) for hours in (early_h, likely_h, late_h)))
