"""A pour under way, carried on by the engine from what was noted: its trucks, and its slab."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from scheduling import bridge
from scheduling.engine.daynow import DayNow, day_now
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.inputs import PourRequest
from scheduling.engine.outlook import cold_joint_min
from scheduling.engine.rainclock import SkySeen
from scheduling.engine.replan import LiveRun, Logged, Watched, follow
from scheduling.errors import Refusal
from scheduling.models import LOAD_NOTES, NoteKind, Plan, Pour, SiteForecast, SiteNote
from scheduling.queries import sitenotes
from scheduling.queries.forecasts import forecast_for
from scheduling.services import briefing

NAMES = {
    NoteKind.TRUCK_ARRIVED: "arrived_at",
    NoteKind.TRUCK_STARTED: "started_at",
    NoteKind.TRUCK_EMPTY: "emptied_at",
}


def logged(notes: Iterable[SiteNote]) -> tuple[Logged, ...]:
    """The trucks among the notes as the engine takes them; the ticket read last has the batch time."""
    of_loads: dict[int, dict[str, Any]] = {}
    for one in notes:
        kind = NoteKind(one.kind)
        if one.load is None or kind not in LOAD_NOTES:
            continue
        if kind == NoteKind.REFUSED:  # and another truck brings it
            of_loads.pop(one.load, None)
            continue
        said = of_loads.setdefault(one.load, {})
        if kind in NAMES:
            said[NAMES[kind]] = one.happened_at
        if one.batch_at is not None:
            said["batch_at"] = one.batch_at
    return tuple(Logged(number=number, **said) for number, said in sorted(of_loads.items()))


def run_of(pour: Pour, notes: list[SiteNote], now: datetime) -> LiveRun:
    """The trucks carried on from what was noted.

    Raises
    ------
    Refusal
        If there is no plan to carry on.
    """
    if pour.plan is None:
        raise Refusal("This pour has no plan yet.", code="no_plan")
    answer: PourPlan = briefing.kept_answer(pour.plan)
    there = [one.people for one in notes if one.people]
    watched = Watched(
        planned=answer.delivery.loads,
        rate_m3_h=answer.line.rate_m3_h,
        age_limit_min=pour.plan.inputs["supply"]["age_limit_min"],
        cold_joint_min=cold_joint_min(answer.first_set),
        people_share=min(1.0, there[-1] / pour.people) if there else 1.0,
    )
    # A plan made since may have fewer loads than were noted.
    planned = [one for one in logged(notes) if one.number <= len(watched.planned)]
    return follow(watched, planned, now)


def slab_now(pour: Pour, plan: Plan, now: datetime) -> DayNow | None:
    """The slab's own day by its actual placing; None before the first concrete is out."""
    kept = forecast_for(pour.job.site, plan.starts_at, now)
    return slab_by(pour, plan, sitenotes.standing_notes(pour), kept, now)


def slab_by(
    pour: Pour, plan: Plan, notes: list[SiteNote], kept: SiteForecast | None, now: datetime
) -> DayNow | None:
    """The same by notes and a forecast that were read already."""
    if not any(note.kind == NoteKind.TRUCK_STARTED for note in notes):
        return None
    answer: PourPlan = briefing.kept_answer(plan)
    asked = bridge.from_json(plan.inputs, PourRequest)
    return day_now(
        asked,
        answer,
        run_of(pour, notes, now),
        bridge.forecast_hours(kept.hours) if kept else asked.forecast,
        _found_ready(notes),
        _concrete_c(notes),
        _sky(notes),
    )


def _found_ready(notes: list[SiteNote]) -> dict[int, datetime]:
    """Which strips were found ready, and when first; what nobody says more of is the first."""
    found: dict[int, datetime] = {}
    for note in notes:
        if note.kind == NoteKind.READY_TO_FINISH:
            found.setdefault(note.strip or 1, note.happened_at)
    return found


def _sky(notes: list[SiteNote]) -> SkySeen:
    """What was noted of rain."""
    rains, over = (
        tuple(note.happened_at for note in notes if note.kind == kind)
        for kind in (NoteKind.RAIN, NoteKind.RAIN_OVER)
    )
    return SkySeen(rains, over)


def _concrete_c(notes: list[SiteNote]) -> float | None:
    """The mean of what was measured; None where nobody did."""
    measured = [note.concrete_c for note in notes if note.concrete_c is not None]
    return sum(measured) / len(measured) if measured else None
