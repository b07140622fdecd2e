"""A slab from when its concrete is out: where it lies, how it sets, and the work on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from scheduling.engine.bays import BayPlan, plan_bays, truck_stands
from scheduling.engine.curing import CuringPlan, plan_curing
from scheduling.engine.delivery import DeliveryRun
from scheduling.engine.finishing import FinishingPlan, plan_finishing
from scheduling.engine.forecast import Forecast, utc
from scheduling.engine.inputs import PourRequest, Window
from scheduling.engine.moments import as_found
from scheduling.engine.placement import PlacingLine, reaches_m
from scheduling.engine.rainclock import NOTHING_SEEN, SkySeen, rain_as_seen, rain_windows
from scheduling.engine.sawcut import SawClock, SawPlan, plan_sawing
from scheduling.engine.setting import Slab
from scheduling.engine.slabday import PourClock, pour_clock
from scheduling.engine.strips import PlacedStrip, placed_strips
from scheduling.engine.volume import Quantity

BLANKETS_M2_K_W = 0.35  # a common curing blanket, R 2 h ft2 °F/Btu, from memory


@dataclass(frozen=True, slots=True)
class SlabWork:
    """What follows from when the concrete is out: where it lies, how it sets, and the work on it."""

    bays: BayPlan
    clock: PourClock
    finishing: FinishingPlan
    sawing: SawPlan
    curing: CuringPlan


def slab_work(
    request: PourRequest,
    quantity: Quantity,
    line: PlacingLine,
    delivery: DeliveryRun,
    concrete_c: float | None,
    ready_at: Mapping[int, datetime] | None = None,
    sky: SkySeen = NOTHING_SEEN,
) -> SlabWork:
    """Follow the slab from the trucks to the last cut.

    Parameters
    ----------
    request : PourRequest
    quantity : Quantity
    line : PlacingLine
    delivery : DeliveryRun
        As planned or as it was; loads in the order they are placed.
    concrete_c : float or None
        As delivered.
    ready_at : mapping of int to datetime, optional
        Strips, by number, that people found ready to finish, and when: such a strip goes on as much sooner
        or later than its forecast as it came to that; the others are not touched.
    sky : SkySeen
        What people saw of rain; it goes before the forecast.

    Returns
    -------
    SlabWork
    """
    forecast, slab = Forecast(request.forecast), slab_of(request, quantity, concrete_c)
    bays = _bays(request, quantity, line, delivery)
    strips = placed_strips(bays.bays)
    placed = [(strip.middle_at, _is_shaded(request, bays, strip)) for strip in strips]
    clock = pour_clock(request, forecast, slab, (delivery.first_at, delivery.ends_at), placed)
    rain = _rain(request, forecast, clock, delivery, sky)
    found = ready_at or {}
    sets = tuple(
        as_found(one, found[number]) if number in found else one
        for number, one in enumerate(clock.strips, start=1)
    )
    finishing = plan_finishing(request.finishing, strips, sets, rain)
    if request.finishing.blankets:  # they hurry what comes after the last pass, and nothing before it
        covered = replace(slab, covered_at=finishing.ends_at, blankets_m2_k_w=BLANKETS_M2_K_W)
        clock = pour_clock(request, forecast, covered, (delivery.first_at, delivery.ends_at), placed)
    sawing = _sawing(request, quantity, clock, finishing)
    return SlabWork(bays, clock, finishing, sawing, plan_curing(finishing.strips, clock.slab, clock.air))


def slab_of(request: PourRequest, quantity: Quantity, concrete_c: float | None) -> Slab:
    """What the slab's temperature hangs on."""
    place = request.place
    return Slab(thickness_m=quantity.depth_m, concrete_c=concrete_c, place=place, ground_c=place.base_c)


def _bays(request: PourRequest, quantity: Quantity, line: PlacingLine, delivery: DeliveryRun) -> BayPlan:
    reaches = reaches_m(request.placing)
    stands = truck_stands(request.placing, len(request.sections))
    return plan_bays(request.sections, quantity, request.placing, line, reaches, stands, delivery)


def _is_shaded(request: PourRequest, bays: BayPlan, strip: PlacedStrip) -> bool:
    return request.sections[bays.bays[strip.first_bay - 1].section - 1].shaded


def _rain(
    request: PourRequest, forecast: Forecast, clock: PourClock, delivery: DeliveryRun, sky: SkySeen
) -> tuple[Window, ...]:
    """When the slab cannot be worked, from the first truck until all of it is hard; none under a roof."""
    if request.place.indoors:
        return ()
    first_at, hard_at = delivery.first_at, clock.last.final.likely
    told = rain_windows(forecast, first_at, hard_at) if clock.known else ()
    return tuple(
        Window(max(one.opens_at, utc(first_at)), min(one.closes_at, utc(hard_at)))
        for one in rain_as_seen(told, sky)
        if one.closes_at > first_at and one.opens_at < hard_at
    )


def _sawing(request: PourRequest, quantity: Quantity, clock: PourClock, finishing: FinishingPlan) -> SawPlan:
    saw = SawClock(request.finishing.saw, request.mix, clock.slab, clock.air)
    return plan_sawing(request.sections, quantity.depth_m, request.finishing, finishing.strips, saw)
