"""How an order goes into trucks: what one may carry, and how much each load is.

Volumes become whole order steps on the way in, so that nothing is lost to rounding between loads.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from scheduling.engine.inputs import BadInput, Finding, Mix, Severity, Supply

MAX_LOADS = 300  # our choice: more than any one pour gets in a day
STEP_DIGITS = 5  # a truck or a step typed in with few digits is still a whole number of steps
LEAST_STEP_M3 = 0.001  # our choice: no plant sells by less than a litre


def order_in_steps(volume_m3: float, step_m3: float) -> float:
    """Round a volume up to whole order steps.

    Parameters
    ----------
    volume_m3, step_m3 : float
        A part in a million of a step over is rounding, not concrete, and is let go.

    Returns
    -------
    float
        Cubic metres.

    Raises
    ------
    BadInput
        When the step is under a litre.
    """
    if step_m3 < LEAST_STEP_M3:
        raise BadInput(
            "order_step_m3", "step_too_small", f"The order step must be {LEAST_STEP_M3:g} m3 or more."
        )
    return _steps_up(volume_m3, step_m3) * step_m3


def _steps_up(volume_m3: float, step_m3: float) -> int:
    return math.ceil(round(volume_m3 / step_m3, STEP_DIGITS))


def load_limit(mix: Mix, supply: Supply) -> tuple[float, str]:
    """Find the most one truck may carry.

    Parameters
    ----------
    mix : Mix
        Its density turns kilograms into cubic metres.
    supply : Supply
        A road limit counts only where the truck's empty weight is known.

    Returns
    -------
    tuple of (float, str)
        Cubic metres, and what sets it: "drum", "payload" or "road".

    Raises
    ------
    BadInput
        When the empty truck leaves nothing of the road limit.
    """
    limits = [(supply.truck_m3, "drum")]
    if supply.payload_kg is not None:
        limits.append((supply.payload_kg / mix.density_kg_m3, "payload"))
    if supply.road_limit_kg is not None and supply.truck_empty_kg is not None:
        left_kg = supply.road_limit_kg - supply.truck_empty_kg
        if left_kg <= 0:
            message = "The truck alone weighs all that the road allows."
            raise BadInput("truck_empty_kg", "no_payload_left", message)
        limits.append((left_kg / mix.density_kg_m3, "road"))
    return min(limits, key=lambda limit: limit[0])


def split_order(order_m3: float, limit_m3: float, supply: Supply) -> tuple[float, ...]:
    """Split an order into loads, every one full but the last, the balance.

    A full load is the most whole order steps that fit the limit. A balance under the plant's
    minimum load is filled up from the loads before it, as far as they can spare it.

    Parameters
    ----------
    order_m3 : float
        In whole order steps.
    limit_m3 : float
        Most that one truck may carry.
    supply : Supply
        Order step and minimum load.

    Returns
    -------
    tuple of float
        Cubic metres, in the order of batching.

    Raises
    ------
    BadInput
        When a truck may not carry one order step, or more than 300 loads are needed.
    """
    step_m3 = supply.order_step_m3
    full = math.floor(round(limit_m3 / step_m3, STEP_DIGITS))
    if full == 0:
        message = f"A truck may carry {limit_m3:g} m3, less than one order step."
        raise BadInput("order_step_m3", "step_above_load", message)
    order = round(order_m3 / step_m3)
    if order > MAX_LOADS * full:
        message = (
            f"The pour would need more than {MAX_LOADS} loads: check the sizes, or split it into several."
        )
        raise BadInput("sections", "too_many_loads", message)
    return tuple(steps * step_m3 for steps in _split(order, full, _steps_up(supply.minimum_load_m3, step_m3)))


def _split(order: int, full: int, minimum: int) -> list[int]:
    balance = order % full
    loads = [full] * (order // full) + ([balance] if balance else [])
    wanted = max(minimum - loads[-1], 0)
    if wanted > (len(loads) - 1) * max(full - minimum, 0):
        return loads
    for index in reversed(range(len(loads) - 1)):
        moved = min(wanted, full - minimum)
        loads[index] -= moved
        loads[-1] += moved
        wanted -= moved
    return loads


def load_findings(loads_m3: tuple[float, ...], supply: Supply, hold_last_load: bool) -> Iterator[Finding]:
    """Tell which load waits for a measure, which is short, and a road limit that could not be checked.

    Parameters
    ----------
    loads_m3 : tuple of float
    supply : Supply
    hold_last_load : bool
        Whether the last of several loads stays at the plant until what is left is measured
        (NRMCA CIP 8).

    Returns
    -------
    iterator of Finding
    """
    last = len(loads_m3)
    if hold_last_load and last > 1:
        held = {"load": last, "remaining_m3": loads_m3[-1]}
        yield Finding(Severity.NOTE, "hold_last_load", held, "NRMCA CIP 8")
    if loads_m3[-1] < supply.minimum_load_m3 * (1 - 1e-6):
        short = {"load": last, "load_m3": loads_m3[-1], "minimum_load_m3": supply.minimum_load_m3}
        yield Finding(Severity.CAUTION, "short_load", short, "the plant's minimum load")
    if supply.road_limit_kg is not None and supply.truck_empty_kg is None:
        road = {"road_limit_kg": supply.road_limit_kg}
        yield Finding(Severity.CAUTION, "road_limit_unchecked", road, "the truck's empty weight is not known")
