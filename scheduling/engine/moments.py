"""When concrete floats and sets, as the engine answers it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

# Beyond these a button was pressed wrongly, or it is other concrete (our choice).
LEAST_STRETCH, MOST_STRETCH = 0.4, 2.5


@dataclass(frozen=True, slots=True)
class Moment:
    """When something will be so: at the earliest, most likely, at the latest. In UTC."""

    early: datetime
    likely: datetime
    late: datetime


@dataclass(frozen=True, slots=True)
class SetTimes:
    """When concrete placed at `placed_at` floats and sets.

    `float_ready` is a footprint of 1/4 in and no sheen (ASCC Position Statement 15); `initial` and
    `final` are 500 and 4000 psi of penetration resistance (ASTM C403). The ages are the likely ones, in
    hours at 21.1 °C; `mean_air_c` and `mean_slab_c` are the means of air and slab from placing to likely
    final set. `sheen_gone_at` is when the bleed water has dried off (None: not known, or it never does);
    `crusts` says that this is while more still comes, so that the top dries into a crust.
    """

    placed_at: datetime
    float_ready: Moment
    initial: Moment
    final: Moment
    float_ready_age_h: float
    initial_age_h: float
    final_age_h: float
    mean_air_c: float
    mean_slab_c: float | None = None
    sheen_gone_at: datetime | None = None
    crusts: bool = False


def as_found(sets: SetTimes, ready_at: datetime) -> SetTimes:
    """Return the set times of concrete that people found ready to finish at a moment.

    What its forecast missed by to there it goes on to miss by: every span from placing on is stretched
    alike, between `LEAST_STRETCH` and `MOST_STRETCH` (our choice).
    """
    foreseen = sets.float_ready.likely - sets.placed_at
    stretch = min(max((ready_at - sets.placed_at) / foreseen, LEAST_STRETCH), MOST_STRETCH)
    at = max(ready_at.astimezone(UTC), sets.placed_at)

    def stretched(moment: Moment) -> Moment:
        spans = (moment.early, moment.likely, moment.late)
        return Moment(*(max(at, sets.placed_at + (one - sets.placed_at) * stretch) for one in spans))

    return replace(
        sets,
        float_ready=Moment(at, at, at),
        initial=stretched(sets.initial),
        final=stretched(sets.final),
    )
