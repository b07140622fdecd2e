"""How far apart the trucks should come: as fast as the slowest of crew, plant, site and fleet allows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduling.engine.inputs import Fact, Finding, Place, Severity, Supply
from scheduling.engine.rounds import (
    NOISE_MIN,
    changeover_min,
    check_loads,
    plant_min,
    round_trip_min,
    unload_min,
    whole_minutes,
)

SOURCE = "arithmetic of the round trip"


@dataclass(frozen=True, slots=True)
class Spacing:
    """The interval to ask the plant for, and what sets it.

    `interval_min` is in whole minutes, `exact_min` before rounding up. `crew_min`, `plant_min`,
    `site_min` and `fleet_min` are what each alone would need; None where it sets no bound.
    `trucks_needed` keeps up with crew, plant and site, however many there are.
    """

    interval_min: int
    exact_min: float
    crew_min: float
    plant_min: float
    site_min: float | None
    fleet_min: float | None
    limited_by: str
    trucks_needed: int
    findings: tuple[Finding, ...]


def match_factor(trucks: int, service_min: float, cycle_min: float) -> float:
    """How many trucks there are for each one the work can use.

    Parameters
    ----------
    trucks : int
    service_min : float
        Interval the work keeps when a truck is always there.
    cycle_min : float
        A truck's round trip with its service and without waits.

    Returns
    -------
    float
        1 in balance; below it the crew waits, above it trucks do.
    """
    return trucks * service_min / cycle_min


def spacing_for(loads_m3: Sequence[float], rate_m3_h: float, supply: Supply, place: Place) -> Spacing:
    """Interval between arrivals that builds no line and asks nobody for more than they can do.

    Parameters
    ----------
    loads_m3 : sequence of float
        Volumes in order of delivery; the largest sets the interval.
    rate_m3_h : float
        How fast the crew empties a truck.
    supply : Supply
    place : Place

    Returns
    -------
    Spacing
        Of two that ask for the same whole minutes, `limited_by` names the first in the order crew,
        plant, site, fleet.

    Raises
    ------
    BadInput
        No loads, or a volume or rate that is not positive.
    """
    check_loads(loads_m3, rate_m3_h)
    largest = max(loads_m3)
    cycle = round_trip_min(largest, rate_m3_h, supply)
    needs = {"crew": unload_min(largest, rate_m3_h), "plant": plant_min(largest, supply)}
    if place.one_truck_at_a_time:
        needs["site"] = needs["crew"] + changeover_min(place)
    wanted = max(whole_minutes(need) for need in needs.values())
    # A truck that makes no second trip sets no interval.
    if supply.trucks is not None and supply.trucks < len(loads_m3):
        needs["fleet"] = cycle / supply.trucks
    limit = max(needs, key=lambda name: whole_minutes(needs[name]))
    needed = min(len(loads_m3), math.ceil(cycle / wanted - NOISE_MIN))
    interval = whole_minutes(needs[limit])
    findings = _findings(limit, needs, wanted, needed, cycle, supply) if len(loads_m3) > 1 else ()
    return Spacing(
        interval_min=interval,
        exact_min=needs[limit],
        crew_min=needs["crew"],
        plant_min=needs["plant"],
        site_min=needs.get("site"),
        fleet_min=needs.get("fleet"),
        limited_by=limit,
        trucks_needed=needed,
        findings=tuple(findings),
    )


def _findings(
    limit: str, needs: dict[str, float], wanted: int, needed: int, cycle: float, supply: Supply
) -> Iterator[Finding]:
    if limit == "crew":
        return
    interval = whole_minutes(needs[limit])
    if limit == "fleet" and supply.trucks is not None:
        facts = {
            "trucks": supply.trucks,
            "trucks_needed": needed,
            "interval_min": interval,
            "wanted_interval_min": wanted,
            "match_factor": match_factor(supply.trucks, wanted, cycle),
        }
        yield Finding(Severity.CAUTION, "too_few_trucks", facts, SOURCE)
        return
    limited: dict[str, Fact] = {
        "limited_by": limit,
        "interval_min": interval,
        "exact_min": needs[limit],
        "crew_interval_min": needs["crew"],
    }
    yield Finding(Severity.NOTE, "spacing_limited", limited, SOURCE)
