"""What a supplier charges for a truck that was kept on site, by its own rule."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from scheduling.engine.delivery import Load
from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import Counted, TruckWaitRule, require_not_negative, require_positive
from scheduling.engine.rounds import NOISE_MIN


def free_minutes(rule: TruckWaitRule, load_m3: float) -> float:
    """Minutes on site that a truck with this load is not charged for."""
    require_positive("load_m3", load_m3)
    return rule.free_min + rule.free_min_per_m3 * load_m3


def minutes_over(rule: TruckWaitRule, load_m3: float, on_site_min: float) -> float:
    """Minutes on site beyond the free ones.

    Parameters
    ----------
    rule : TruckWaitRule
    load_m3 : float
        What the truck carries.
    on_site_min : float
        From its arrival to the end of its discharge.

    Returns
    -------
    float
        0 where it was within its time.

    Raises
    ------
    BadInput
        A load that is not positive or a time below 0.
    """
    require_not_negative("on_site_min", on_site_min)
    return max(0.0, on_site_min - free_minutes(rule, load_m3))


def wait_fee(rule: TruckWaitRule, load_m3: float, on_site_min: float) -> float:
    """Money charged for a truck that was on site so long.

    Parameters and errors as for `minutes_over`. Not rounded to cents.
    """
    over_min = minutes_over(rule, load_m3, on_site_min)
    return float(fees_for(rule, np.array([over_min]))[0])


def run_fees(rule: TruckWaitRule, loads: Sequence[Load]) -> tuple[float, ...]:
    """Money charged for each load of a run, were it to go as planned."""
    on_site = ((load.m3, (load.ends_at - load.arrives_at) / timedelta(minutes=1)) for load in loads)
    return tuple(wait_fee(rule, m3, minutes) for m3, minutes in on_site)


def fees_for(rule: TruckWaitRule, over_min: Floats) -> Floats:
    """Money charged for each truck that was so many minutes over; any shape, nothing below 0."""
    blocks = over_min / rule.block_min
    noise = NOISE_MIN / rule.block_min
    if rule.counted is Counted.STARTED:
        blocks = np.ceil(blocks - noise)
    elif rule.counted is Counted.FULL:
        blocks = np.floor(blocks + noise)
    return rule.price * np.maximum(blocks, 0.0)
