"""Trucks on their rounds: load, haul, wait, discharge, wash out, come back for the next load.

Minutes only, counted from the moment the first truck begins to discharge.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, TypeAlias

from scheduling.engine.inputs import BadInput, Place, Supply, require_positive

CHANGEOVER_MIN = 5.0  # one truck off the site and the next one on, where only one fits: our choice
Spans: TypeAlias = tuple[tuple[float, float], ...]  # from, to, in minutes
NOISE_MIN = 1e-6  # sums of minutes carry rounding noise; a load at exactly its limit must pass


def check_loads(loads_m3: Sequence[float], rate_m3_h: float) -> None:
    """Raise `BadInput` unless there are loads, each of them and the rate positive."""
    if not loads_m3:
        raise BadInput("loads_m3", "no_loads", "A pour needs at least one load.")
    for load_m3 in loads_m3:
        require_positive("loads_m3", load_m3)
    require_positive("rate_m3_h", rate_m3_h)


# --- what a load takes ------------------------------------------------------------------------


def unload_min(load_m3: float, rate_m3_h: float) -> float:
    """Minutes a crew placing `rate_m3_h` takes to empty a load."""
    return 60 * load_m3 / rate_m3_h


def plant_min(load_m3: float, supply: Supply) -> float:
    """Minutes from the start of batching one load to the soonest start of the next.

    The plant loads one truck at a time and makes no more than its rate.
    """
    if supply.plant_rate_m3_h is None:
        return supply.loading_min
    return max(supply.loading_min, 60 * load_m3 / supply.plant_rate_m3_h)


def round_trip_min(load_m3: float, rate_m3_h: float, supply: Supply) -> float:
    """Minutes of a truck's round that waits for nothing: load, haul, discharge, wash out, return."""
    return (
        supply.loading_min
        + supply.haul_min
        + unload_min(load_m3, rate_m3_h)
        + supply.washout_min
        + _return_min(supply)
    )


def changeover_min(place: Place) -> float:
    """Minutes the site itself needs between two trucks."""
    return CHANGEOVER_MIN if place.one_truck_at_a_time else 0.0


def whole_minutes(exact_min: float) -> int:
    """Round up to whole minutes, at least 1: people say whole minutes, and rounding down builds a queue."""
    return max(1, math.ceil(exact_min - NOISE_MIN))


def _return_min(supply: Supply) -> float:
    return supply.haul_min if supply.return_min is None else supply.return_min


def next_wait(wait: float, service: float, gap: float) -> tuple[float, float]:
    """Wait of the next in line and how long the server stands before it, from the one before it."""
    behind = wait + service - gap
    return max(0.0, behind), max(0.0, -behind)


def evenly(interval_min: float, loads: int) -> tuple[float, ...]:
    """When each load is asked for, in minutes from the first, one every `interval_min`."""
    return tuple(index * interval_min for index in range(loads))


class Trip(NamedTuple):
    """One load's minutes, counted from the first discharge. `asked` is when it was to arrive.

    `held` is how long the plant put it off for others.
    """

    m3: float
    truck: int
    asked: float
    batch: float
    leave: float
    arrive: float
    wait: float
    crew_wait: float
    end: float
    age: float
    held: float


@dataclass(slots=True)
class _Fleet:
    """Which truck takes the next load, and from when: one that is back before one not yet sent out."""

    size: int | None
    sent: int = 0
    back: list[tuple[float, int]] = field(default_factory=list)

    def take(self, wanted: float) -> tuple[int, float]:
        all_out = self.size is not None and self.sent >= self.size
        if self.back and (all_out or self.back[0][0] <= wanted + NOISE_MIN):
            back, truck = heapq.heappop(self.back)
            return truck, max(wanted, back)
        self.sent += 1
        return self.sent, wanted

    def give_back(self, truck: int, at: float) -> None:
        heapq.heappush(self.back, (at, truck))


def after_others(batch: float, takes_min: float, busy: Spans) -> float:
    """Put off a batch that would run into a span in which the plant loads others; touching is no clash."""
    for opens, closes in busy:
        if opens - takes_min + NOISE_MIN < batch < closes - NOISE_MIN:
            batch = closes
    return batch


def truck_trips(
    loads_m3: Sequence[float],
    asked_min: Sequence[float],
    rate_m3_h: float,
    supply: Supply,
    place: Place,
    plant_busy: Spans = (),
) -> tuple[Trip, ...]:
    """Follow every load, batched in time to arrive when asked unless its truck or the plant is not free.

    `plant_busy` is when the plant loads others, which go first: spans in order.
    """
    fleet = _Fleet(supply.trucks)
    lead = supply.loading_min + supply.haul_min
    changeover = changeover_min(place)
    plant_free = -math.inf
    wait = last_arrival = site_busy = 0.0
    trips: list[Trip] = []
    for m3, asked in zip(loads_m3, asked_min, strict=True):
        truck, free = fleet.take(max(asked - lead, plant_free))
        batch = after_others(free, plant_min(m3, supply), plant_busy)
        plant_free = batch + plant_min(m3, supply)
        arrive = batch + lead
        wait, idle = next_wait(wait, site_busy, arrive - last_arrival)
        unload = unload_min(m3, rate_m3_h)
        trip = Trip(
            m3=m3,
            truck=truck,
            asked=asked,
            batch=batch,
            leave=batch + supply.loading_min,
            arrive=arrive,
            wait=wait,
            crew_wait=idle + changeover if trips else 0.0,
            end=arrive + wait + unload,
            age=lead + wait + unload,
            held=batch - free,
        )
        fleet.give_back(truck, trip.end + supply.washout_min + _return_min(supply))
        last_arrival, site_busy = arrive, unload + changeover
        trips.append(trip)
    return tuple(trips)
