"""After finishing: how long the slab is kept wet or sealed, and what it bears when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from scheduling.engine.finishing import StripWindows
from scheduling.engine.forecast import Forecast
from scheduling.engine.ripening import Ripening
from scheduling.engine.slabclock import SlabClock
from scheduling.engine.slabheat import REFERENCE_C

CURED_H = 7 * 24.0  # 7 days at 50 °F and over (ACI 308)
CURED_OVER_C = (50 - 32) / 1.8

# Hours at 70 °F after placing, the short end of what the trade gives: edge forms off 12 to 24 h, walked on
# 24 to 48 h, light things on it 48 to 72 h, cars 7 days (trade pages), loaded in full 28 days (the age that
# strength is specified at). At 50 °F the pace of ASTM C1074 with 40 kJ/mol makes 12 h to 23 and 24 h to 46,
# about the long end. Never sooner in heat.
FORMS_OFF_H = 12.0
WALKED_ON_H = 24.0
LIGHT_THINGS_H = 48.0
CARS_H = 7 * 24.0
HEAVY_H = 28 * 24.0

FOLLOWED_H = 7 * 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CuringPlan:
    """When curing begins and ends, and when the whole slab bears what.

    Curing compound goes on strip by strip from `compound_from_at` to `compound_until_at`, sheets and water
    from `cover_from_at` on without marking it, all over from `cover_all_at`. It is kept up to `ends_at`.
    """

    compound_from_at: datetime
    compound_until_at: datetime
    cover_from_at: datetime
    cover_all_at: datetime
    ends_at: datetime
    forms_off_at: datetime
    walked_on_at: datetime
    light_things_at: datetime
    cars_at: datetime
    heavy_at: datetime


def plan_curing(strips: Sequence[StripWindows], clock: SlabClock, air: Forecast) -> CuringPlan:
    """Return when to cure and when the slab bears people, things and cars.

    Parameters
    ----------
    strips : sequence of StripWindows
        As finished.
    clock : SlabClock
        Of the slab, whose strips stand in it by their numbers.
    air : Forecast
        The weather it rests on; where it ends, the mean of what is known goes on.

    Returns
    -------
    CuringPlan
        Of each strip curing counts from its finishing, the rest from its placing, and the last strip to be
        ready tells. Colder than 50 °F (for curing) and 70 °F (for the rest) hours count less, by equivalent
        age of the slab's own temperature; warmer ones no more. The engineer's specification governs.
    """
    finished_at = max(strip.finished_at for strip in strips)
    covers = [max(strip.hard_at, strip.finished_at) for strip in strips]
    kept = Ripening(clock, air, CURED_OVER_C, FOLLOWED_H, capped=True)
    ripe = Ripening(clock, air, REFERENCE_C, FOLLOWED_H, capped=True)
    cured_at = max(kept.reached_at(strip.number, strip.finished_at, CURED_H) for strip in strips)
    borne_at = (
        max(ripe.reached_at(strip.number, strip.placed_at, hours) for strip in strips).replace(microsecond=0)
        for hours in (FORMS_OFF_H, WALKED_ON_H, LIGHT_THINGS_H, CARS_H, HEAVY_H)
    )
    forms_off_at, walked_on_at, light_things_at, cars_at, heavy_at = borne_at
    return CuringPlan(
        compound_from_at=min(strip.finished_at for strip in strips),
        compound_until_at=finished_at,
        cover_from_at=min(covers),
        cover_all_at=max(covers),
        ends_at=cured_at.replace(microsecond=0),
        forms_off_at=forms_off_at,
        walked_on_at=walked_on_at,
        light_things_at=light_things_at,
        cars_at=cars_at,
        heavy_at=heavy_at,
    )
