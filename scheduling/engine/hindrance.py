"""What makes the same work go slower or faster: steel, fibres, slump, slope and thickness.

Every factor multiplies a rate that holds for plain concrete of about 100 mm slump on the level, 4 to 6 in
thick. All the numbers are our choice: no published table was found. Only their order is trade knowledge.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from scheduling.engine.inputs import Placing, Reinforcement
from scheduling.engine.tables import between

ORDINARY_SLUMP_MM = 100.0  # 4 in
ORDINARY_DEPTHS_M = (4 * 0.0254, 6 * 0.0254)
FIBRES = 0.9  # they drag on rake, board and hose alike

# Between the points in a straight line, level outside them.
SLUMPS_MM = (25.0, 50.0, 75.0, 100.0, 150.0, 200.0)
SLOPES = (0.02, 0.05, 0.10, 0.20)
LEAST_DEPTH_FACTOR, MOST_DEPTH_FACTOR = 0.8, 1.3


@dataclass(frozen=True, slots=True)
class Hindrance:
    """One kind of work's factors: at `SLUMPS_MM`, at `SLOPES` (1 below the first) and by steel."""

    by_slump: Sequence[float]
    by_slope: Sequence[float]
    by_steel: Mapping[Reinforcement, float]

    def factor(self, placing: Placing) -> float:
        """Return what the rate of this work is multiplied by."""
        slump_mm = ORDINARY_SLUMP_MM if placing.slump_mm is None else placing.slump_mm
        return (
            between(slump_mm, SLUMPS_MM, self.by_slump)
            * between(placing.slope, SLOPES, self.by_slope)
            * self.by_steel[placing.reinforcement]
            * (FIBRES if placing.fibres else 1.0)
        )


_LEVEL = (1.0, 1.0, 1.0, 1.0)
_NO_STEEL = MappingProxyType(dict.fromkeys(Reinforcement, 1.0))

# Down a chute a stiff mix must be helped along; a steep slab does not matter there.
CHUTING = Hindrance((0.4, 0.6, 0.85, 1.0, 1.1, 1.15), _LEVEL, _NO_STEEL)
PUMPING = Hindrance((0.3, 0.5, 0.75, 1.0, 1.1, 1.1), _LEVEL, _NO_STEEL)
# Steel underfoot slows the rake and lifts the feet of those at the board. On a slope concrete creeps
# down again, so the board goes uphill and slowly.
RAKING = Hindrance(
    (0.5, 0.7, 0.85, 1.0, 1.1, 1.2),
    (1.0, 0.9, 0.8, 0.6),
    MappingProxyType({Reinforcement.NONE: 1.0, Reinforcement.MESH: 0.85, Reinforcement.BARS: 0.75}),
)
STRIKING = Hindrance(
    (0.6, 0.75, 0.9, 1.0, 1.1, 1.15),
    (1.0, 0.9, 0.75, 0.5),
    MappingProxyType({Reinforcement.NONE: 1.0, Reinforcement.MESH: 0.95, Reinforcement.BARS: 0.9}),
)
# Wheels and feet between the bars want planks.
WHEELING = Hindrance(
    (1.0,) * len(SLUMPS_MM),
    _LEVEL,
    MappingProxyType({Reinforcement.NONE: 1.0, Reinforcement.MESH: 0.95, Reinforcement.BARS: 0.9}),
)


def depth_factor(depth_m: float) -> float:
    """Return the factor on what one raker places: a thick slab takes more concrete for the same grading."""
    thin_m, thick_m = ORDINARY_DEPTHS_M
    factor = math.sqrt(depth_m / min(max(depth_m, thin_m), thick_m))
    return min(max(factor, LEAST_DEPTH_FACTOR), MOST_DEPTH_FACTOR)
