"""The arrivals to ask for a pour's trucks, and what they may come to, from what the pour was asked with."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from scheduling.engine.bestspacing import BestSpacing, best_spacing
from scheduling.engine.inputs import PourRequest
from scheduling.engine.setting import SetTimes

# Of the time to the earliest initial set. A teaching example holds a pour at 60 min above 28 °C, which
# comes to about this share of our set times; otherwise our choice.
COLD_JOINT_SHARE = 0.4


def cold_joint_min(first_set: SetTimes) -> float:
    """Return the longest gap between two discharges that still knits, min, for concrete that sets so."""
    to_initial_set = first_set.initial.early - first_set.placed_at
    return COLD_JOINT_SHARE * (to_initial_set / timedelta(minutes=1))


def truck_outlook(
    request: PourRequest, loads_m3: Sequence[float], rate_m3_h: float, first_set: SetTimes, days: int
) -> BestSpacing:
    """Weigh the trucks of a pour over days that may come.

    Parameters
    ----------
    request : PourRequest
        Its supply, place, uncertainty, costs, start, and when the plant is busy with other pours.
    loads_m3 : sequence of float
        Volumes in order of delivery.
    rate_m3_h : float
        How fast the crew empties a truck on average.
    first_set : SetTimes
        Of the first concrete placed.
    days : int
        How many days to search on.

    Returns
    -------
    BestSpacing
        The arrivals to ask for, their risks, and what they cost beside plain "load divided by rate".
    """
    return best_spacing(
        loads_m3,
        rate_m3_h,
        request.supply,
        request.place,
        request.uncertainty,
        request.costs,
        cold_joint_min(first_set),
        request.starts_at,
        request.plant_busy,
        days=days,
    )
