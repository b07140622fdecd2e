"""When each strip of a slab will bear a float, and when it sets: a range, from mix, weather and slab.

Concrete's clock runs with its own temperature (`slabclock`). Each milestone lies at an age of the mix
(`mixage`), and the clock says when that is reached. Two published rules that go by the air
alone are kept beside it: what they say lies within the range, since they are what crews go by.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from scheduling.engine.bleeding import sheen_gone_h
from scheduling.engine.forecast import Floats, Forecast
from scheduling.engine.inputs import Mix
from scheduling.engine.mixage import FINAL_SET_H, FLOAT_READY_H, MixAges, ages_of
from scheduling.engine.moments import Moment, SetTimes
from scheduling.engine.slabclock import (
    HORIZON_H,
    STEPS_S,
    Slab,
    SlabClock,
    reached_h,
    slab_clock,
)
from scheduling.engine.slabheat import (
    COLDEST_CLOCK_C,
    GAS_CONSTANT_J_MOL_K,
    LABORATORY_ENERGY_J_MOL,
    REFERENCE_C,
    quickening,
)

__all__ = [
    "GAS_CONSTANT_J_MOL_K",
    "LABORATORY_ENERGY_J_MOL",
    "REFERENCE_C",
    "Moment",
    "SetTimes",
    "Slab",
    "SlabClock",
    "arrhenius_factor",
    "clock_times",
    "set_times",
    "set_times_many",
    "slab_clock",
]

# The contractors' survey of ASCC Position Statement 15 (4 1/4, 2 3/4 and 1 3/4 h to power floating in air of
# 50, 70 and 90 °F): 2.70 h at 70 °F and 28.7 kJ/mol fit it within 2 %. Flatter than concrete's own 40, since
# a slab lags the air.
SURVEY_ENERGY_J_MOL = 28_700.0
SURVEY_FLOAT_H = 2.70

# PCA's approximate setting times without accelerator by temperature, °F and h, from memory.
SET_TABLE = (
    (30.0, 19.0),
    (40.0, 14 + 2 / 3),
    (50.0, 10 + 2 / 3),
    (60.0, 8.0),
    (70.0, 6.0),
    (80.0, 4.0),
    (90.0, 2 + 2 / 3),
    (100.0, 1 + 2 / 3),
)
TABLE_70F_H = 6.0

EARLY, LIKELY, LATE = range(3)


def arrhenius_factor(temp_c: float, reference_c: float, activation_energy_j_mol: float) -> float:
    """Return the rate of setting at `temp_c` over that at `reference_c`.

    ``exp[-Ea/R (1/T - 1/Tr)]``, ASTM C1074 (its Q is Ea/R). Meant for 0 to 40 °C.
    """
    return float(quickening(np.array(temp_c), activation_energy_j_mol, reference_c))


def table_pace(air_c: Floats) -> Floats:
    """Return how fast concrete sets in air against 70 °F by PCA's table, its hours' logarithm in between.

    Colder than 30 °F counts as 30 °F, since fresh concrete is kept from freezing; over 100 °F as that.
    """
    temps_f, hours = np.array(SET_TABLE).T
    return np.exp(-np.interp(air_c * 1.8 + 32, temps_f, np.log(hours / TABLE_70F_H)))


def survey_pace(air_c: Floats) -> Floats:
    """Return how fast concrete comes to floating in air against 70 °F, by the contractors' survey."""
    return quickening(np.maximum(air_c, COLDEST_CLOCK_C), SURVEY_ENERGY_J_MOL, REFERENCE_C)


def set_times(
    mix: Mix,
    forecast: Forecast,
    placed_at: datetime,
    slab: Slab = Slab(),  # noqa: B008  (frozen: cannot be changed by a caller)
    shaded: bool = False,
) -> SetTimes | None:
    """Return when concrete of this mix placed at `placed_at` floats and sets: `set_times_many` of one."""
    return set_times_many(mix, slab, forecast, [placed_at], [shaded])[0]


def set_times_many(
    mix: Mix, slab: Slab, forecast: Forecast, placed_at: Sequence[datetime], shaded: Sequence[bool]
) -> tuple[SetTimes | None, ...]:
    """Return when each strip will float and set.

    Parameters
    ----------
    mix : Mix
    slab : Slab
    forecast : Forecast
        Its air must be known; a usual day's wind, humidity and cloud stand in where it does not tell
        them, and no sun where neither it nor the place tells.
    placed_at : sequence of datetime
        Aware; when each strip is placed.
    shaded : sequence of bool
        As many as `placed_at`.

    Returns
    -------
    tuple of SetTimes or None
        One a strip. None where the air is unknown before the latest final set, or that is over 72 h away.
    """
    return clock_times(mix, slab, slab_clock(mix, slab, forecast, placed_at, shaded))


