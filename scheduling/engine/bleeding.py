"""When the sheen of bleed water is gone, and whether the top dries into a crust before it bears a float."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduling.engine.evaporation import evaporation_limit_kg_m2_h
from scheduling.engine.exposure import Truths
from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import Fact, Finding, Mix, Severity
from scheduling.engine.moments import SetTimes
from scheduling.engine.slabclock import SlabClock, reached_h

BLED_KG_M3 = 2.0  # our choice: about 1 % of the mixing water, as of stiff mixes; 1 to 4 % is common
BLED_LITTLE_KG_M3 = 0.5  # with silica fume, which hardly bleeds (Silica Fume Association); our choice


def bled_kg_m2(mix: Mix, thickness_m: float) -> float:
    """Return all the bleed water that comes to the top of a slab."""
    return (BLED_LITTLE_KG_M3 if mix.silica_fume else BLED_KG_M3) * thickness_m


def bleeding_ends_h(mix: Mix, thickness_m: float) -> float:
    """Return the age, hours at 21.1 °C, at which a slab stops bleeding.

    It bleeds at first as fast as it may dry without harm (1 kg/m2/h of ordinary concrete, which ACI
    305R's limit rests on), then ever more slowly, in a straight line (our choice).
    """
    return 2 * bled_kg_m2(mix, thickness_m) / evaporation_limit_kg_m2_h(mix)


def sheen_gone_h(mix: Mix, thickness_m: float, clock: SlabClock) -> tuple[Floats, Truths]:
    """Return the hours from placing until each strip's sheen has dried, and whether the top crusts.

    Returns
    -------
    hours : ndarray, shape (strips,)
        NaN where drying is not known; infinite where the sheen outlasts the clock.
    crusts : ndarray of bool, shape (strips,)
        Whether drying has overtaken a slab that still bleeds.
    """
    course, ends_h = clock.course, bleeding_ends_h(mix, thickness_m)
    left = np.clip(1 - course.age_h / ends_h, 0.0, 1.0)
    known = np.logical_and.accumulate(clock.exposure.dry_known, axis=0)[: course.elapsed_s.size - 1]
    dried = np.where(np.concatenate([known[:1], known]), course.dried_kg_m2, np.nan)
    short = dried - bled_kg_m2(mix, thickness_m) * (1 - left**2)
    short[0] = np.minimum(short[1], -1e-9)  # at placing nothing has bled or dried, and nothing is short
    short = np.maximum.accumulate(short, axis=0)
    dry_h = reached_h(np.array([0.0]), short, course.elapsed_s / 3600)[0]
    bled_h = clock.hours_to(np.array([ends_h]))[0]
    return np.where(short[-1] < 0, np.inf, dry_h), dry_h < bled_h


def crusting_findings(strips: Sequence[SetTimes]) -> tuple[Finding, ...]:
    """Say, CAUTION ``crusting``, where the top dries while the slab still bleeds: of the first such strip."""
    for strip in strips:
        if strip.crusts:
            facts: dict[str, Fact] = {
                "sheen_gone_at": strip.sheen_gone_at,
                "float_ready_at": strip.float_ready.likely,
            }
            return (Finding(Severity.CAUTION, "crusting", facts, "ACI 305R; amount of bleeding our choice"),)
    return ()
