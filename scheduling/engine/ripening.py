"""How long a slab takes to come to an age: hours that count in full only when it is warm."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np

from scheduling.engine.forecast import Floats, Forecast, utc
from scheduling.engine.inputs import BadInput, require_not_negative
from scheduling.engine.slabclock import SlabClock
from scheduling.engine.slabheat import COLDEST_CLOCK_C, LABORATORY_ENERGY_J_MOL, quickening

STEP_S = 900.0


class Ripening:
    """Equivalent age of strips from placing on, by their own temperature, at 40 kJ/mol (ASTM C1074).

    From where the slab's clock stops, concrete is taken to be as warm as the air, which a slab on the ground
    is not far from after its first day; where the forecast ends, the mean pace of the air it knows goes on.
    Nothing counts as colder than 0 °C.

    Parameters
    ----------
    clock : SlabClock
    air : Forecast
    reference_c : float
        At which an hour is an hour.
    span_h : float
        How far both are followed.
    capped : bool
        Whether warmer concrete counts no more than the reference.

    Raises
    ------
    BadInput
        Where the forecast knows no air after some strip's placing.
    """

    def __init__(
        self, clock: SlabClock, air: Forecast, reference_c: float, span_h: float, *, capped: bool
    ) -> None:
        edges_s = np.arange(0.0, span_h * 3600 + STEP_S, STEP_S)
        middles_s = (edges_s[1:] + edges_s[:-1]) / 2
        moments_s = middles_s[:, None] + clock.placed_s
        airs_c = air.series("air_c", moments_s.ravel()).reshape(moments_s.shape)
        if np.isnan(airs_c).all(axis=0).any():
            raise BadInput("forecast", "no_air", "The forecast must know some air after placing.")
        slab_c = _slab_c(clock, middles_s)

        def pace(temps_c: Floats) -> Floats:
            paces = quickening(np.maximum(temps_c, COLDEST_CLOCK_C), LABORATORY_ENERGY_J_MOL, reference_c)
            return np.minimum(paces, 1.0) if capped else paces

        self._mean_paces = np.nanmean(pace(airs_c), axis=0)
        paces = pace(np.where(np.isnan(slab_c), airs_c, slab_c))
        steps_h = np.where(np.isnan(paces), self._mean_paces, paces) * (STEP_S / 3600)
        self._placed_s, self._elapsed_h = clock.placed_s, edges_s / 3600
        self._ages_h = np.concatenate([np.zeros((1, steps_h.shape[1])), np.cumsum(steps_h, axis=0)])

    def hours_until(self, strip: int, moment: datetime, age_h: float) -> float:
        """Return the hours from `moment`, not before placing, to when a strip has grown `age_h` older."""
        require_not_negative("age_h", age_h)
        placed_at = datetime.fromtimestamp(float(self._placed_s[strip]), UTC)
        since_h = max(0.0, (utc(moment) - placed_at) / timedelta(hours=1))
        return self._elapsed_at(strip, self._age_at(strip, since_h) + age_h) - since_h

    def reached_at(self, strip: int, moment: datetime, age_h: float) -> datetime:
        """Return when a strip has grown `age_h` older than at `moment`, in UTC."""
        return utc(moment) + timedelta(hours=self.hours_until(strip, moment, age_h))

    def _age_at(self, strip: int, elapsed_h: float) -> float:
        over_h = max(0.0, elapsed_h - float(self._elapsed_h[-1])) * float(self._mean_paces[strip])
        return float(np.interp(elapsed_h, self._elapsed_h, self._ages_h[:, strip])) + over_h

    def _elapsed_at(self, strip: int, age_h: float) -> float:
        over_h = max(0.0, age_h - float(self._ages_h[-1, strip])) / float(self._mean_paces[strip])
        return float(np.interp(age_h, self._ages_h[:, strip], self._elapsed_h)) + over_h


def _slab_c(clock: SlabClock, since_s: Floats) -> Floats:
    """The slab's mean temperature so long after placing, moments by strips; NaN where it is not followed."""
    elapsed_s, means_c = clock.course.elapsed_s, clock.course.mean_c
    upper = np.clip(np.searchsorted(elapsed_s, since_s), 1, elapsed_s.size - 1)
    part = ((since_s - elapsed_s[upper - 1]) / (elapsed_s[upper] - elapsed_s[upper - 1]))[:, None]
    slab_c = means_c[upper - 1] + part * (means_c[upper] - means_c[upper - 1])
    return np.where((since_s <= elapsed_s[-1])[:, None], slab_c, np.nan)