def clock_times(mix: Mix, slab: Slab, clock: SlabClock) -> tuple[SetTimes | None, ...]:
    """Return when each strip of a clock that ran with this mix and slab will float and set."""
    ages = ages_of(mix)
    own_h = clock.hours_to(np.array(ages).ravel()).reshape(3, 3, -1)
    hours = _with_rules(own_h, _rules_h(mix, clock.exposure.air_c))
    sheen_h, crusts = sheen_gone_h(mix, slab.thickness_m, clock)
    # Crews draw off what sheen there still is by initial set; where drying is not known it is left out.
    hours[0, LIKELY] = np.fmax(hours[0, LIKELY], np.minimum(sheen_h, hours[1, LIKELY]))
    hours[0, LATE] = np.maximum(hours[0, LIKELY], hours[0, LATE])
    hours = np.maximum.accumulate(hours, axis=0)
    means = _means_c(clock, hours[2, LIKELY])
    return tuple(
        _set_times(
            float(placed_s),
            hours[:, :, strip],
            float(sheen_h[strip]),
            bool(crusts[strip]),
            ages,
            means[:, strip],
        )
        for strip, placed_s in enumerate(clock.placed_s)
    )


def _rules_h(mix: Mix, air_c: Floats) -> Floats:
    """Return when the survey and the table have a mix's milestones: rules by milestones by strips.

    The survey is of floating and carries the sets along; the table is of set and has no floating.
    """
    ages_h = np.array([age.likely_h for age in ages_of(mix)])
    steps_h, elapsed_h = STEPS_S[:, None] / 3600, np.append(0.0, np.cumsum(STEPS_S)) / 3600

    def to(pace: Floats, rule_ages_h: Floats) -> Floats:
        grown_h = np.concatenate([np.zeros((1, air_c.shape[1])), np.cumsum(pace * steps_h, axis=0)])
        return reached_h(rule_ages_h, grown_h, elapsed_h)

    survey_h = to(survey_pace(air_c), ages_h * (SURVEY_FLOAT_H / FLOAT_READY_H))
    table_h = to(table_pace(air_c), ages_h * (TABLE_70F_H / FINAL_SET_H))
    table_h[0] = survey_h[0]
    return np.stack([survey_h, table_h])


def _with_rules(own_h: Floats, rules_h: Floats) -> Floats:
    """Widen the range of milestones (by early, likely, late, by strips) as far as the rules."""
    hours = own_h.copy()
    hours[:, EARLY] = np.minimum(own_h[:, EARLY], rules_h.min(axis=0))
    hours[:, LATE] = np.maximum(own_h[:, LATE], rules_h.max(axis=0))
    return hours


def _means_c(clock: SlabClock, final_h: Floats) -> Floats:
    """Return the means of air and slab until final set, 2 by strips."""
    count = clock.course.elapsed_s.size - 1
    begins_h = clock.course.elapsed_s[:-1, None] / 3600
    weights = np.where(begins_h < final_h, STEPS_S[:count, None], 0.0)
    slab_c = (clock.course.mean_c[1:] + clock.course.mean_c[:-1]) / 2
    airs_and_slabs = np.stack([clock.exposure.air_c[:count], slab_c])
    total = np.where(weights > 0, airs_and_slabs * weights, 0.0).sum(axis=1)
    means: Floats = total / np.maximum(weights.sum(axis=0), 1.0)
    return means


def _set_times(
    placed_s: float, hours: Floats, sheen_h: float, crusts: bool, ages: MixAges, means_c: Floats
) -> SetTimes | None:
    if np.isnan(hours).any():
        return None
    at = [[_moment(placed_s, hour) for hour in row] for row in hours.tolist()]
    float_ready, initial, final = (Moment(*row) for row in at)
    return SetTimes(
        placed_at=datetime.fromtimestamp(placed_s, UTC),
        float_ready=float_ready,
        initial=initial,
        final=final,
        float_ready_age_h=ages.float_ready.likely_h,
        initial_age_h=ages.initial.likely_h,
        final_age_h=ages.final.likely_h,
        mean_air_c=float(means_c[0]),
        mean_slab_c=float(means_c[1]),
        sheen_gone_at=_moment(placed_s, sheen_h) if sheen_h < HORIZON_H else None,
        crusts=crusts,
    )


def _moment(placed_s: float, hours: float) -> datetime:
    return datetime.fromtimestamp(placed_s + hours * 3600, UTC)
