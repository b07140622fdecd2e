"""What is still to be ordered once what is left to place was measured, and until when."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from scheduling.engine.dayplan import PourPlan
from scheduling.engine.forecast import utc
from scheduling.engine.inputs import PourRequest, require_aware, require_not_negative
from scheduling.engine.loads import order_in_steps
from scheduling.engine.replan import Followed, LiveRun, Stand


@dataclass(frozen=True, slots=True)
class Balance:
    """What to order by a measure, `order_m3` of which may be nothing.

    `coming_m3` is what was still to come out when `left_m3` was measured, with what is called already and
    without the load held back for it. `load` is that held load, which brings what is short; None where one
    more truck must. `loads` is how many trucks it takes. The plant must know by `by_at`, None where its
    hours are not known.
    """

    left_m3: float
    coming_m3: float
    order_m3: float
    loads: int
    load: int | None
    by_at: datetime | None


def balance_by_measure(
    left_m3: float,
    measured_at: datetime,
    request: PourRequest,
    plan: PourPlan,
    run: LiveRun,
    now: datetime,
    called_m3: float = 0.0,
) -> Balance:
    """Work out what is short by a measure of what is left to place.

    Parameters
    ----------
    left_m3 : float
    measured_at : datetime
        Aware; what of a load came out before does not count towards what is left.
    request : PourRequest
        What the plan was asked with.
    plan : PourPlan
    run : LiveRun
        The pour carried on to `now`.
    now : datetime
        Aware.
    called_m3 : float
        A balance load that is called and not on site yet.

    Returns
    -------
    Balance
        The same share is added as the plan's order has over its net volume, in the plant's steps. A load
        held back for the measure is changed until it is batched (NRMCA CIP 8: measure while the last two
        or three trucks can be changed); one more is called until the plant's last batch.

    Raises
    ------
    BadInput
        Less than nothing left, or a moment without zone.
    """
    require_not_negative("left_m3", left_m3)
    require_aware("measured_at", measured_at)
    require_aware("now", now)
    held = _held(request, plan, run, now)
    coming_m3 = called_m3 + math.fsum(
        load.m3 * _still_in_it(load, measured_at)
        for load in run.loads
        if held is None or load.number != held.number
    )
    share = plan.quantity.allowance_m3 / plan.quantity.net_m3
    short_m3 = max(0.0, left_m3 * (1 + share) - coming_m3)
    order_m3 = order_in_steps(short_m3, request.supply.order_step_m3)
    return Balance(
        left_m3=left_m3,
        coming_m3=coming_m3,
        order_m3=order_m3,
        loads=math.ceil(order_m3 / plan.quantity.load_limit_m3),
        load=held.number if held else None,
        by_at=_batched_at(plan, held) if held else _last_batch_at(request),
    )


def _held(request: PourRequest, plan: PourPlan, run: LiveRun, now: datetime) -> Followed | None:
    """The last of several loads, as long as it is held back and not batched."""
    last = run.loads[-1]
    if not request.hold_last_load or len(run.loads) < 2 or last.stand is not Stand.COMING:
        return None
    return last if _batched_at(plan, last) > now else None


def _batched_at(plan: PourPlan, load: Followed) -> datetime:
    """As long before it comes as planned."""
    planned = plan.delivery.loads[load.number - 1]
    return load.arrives_at - (planned.arrives_at - planned.batch_at)


def _last_batch_at(request: PourRequest) -> datetime | None:
    return utc(request.supply.closes_at) if request.supply.closes_at else None


def _still_in_it(load: Followed, at: datetime) -> float:
    """Which share of a load comes out after that moment; it comes out evenly."""
    if load.ends_at <= at or load.ends_at <= load.starts_at:
        return float(load.ends_at > at)
    return min(1.0, (load.ends_at - at) / (load.ends_at - load.starts_at))
