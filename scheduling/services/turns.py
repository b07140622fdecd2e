"""When each reminder of a pour is due and until when it is of use, by its plan and its order."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import NamedTuple

from scheduling.engine.daynow import DayNow
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.sawcut import SawPlan
from scheduling.models import (
    STANDING,
    STANDING_ORDER,
    Company,
    NoteKind,
    OrderState,
    Plan,
    PlantOrder,
    Pour,
    PourState,
    ReminderKind,
)
from scheduling.queries import sitenotes
from scheduling.queries.papers import state_told
from scheduling.queries.week import local_day
from scheduling.services import briefing, evening, morning, quiet
from scheduling.services.slabnow import slab_now

OFFICE_KINDS = frozenset({ReminderKind.ORDER, ReminderKind.CONFIRM})
WAKES_NOBODY = frozenset(
    {
        ReminderKind.FINISH,
        ReminderKind.FIRST_CUT,
        ReminderKind.LAST_CUT,
        ReminderKind.CURE,
        ReminderKind.CYLINDERS,
    }
)
BEFORE_CUT_OFF = timedelta(hours=2)
FOR_THE_PLANT = timedelta(minutes=30)  # what a plant gets to confirm in
BEFORE_CALL = timedelta(minutes=30)
TO_ANSWER = timedelta(minutes=10)  # what a lead gets to answer the morning text in (our choice)
TOLD_IN_THE_MORNING = timedelta(minutes=90)  # a morning text this close to the call says it already
BEFORE_FLOATS = timedelta(minutes=15)
AFTER_FIRST_CUT = timedelta(minutes=30)
CURING_USEFUL = timedelta(hours=4)
BEFORE_RAIN = timedelta(minutes=45)  # to get sheets over a slab (our choice)
# ASTM C31/C31M-19: cylinders cure where they were made for up to 48 h, then go to the laboratory.
CYLINDERS_HARDEN, TO_LABORATORY = timedelta(hours=24), timedelta(hours=48)


# What is noted on site makes these needless.
DONE_BY = {
    NoteKind.READY_TO_FINISH: (ReminderKind.FINISH,),
    NoteKind.CUT_DONE: (ReminderKind.FIRST_CUT, ReminderKind.LAST_CUT),
}


class Turn(NamedTuple):
    """When a reminder is due, and until when it is of use."""

    due_at: datetime
    useful_until: datetime


Turns = Mapping[ReminderKind, Turn]


def turns(pour: Pour, plan: Plan, now: datetime) -> Turns:
    """The reminders the pour needs as it stands, with their moments; the others are not needed.

    Once the first concrete is out they go by the slab itself, as placed and in the latest weather.
    """
    needed: dict[ReminderKind, Turn] = {}
    if pour.state != PourState.CANCELLED:
        needed |= _order_turns(pour, plan)
    if pour.state in STANDING:
        needed |= _evening_turn(pour, plan)
    if state_told(pour) == PourState.BOOKED:
        needed |= {**_call_turn(pour, plan), **_answer_turn(pour, plan)}
    if pour.state in (PourState.BOOKED, PourState.PLACED):
        answer = briefing.kept_answer(plan)
        slab = slab_now(pour, plan, now)
        needed |= {**(_turns_now(slab) if slab else _slab_turns(answer)), **_frost_turn(pour, answer)}
        needed |= {**_rain_turn(answer), **_cylinder_turn(pour, answer)}
    noted = sitenotes.kinds_noted(pour)
    done = frozenset(kind for note, kinds in DONE_BY.items() if note in noted for kind in kinds)
    useful = {
        kind: turn for kind, turn in needed.items() if kind not in done and turn.due_at < turn.useful_until
    }
    return {**useful, **_in_office_hours(useful, pour), **_while_they_are_up(useful, pour, plan)}


def _in_office_hours(needed: Turns, pour: Pour) -> Turns:
    """What the office must do, told while it is open."""
    order, company = standing_order(pour), Company.objects.get()
    known_at = order.made_at if order else pour.booked_at
    return {
        kind: turn._replace(due_at=quiet.in_office_hours(*turn, known_at, company))
        for kind, turn in needed.items()
        if kind in OFFICE_KINDS
    }


def _while_they_are_up(needed: Turns, pour: Pour, plan: Plan) -> Turns:
    """What nobody is woken for, told before they sleep; at their work they are up."""
    company, zone, later = Company.objects.get(), briefing.site_zone(pour), sitenotes.placed_later(pour, plan)
    work = [quiet.Spell(phase.starts_at + later, phase.ends_at + later) for phase in plan.phases.all()]
    return {
        kind: turn._replace(due_at=quiet.told_before(turn.due_at, work, zone, company))
        for kind, turn in needed.items()
        if kind in WAKES_NOBODY
    }


def _order_turns(pour: Pour, plan: Plan) -> Turns:
    order = standing_order(pour)
    if order is None or order.state == OrderState.CONFIRMED or pour.state == PourState.PLACED:
        return {}
    # An order made or revised after these moments is to be called at once, and confirmed soon after.
    due_at = max(order.order_by - BEFORE_CUT_OFF, order.made_at)
    until = order.order_by if due_at < order.order_by else plan.starts_at
    confirm_at = max(order.order_by, order.made_at) + FOR_THE_PLANT
    first_batch_at = briefing.kept_answer(plan).delivery.loads[0].batch_at
    confirm = {ReminderKind.CONFIRM: Turn(confirm_at, first_batch_at)}
    if order.state == OrderState.CALLED:
        return confirm
    return {ReminderKind.ORDER: Turn(due_at, until), **confirm}


def standing_order(pour: Pour) -> PlantOrder | None:
    return pour.orders.filter(state__in=STANDING_ORDER).select_related("plant", "mix").first()


def _evening_turn(pour: Pour, plan: Plan) -> Turns:
    if not evening.is_worth_warning(pour, briefing.kept_answer(plan)):
        return {}
    spell = evening.evening_before(pour, briefing.site_zone(pour), Company.objects.get())
    return {ReminderKind.EVENING: Turn(*spell)}


def _frost_turn(pour: Pour, answer: PourPlan) -> Turns:
    watch = evening.frost_watch(answer, briefing.site_zone(pour), Company.objects.get())
    return {ReminderKind.FROST: Turn(*watch)} if watch else {}


def _rain_turn(answer: PourPlan) -> Turns:
    """Rain that is to come up while the slab is soft; what falls from the first truck on is told before."""
    rain = next((finding for finding in answer.findings if finding.code == "rain"), None)
    told = briefing.moments(rain) if rain else None
    if told is None or told[0] - BEFORE_RAIN <= answer.starts_at:
        return {}
    return {ReminderKind.PROTECT: Turn(told[0] - BEFORE_RAIN, told[1])}


def _cylinder_turn(pour: Pour, answer: PourPlan) -> Turns:
    if not pour.test_cylinders:
        return {}
    due_at = answer.starts_at + CYLINDERS_HARDEN
    return {ReminderKind.CYLINDERS: Turn(due_at, answer.starts_at + TO_LABORATORY)}


def _call_turn(pour: Pour, plan: Plan) -> Turns:
    company = Company.objects.get()
    text_at = morning.text_due_at(local_day(pour), briefing.site_zone(pour), plan.call_at, company)
    if text_at > plan.call_at - TOLD_IN_THE_MORNING:
        return {}
    return {ReminderKind.ON_SITE: Turn(plan.call_at - BEFORE_CALL, plan.starts_at)}


def _answer_turn(pour: Pour, plan: Plan) -> Turns:
    if not (pour.crew and pour.crew.lead):
        return {}
    company = Company.objects.get()
    text_at = morning.text_due_at(local_day(pour), briefing.site_zone(pour), plan.call_at, company)
    due_at = max(plan.call_at - timedelta(minutes=company.answer_lead_min), text_at + TO_ANSWER)
    return {ReminderKind.UNANSWERED: Turn(due_at, plan.starts_at)}


def _turns_now(slab: DayNow) -> dict[ReminderKind, Turn]:
    """The slab's own turns, by how it was placed."""
    return _turns_of(slab.ready_early_at, slab.hard_at, slab.cure_at, slab.sawing)


def _slab_turns(answer: PourPlan) -> dict[ReminderKind, Turn]:
    first_set = answer.first_set
    ready_early_at, hard_at = first_set.float_ready.early, first_set.final.likely
    return _turns_of(ready_early_at, hard_at, answer.finishing.cure_at, answer.sawing)


def _turns_of(
    ready_early_at: datetime, hard_at: datetime, cure_at: datetime, sawing: SawPlan
) -> dict[ReminderKind, Turn]:
    needed = {
        ReminderKind.FINISH: Turn(ready_early_at - BEFORE_FLOATS, hard_at),
        ReminderKind.CURE: Turn(cure_at, cure_at + CURING_USEFUL),
    }
    if sawing.starts_at is None:
        return needed
    begin_at = sawing.last_call_at - timedelta(hours=sawing.hours_needed)
    last_cut_at = max(begin_at, sawing.opens_at + AFTER_FIRST_CUT)
    return {
        **needed,
        ReminderKind.FIRST_CUT: Turn(sawing.opens_at, sawing.last_call_at),
        ReminderKind.LAST_CUT: Turn(last_cut_at, sawing.last_call_at),
    }
