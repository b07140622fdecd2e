"""How long concrete takes in the air to come to an age: hours that count in full only when it is warm."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from scheduling.engine.forecast import Forecast, utc
from scheduling.engine.inputs import BadInput, require_not_negative
from scheduling.engine.setting import GAS_CONSTANT_J_MOL_K, LABORATORY_ENERGY_J_MOL

STEP_S = 900.0
COLDEST_C = 0.0  # our choice: young concrete is kept from freezing, whatever the air


class Ripening:
    """Equivalent age under a forecast's air from a moment on, at 40 kJ/mol (ASTM C1074).

    Air below freezing counts as 0 °C. Where the forecast ends, the mean pace of what it knows goes on.

    Parameters
    ----------
    forecast : Forecast
    start : datetime
        Aware.
    reference_c : float
        At which an hour is an hour.
    span_h : float
        How far the forecast is followed.
    capped : bool
        Whether warmer air counts no more than the reference.

    Raises
    ------
    BadInput
        Where the forecast knows no air from `start` on.
    """

    def __init__(
        self, forecast: Forecast, start: datetime, reference_c: float, span_h: float, *, capped: bool
    ) -> None:
        self._start = utc(start, "start")
        edges_s = np.arange(0.0, span_h * 3600 + STEP_S, STEP_S)
        airs_c = forecast.series("air_c", (edges_s[1:] + edges_s[:-1]) / 2 + self._start.timestamp())
        if np.isnan(airs_c).all():
            raise BadInput("forecast", "no_air", "The forecast must know some air after the start.")
        inverse_k = 1 / (np.maximum(airs_c, COLDEST_C) + 273.15) - 1 / (reference_c + 273.15)
        paces = np.exp(-LABORATORY_ENERGY_J_MOL / GAS_CONSTANT_J_MOL_K * inverse_k)
        paces = np.minimum(paces, 1.0) if capped else paces
        self._mean_pace = float(np.nanmean(paces))
        paces = np.where(np.isnan(paces), self._mean_pace, paces)
        self._elapsed_h = edges_s / 3600
        self._ages_h = np.append(0.0, np.cumsum(paces) * STEP_S / 3600)

    def hours_until(self, moment: datetime, age_h: float) -> float:
        """Return the hours from `moment`, not before the start, to when it has grown `age_h` older."""
        require_not_negative("age_h", age_h)
        since_h = max(0.0, (utc(moment) - self._start).total_seconds() / 3600)
        return self._elapsed_at(self._age_at(since_h) + age_h) - since_h

    def reached_at(self, moment: datetime, age_h: float) -> datetime:
        """Return when concrete has grown `age_h` older than at `moment`, in UTC."""
        return utc(moment) + timedelta(hours=self.hours_until(moment, age_h))

    def _age_at(self, elapsed_h: float) -> float:
        over_h = max(0.0, elapsed_h - float(self._elapsed_h[-1]))
        return float(np.interp(elapsed_h, self._elapsed_h, self._ages_h)) + over_h * self._mean_pace

    def _elapsed_at(self, age_h: float) -> float:
        over_h = max(0.0, age_h - float(self._ages_h[-1])) / self._mean_pace
        return float(np.interp(age_h, self._ages_h, self._elapsed_h)) + over_h
