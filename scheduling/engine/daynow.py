"""A slab under way: its strips as they were really placed, in the latest weather: when each wants what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from scheduling.engine.bays import Bay
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.delivery import DeliveryRun, Load
from scheduling.engine.finishing import FinishingPlan
from scheduling.engine.inputs import PourRequest, WeatherHour
from scheduling.engine.rainclock import NOTHING_SEEN, SkySeen
from scheduling.engine.replan import Followed, LiveRun
from scheduling.engine.sawcut import SawPlan
from scheduling.engine.slabwork import slab_work


@dataclass(frozen=True, slots=True)
class StripNow:
    """One strip: placed by, ready to finish, past saving, finished, and its cut where it is cut.

    `loads` lie in it. `ready_at` is the likely moment, `found_ready` whether people noted it; `lost` is
    whether it is past saving before the party gets to it.
    """

    number: int
    loads: tuple[int, ...]
    area_m2: float
    placed_at: datetime
    ready_early_at: datetime
    ready_at: datetime
    hard_at: datetime
    finished_at: datetime
    cut_opens_at: datetime | None
    cut_last_call_at: datetime | None
    found_ready: bool
    lost: bool


@dataclass(frozen=True, slots=True)
class DayNow:
    """When the slab wants what, by its actual placing; moments in UTC, as `PourPlan` has them.

    `rain_waits_min` is how much later than without rain the finishing ends.
    """

    strips: tuple[StripNow, ...]
    placed_at: datetime
    ready_early_at: datetime
    finishing_from_at: datetime
    finished_at: datetime
    hard_at: datetime
    last_hard_at: datetime
    cure_at: datetime
    sawing: SawPlan
    rain_waits_min: float
    weather_known: bool


def day_now(
    request: PourRequest,
    plan: PourPlan,
    run: LiveRun,
    hours: Sequence[WeatherHour],
    ready_at: Mapping[int, datetime] | None = None,
    concrete_c: float | None = None,
    sky: SkySeen = NOTHING_SEEN,
) -> DayNow:
    """Plan the slab's own day afresh from when its loads came out.

    Parameters
    ----------
    request : PourRequest
        What the plan was asked with.
    plan : PourPlan
    run : LiveRun
        The pour carried on; what is noted of a load holds, the rest is foreseen.
    hours : sequence of WeatherHour
        The latest weather, in place of the plan's.
    ready_at : mapping of int to datetime, optional
        Strips found ready to finish; each speaks for itself alone, since part of a slab may set slow.
    concrete_c : float, optional
        As measured; without it, as the plan has it.
    sky : SkySeen
        What people saw of rain; it takes work from the finishing as forecast rain does.

    Returns
    -------
    DayNow

    Notes
    -----
    Orders, spacing and the trucks' outlook are not touched: they are decided. It takes about
    a quarter of the time of a whole plan.
    """
    found = ready_at or {}
    warm_c = plan.concrete_c if concrete_c is None else concrete_c
    asked = replace(request, forecast=tuple(hours))
    day = slab_work(asked, plan.quantity, plan.line, _as_it_was(plan.delivery, run), warm_c, found, sky)
    cuts = {cut.number: cut for cut in day.sawing.strips}
    strips = tuple(
        StripNow(
            number=strip.number,
            loads=_loads_of(day.bays.bays[strip.first_bay - 1 : strip.last_bay]),
            area_m2=strip.area_m2,
            placed_at=strip.placed_at,
            ready_early_at=strip.ready_early_at,
            ready_at=strip.passes[0].opens_at if strip.passes else strip.ready_early_at,
            hard_at=strip.hard_at,
            finished_at=strip.finished_at,
            cut_opens_at=cuts[strip.number].opens_at if strip.number in cuts else None,
            cut_last_call_at=cuts[strip.number].last_call_at if strip.number in cuts else None,
            found_ready=strip.number in found,
            lost=strip.lost,
        )
        for strip in day.finishing.strips
    )
    return DayNow(
        strips=strips,
        placed_at=run.ends_at,
        ready_early_at=day.clock.first.float_ready.early,
        finishing_from_at=day.finishing.starts_at,
        finished_at=day.finishing.ends_at,
        hard_at=day.clock.first.final.likely,
        last_hard_at=day.clock.last.final.likely,
        cure_at=day.finishing.cure_at,
        sawing=day.sawing,
        rain_waits_min=_rain_waits_min(day.finishing),
        weather_known=day.clock.known,
    )


def _loads_of(bays: Sequence[Bay]) -> tuple[int, ...]:
    return tuple(sorted({load for bay in bays for load in bay.loads}))


def _rain_waits_min(finishing: FinishingPlan) -> float:
    waits = (one.facts["wait_min"] for one in finishing.findings if one.code == "finishing_waits")
    return next((float(minutes) for minutes in waits if isinstance(minutes, float)), 0.0)


def _as_it_was(planned: DeliveryRun, run: LiveRun) -> DeliveryRun:
    """The loads in the order they came out, with the times they have now."""
    by_number = {load.number: load for load in planned.loads}
    placed = sorted(run.loads, key=lambda load: (load.starts_at, load.number))
    loads = tuple(_timed(by_number[load.number], load) for load in placed)
    return replace(
        planned,
        loads=loads,
        first_at=loads[0].starts_at,
        ends_at=max(load.ends_at for load in loads),
    )


def _timed(planned: Load, load: Followed) -> Load:
    return replace(planned, arrives_at=load.arrives_at, starts_at=load.starts_at, ends_at=load.ends_at)
