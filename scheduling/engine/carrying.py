"""Carrying concrete on wheels: how fast barrows and power buggies bring it from the truck."""

from __future__ import annotations

import math

from scheduling.engine.inputs import Placing, require_not_negative, require_positive

_FT_M = 0.3048
_YD3_M3 = 0.764555

# Gillette and Hill (1908), Concrete Construction: 3 ft3 on the level, 2 ft3 with a rise, 200 ft/min both
# ways; 3/4 min lost on each trip, from memory.
BARROW_M3 = 3 * 0.0283168
BARROW_M_MIN = 200 * _FT_M
LOST_ON_A_TRIP_MIN = 0.75
RISING_SHARE = 2 / 3
STEEP_RISE = 1 / 12  # our choice: from this ramp on a barrow takes only that share; less rise, more of it

# Their trip is what a good man does at his best. Ours adds the minutes to fill and to wait one's turn and
# counts 45 minutes to the hour, so that a barrow brings 1.3 to 2.4 yd3/h; the working rule is 1 to 1.5 (from
# memory), hand carts of 8 ft3 about 4 at 150 ft, where a trade magazine has 3 to 5 (our choice).
FILL_AND_WAIT_MIN = 1.5
WORKING_HOUR = 45 / 60
BARROW_FARTHEST_M = 200 * _FT_M  # trade magazine: hand carts no farther

# A trade magazine: one power buggy 15 to 20 yd3/h at 600 ft, useful to about 1,000 ft, a little over 1/2 yd3
# each time. We take 17.5 at 600 ft, the same minutes lost on a trip, and never more than the 20.
BUGGY_M3 = 0.55 * _YD3_M3
BUGGY_MOST_M3_H = 20 * _YD3_M3
BUGGY_FARTHEST_M = 1000 * _FT_M
_BUGGY_KNOWN_M, _BUGGY_KNOWN_M3_H = 600 * _FT_M, 17.5 * _YD3_M3
BUGGY_M_MIN = 2 * _BUGGY_KNOWN_M / (60 * BUGGY_M3 / _BUGGY_KNOWN_M3_H - LOST_ON_A_TRIP_MIN)

USUAL_CARRY_M = 50 * _FT_M  # our choice, where nobody entered a distance
CART_CHANGE_MIN = 1 / 6  # one cart off the chute, the next one under it (our choice)


def carry_distance_m(placing: Placing) -> float:
    """Return how far concrete is wheeled one way: as entered, else the reach asked, else a usual distance."""
    distances_m = (placing.carry_m, placing.reach_m, USUAL_CARRY_M)
    return next(distance_m for distance_m in distances_m if distance_m is not None)


def barrow_load_m3(placing: Placing) -> float:
    """Return what one barrow carries: full on the level, two thirds up a ramp of 1 in 12 or steeper."""
    if placing.rise_m == 0:
        return placing.barrow_m3
    run_m = max(carry_distance_m(placing), placing.rise_m)
    steep = min(1.0, placing.rise_m / run_m / STEEP_RISE)
    return placing.barrow_m3 * (1 - (1 - RISING_SHARE) * steep)


def barrow_trips(volume_m3: float, load_m3: float) -> int:
    """Return how many barrow loads a volume makes."""
    require_positive("load_m3", load_m3)
    return math.ceil(volume_m3 / load_m3 - 1e-9)


def barrow_bound_m3_h(distance_m: float, load_m3: float = BARROW_M3) -> float:
    """Return the most one person brings by barrow, without filling or waiting: Gillette and Hill (1908).

    ``60 / (2 D / 200 + 3/4) q / 27`` yd3/h, D in ft and q in ft3.

    Parameters
    ----------
    distance_m : float
        One way, m.
    load_m3 : float
        In the barrow, m3.

    Returns
    -------
    float
        m3/h.
    """
    return 60 / _trip_min(distance_m, BARROW_M_MIN) * load_m3


def barrow_rate_m3_h(distance_m: float, load_m3: float = BARROW_M3) -> float:
    """Return what one person brings by barrow in a working hour, m3/h, filling and waiting among it."""
    trip_min = _trip_min(distance_m, BARROW_M_MIN) / WORKING_HOUR + FILL_AND_WAIT_MIN
    return 60 / trip_min * load_m3


def buggy_rate_m3_h(distance_m: float) -> float:
    """Return what one power buggy brings, m3/h, over a distance one way."""
    return min(BUGGY_MOST_M3_H, 60 / _trip_min(distance_m, BUGGY_M_MIN) * BUGGY_M3)


def filling_rate_m3_h(load_m3: float, chute_m3_h: float) -> float:
    """Return what one chute fills into carts of `load_m3` that come one after another, m3/h."""
    return 60 * load_m3 / (60 * load_m3 / chute_m3_h + CART_CHANGE_MIN)


def _trip_min(distance_m: float, speed_m_min: float) -> float:
    require_not_negative("distance_m", distance_m)
    return 2 * distance_m / speed_m_min + LOST_ON_A_TRIP_MIN
