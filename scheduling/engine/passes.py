"""The passes a finish takes, when in a strip's hardening each may be made, and how fast they go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from scheduling.engine.inputs import Finish

_M2_PER_FT2 = 0.09290304


class PassKind(StrEnum):
    POWER_FLOAT = "power_float"
    TROWEL = "trowel"
    BROOM = "broom"


# One pass, m2/h. Labour is from a published cost book (h/ft2 in all, the bull float's .006 among it) and an
# estimating text (1 h/100 ft2 machine trowelled in all); both count paid hours, waiting too.
#
# A walk-behind machine: 1,500 ft2 finished a day (trade magazine, 700 to 1,500), which is four
# passes in the three and a half hours from float-ready to final set at 70 °F: about 1,700 ft2/h.
TROWEL_MACHINE_M2_H = 160.0
# A person beside machines, edges and corners among it: (.010 - .006) h/ft2 over four passes.
WITH_MACHINE_M2_H = _M2_PER_FT2 * 4 / (0.010 - 0.006)
# A person with hand float or hand trowel: (.018 - .006) h/ft2 over four passes; the same magazine's
# hand crew of 600 ft2 a day agrees, taken as two people.
BY_HAND_M2_H = _M2_PER_FT2 * 4 / (0.018 - 0.006)
# A person who edges, touches up and brooms: (.012 - .006) h/ft2. A contractor's limit of 800 ft2 to two
# finishers in the 2 to 3 h the concrete gives agrees.
BROOM_M2_H = _M2_PER_FT2 / (0.012 - 0.006)

# Paid hours for the whole finish, waiting among it, h/ft2: the least and the most published. Trowel:
# estimating text and cost book; broom and float: cost book, and a second cost book from memory.
LABOUR_H_FT2: Mapping[Finish, tuple[float, float]] = {
    Finish.TROWEL: (0.010, 0.015),
    Finish.BROOM: (0.012, 0.013),
    Finish.FLOAT: (0.010, 0.012),
}


@dataclass(frozen=True, slots=True)
class Stretch:
    """A pass and the part of the time from float-ready (0) to final set (1) in which a strip takes it."""

    kind: PassKind
    opens: float
    closes: float


# Float, then three trowel passes, each with two quarters of the time (our choice: 2 to 3 trowel passes are
# common, from memory; a trowel on concrete past final set only burns it). A broom marks the surface
# a little longer than a float can close it (our choice).
PASSES: Mapping[Finish, tuple[Stretch, ...]] = {
    Finish.TROWEL: (
        Stretch(PassKind.POWER_FLOAT, 0.0, 0.5),
        Stretch(PassKind.TROWEL, 0.25, 0.75),
        Stretch(PassKind.TROWEL, 0.5, 1.0),
        Stretch(PassKind.TROWEL, 0.75, 1.0),
    ),
    Finish.BROOM: (Stretch(PassKind.BROOM, 0.0, 0.6),),
    Finish.FLOAT: (Stretch(PassKind.POWER_FLOAT, 0.0, 0.5),),
}

# A strip is not lost the minute a window closes: neither rates nor set times are known so well. A pass may
# end so much of the time from float-ready to final set late before the strip counts as lost (our choice).
GRACE = 0.05

HOPELESS_SHORT_PERCENT = 100 / 3  # parties differ by so much from our rates, hardly by more (our choice)
MOST_PEOPLE = 60


def pass_rate_m2_h(kind: PassKind, people: int, power_trowels: int) -> float:
    """Return how fast a party goes once over a slab.

    Parameters
    ----------
    kind : PassKind
    people, power_trowels : int
        Walk-behind machines, each with one of the people at it.

    Returns
    -------
    float
        m2/h. Machines set the pace as far as there are hands for their edges; hands left over work
        without a machine.
    """
    if kind is PassKind.BROOM:
        return BROOM_M2_H * people
    machines_m2_h = TROWEL_MACHINE_M2_H * min(power_trowels, people)
    with_machines_m2_h = min(machines_m2_h, WITH_MACHINE_M2_H * people)
    hands_left = people - with_machines_m2_h / WITH_MACHINE_M2_H
    return with_machines_m2_h + BY_HAND_M2_H * hands_left


def labour_h(finish: Finish, area_m2: float) -> tuple[float, float]:
    """Return the least and the most paid hours that published labour values give for a finish."""
    least, most = LABOUR_H_FT2[finish]
    return least * area_m2 / _M2_PER_FT2, most * area_m2 / _M2_PER_FT2
