"""The slab's own clock: how warm each strip is and how old that makes it, hour by hour from its placing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

import numpy as np

from scheduling.engine.exposure import Exposure, exposure_of, under_blankets
from scheduling.engine.forecast import Floats, Forecast, over_slab, utc
from scheduling.engine.hydration import hydration_of
from scheduling.engine.inputs import BadInput, Mix, Place
from scheduling.engine.mixage import ages_of
from scheduling.engine.slabheat import (
    COLDEST_CLOCK_C,
    LABORATORY_ENERGY_J_MOL,
    Course,
    Drying,
    grid_of,
    march,
)
from scheduling.engine.temperature import delivered_estimate_c

# Steps of ten minutes through the first hours, then longer, since weather comes by the hour.
STEPS_S: Floats = np.repeat([600.0, 1200.0, 1800.0], [48, 48, 96])
HORIZON_H = 72.0  # our choice, which the steps add up to: not set by then means not to be forecast

GROUND_HOURS = 24  # the ground begins at the air's mean over so long from placing (our choice)

STRENGTH_PACE = 0.38  # CEB-FIP Model Code 1990, slowly hardening cement: 7 days are 0.68 of 28
STRENGTH_DAYS = 28.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """What of a slab its temperature hangs on. As it stands: five inches outdoors, nothing else known.

    `concrete_c` is as delivered (None: estimated from the air at each strip's placing), `ground_c` of what
    it lies on (None: the air's mean over a day). From `covered_at` on blankets of
    `blankets_m2_k_w` lie on it.
    """

    thickness_m: float = 0.127
    concrete_c: float | None = None
    place: Place = field(default_factory=Place)
    ground_c: float | None = None
    blankets_m2_k_w: float = 0.0
    covered_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class SlabClock:
    """Strips of one slab and mix as time goes on; made by `slab_clock`.

    `placed_s` are POSIX times; `course` and `exposure` hold the arrays, moments and steps by strips.
    """

    placed_s: Floats
    course: Course
    exposure: Exposure
    drying: Drying

    def age_h(self, strip: int, moment: datetime) -> float | None:
        """Return a strip's equivalent age at a moment, hours at 21.1 °C; None where it is not known."""
        return self._at(self.course.age_h, strip, moment)

    def surface_c(self, strip: int, moment: datetime) -> float | None:
        """Return how warm a strip's top is, °C; None before placing or where it is not known."""
        return self._at(self.course.surface_c, strip, moment)

    def mean_c(self, strip: int, moment: datetime) -> float | None:
        """Return how warm a strip is through its depth, °C; None as for `surface_c`."""
        return self._at(self.course.mean_c, strip, moment)

    def wet_share(self, strip: int, moment: datetime) -> float:
        """Return how much of a wet surface's drying a strip has left; 0 where its age is not known."""
        age_h = self.age_h(strip, moment)
        return 0.0 if age_h is None else float(self.drying.share(np.array(age_h)))

    def strength_fraction(self, strip: int, moment: datetime) -> float | None:
        """Return the part of its 28-day strength that a strip has; None where its age is not known."""
        age_h = self.age_h(strip, moment)
        return None if age_h is None else strength_fraction(age_h)

    def moment_of_age(self, strip: int, age_h: float) -> datetime | None:
        """Return when a strip reaches an equivalent age; None where that is not known or too far off."""
        hours = float(self.hours_to(np.array([age_h]))[0, strip])
        if math.isnan(hours):
            return None
        return datetime.fromtimestamp(self.placed_s[strip] + hours * 3600, UTC)

    def moment_of_strength(self, strip: int, fraction: float) -> datetime | None:
        """Return when a strip has a part of its 28-day strength; None as for `moment_of_age`."""
        return self.moment_of_age(strip, age_of_strength_h(fraction))

    def hours_to(self, ages_h: Floats) -> Floats:
        """Return the hours from placing to each age: ages by strips, NaN where not reached."""
        return reached_h(ages_h, self.course.age_h, self.course.elapsed_s / 3600)

    def _at(self, values: Floats, strip: int, moment: datetime) -> float | None:
        since_s = utc(moment).timestamp() - self.placed_s[strip]
        value = np.interp(since_s, self.course.elapsed_s, values[:, strip], left=np.nan, right=np.nan)
        return None if math.isnan(value) else float(value)


def slab_clock(
    mix: Mix,
    slab: Slab,
    forecast: Forecast,
    placed_at: Sequence[datetime],
    shaded: Sequence[bool],
    until_age_h: float = 0.0,
) -> SlabClock:
    """Carry strips of a slab through the weather, all at once.

    Parameters
    ----------
    mix : Mix
    slab : Slab
    forecast : Forecast
    placed_at : sequence of datetime
        Aware; when each strip is placed.
    shaded : sequence of bool
        Whether each strip lies in shade; as many as `placed_at`.
    until_age_h : float
        How old, in hours at 21.1 °C, every strip shall be followed to at the least, for 72 h at most; in any
        case to its latest final set.

    Raises
    ------
    BadInput
        For another number of `shaded` than of strips, or none.
    """
    if len(shaded) != len(placed_at) or not placed_at:
        raise BadInput("shaded", "out_of_step", "There must be as many shaded as placed strips, and some.")
    placed_s = np.array([utc(moment, "placed_at").timestamp() for moment in placed_at])
    ages = ages_of(mix)
    exposure = _exposure(slab, forecast, placed_s, shaded)
    drying = Drying(ages.float_ready.likely_h, ages.final.likely_h)
    course = march(
        grid_of(slab.thickness_m),
        STEPS_S,
        exposure,
        _delivered_c(slab, forecast, placed_s),
        _ground_c(slab, forecast, placed_s),
        hydration_of(mix, ages.slower),
        drying,
        LABORATORY_ENERGY_J_MOL,
        max(until_age_h, ages.final.late_h),
    )
    return SlabClock(placed_s, course, exposure, drying)


def _exposure(slab: Slab, forecast: Forecast, placed_s: Floats, shaded: Sequence[bool]) -> Exposure:
    middles_s = np.cumsum(STEPS_S) - STEPS_S / 2
    exposure = exposure_of(over_slab(forecast, slab.place), slab.place, placed_s, middles_s, shaded)
    if slab.covered_at is None:
        return exposure
    covered = middles_s[:, None] + placed_s >= utc(slab.covered_at, "covered_at").timestamp()
    return under_blankets(exposure, slab.blankets_m2_k_w, covered)


def _delivered_c(slab: Slab, forecast: Forecast, placed_s: Floats) -> Floats:
    if slab.concrete_c is not None:
        return np.full(placed_s.shape, slab.concrete_c)
    return np.array([delivered_estimate_c(air_c) for air_c in forecast.series("air_c", placed_s)])


def _ground_c(slab: Slab, forecast: Forecast, placed_s: Floats) -> Floats:
    """The air's mean over a day from placing, as far as it is known; frozen ground is never placed on."""
    if slab.ground_c is not None:
        return np.full(placed_s.shape, slab.ground_c)
    hours_s = np.arange(GROUND_HOURS)[:, None] * 3600.0 + placed_s[None, :]
    airs_c = forecast.series("air_c", hours_s.ravel()).reshape(hours_s.shape)
    known = ~np.isnan(airs_c)
    mean_c = np.where(known, airs_c, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    return np.maximum(mean_c, COLDEST_CLOCK_C)


def reached_h(ages_h: Floats, grown_h: Floats, elapsed_h: Floats) -> Floats:
    """Return when growing ages reach given ones.

    Parameters
    ----------
    ages_h : ndarray, shape (ages,)
    grown_h : ndarray, shape (moments, strips)
        Never falling; NaN from where it is unknown.
    elapsed_h : ndarray, shape (moments,)

    Returns
    -------
    ndarray, shape (ages, strips)
        Hours; NaN where an age is not reached.
    """
    below = np.stack([(grown_h < age_h).sum(axis=0) for age_h in ages_h])
    upper = np.clip(below, 1, elapsed_h.size - 1)
    before = np.take_along_axis(grown_h, upper - 1, axis=0)
    after = np.take_along_axis(grown_h, upper, axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):  # where nothing grows the age is not reached
        part = (ages_h[:, None] - before) / (after - before)
    hours: Floats = elapsed_h[upper - 1] + part * (elapsed_h[upper] - elapsed_h[upper - 1])
    return np.where(below < elapsed_h.size, hours, np.nan)


def strength_fraction(age_h: float) -> float:
    """Return the part of its 28-day strength that concrete has at an age in hours at 21.1 °C.

    ``exp{s [1 - sqrt(28 d / t)]}``, CEB-FIP Model Code 1990, from memory; meant for ages over a day, a
    guide before.
    """
    return math.exp(STRENGTH_PACE * (1 - math.sqrt(STRENGTH_DAYS * 24 / age_h))) if age_h > 0 else 0.0


def age_of_strength_h(fraction: float) -> float:
    """Return the age, hours at 21.1 °C, at which concrete has a part (over 0) of its 28-day strength."""
    if not 0 < fraction <= 1:
        raise BadInput("fraction", "out_of_range", "fraction must be more than 0 and at most 1.")
    return STRENGTH_DAYS * 24 / (1 - math.log(fraction) / STRENGTH_PACE) ** 2
