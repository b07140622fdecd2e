"""What the trucks of a planned pour may come to, and the arrivals that promise least trouble."""

from __future__ import annotations

from datetime import timedelta

from scheduling.engine.bestspacing import BestSpacing, best_spacing
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.inputs import Costs, PourRequest, Uncertainty

# Of the time to the earliest initial set. A teaching example holds a pour at 60 min above 28 °C, which
# comes to about this share of our set times; otherwise our choice.
COLD_JOINT_SHARE = 0.4


def cold_joint_min(plan: PourPlan) -> float:
    """Return the longest gap between two discharges that still knits, min, as this pour sets."""
    to_initial_set = plan.first_set.initial.early - plan.first_set.placed_at
    return COLD_JOINT_SHARE * (to_initial_set / timedelta(minutes=1))


def truck_outlook(request: PourRequest, plan: PourPlan) -> BestSpacing:
    """Weigh the trucks of a plan over days that may come.

    Parameters
    ----------
    request : PourRequest
        What the plan was asked.
    plan : PourPlan

    Returns
    -------
    BestSpacing
        The arrivals to ask for, their risks, and what they cost beside the plan's plain spacing.
    """
    return best_spacing(
        plan.quantity.loads_m3,
        plan.line.rate_m3_h,
        request.supply,
        request.place,
        Uncertainty(),
        Costs(),
        cold_joint_min(plan),
        plan.starts_at,
    )
