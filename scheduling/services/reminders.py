"""Reminders: they belong to a pour, follow its plan and its order, and become texts when they are due."""

import logging
from dataclasses import replace
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import translation

from scheduling.engine.daynow import DayNow
from scheduling.engine.dayplan import PourPlan
from scheduling.models import (
    Company,
    Message,
    MessageKind,
    MessageState,
    Plan,
    Pour,
    Reminder,
    ReminderKind,
    ReminderState,
    User,
)
from scheduling.queries.papers import is_held
from scheduling.roles import Role
from scheduling.services import briefing, evening, outbox
from scheduling.services.nudge import nudge
from scheduling.services.slabnow import slab_now
from scheduling.services.turns import OFFICE_KINDS, TO_LABORATORY, Turn, standing_order, turns
from scheduling.services.unanswered import tell_if_unanswered
from scheduling.texting import reminding
from scheduling.texting.wording import PourFacts

log = logging.getLogger(__name__)

WORTH_TELLING_AGAIN = timedelta(minutes=15)  # a reminder sent is sent again when its moment moves so far
LATE_AFTER = timedelta(minutes=5)


# --- following the plan -----------------------------------------------------------------------


@transaction.atomic
def follow_plan(*, pour: Pour, plan: Plan, now: datetime) -> None:
    """Make the pour's reminders, or move them to where its plan and its order have gone."""
    needed = turns(pour, plan, now)
    kept = {row.kind: row for row in pour.reminders.select_for_update()}
    for kind in ReminderKind:
        row, turn = kept.get(kind), needed.get(kind)
        if turn is None:
            _drop(row)
        elif row is None:
            _make(pour, kind, turn, now)
        else:
            _move(row, turn, pour.version, now)


def _drop(row: Reminder | None) -> None:
    if row and row.state == ReminderState.WAITING:
        row.state = ReminderState.NOT_NEEDED
        row.save(update_fields=["state"])


def _make(pour: Pour, kind: ReminderKind, turn: Turn, now: datetime) -> None:
    if turn.useful_until > now:
        Reminder.objects.create(
            pour=pour,
            kind=kind,
            due_at=turn.due_at,
            useful_until=turn.useful_until,
            pour_version=pour.version,
        )


def _move(row: Reminder, turn: Turn, version: int, now: datetime) -> None:
    row.state = _state_after(row, turn, version, now)
    # A trial cut that ravelled is not tried again before its time, wherever the plan goes.
    put_off = row.not_before or turn.due_at
    row.due_at = max(turn.due_at, put_off) if put_off < turn.useful_until else turn.due_at
    row.useful_until, row.pour_version = turn.useful_until, version
    row.save(update_fields=["state", "due_at", "useful_until", "pour_version"])


def _state_after(row: Reminder, turn: Turn, version: int, now: datetime) -> ReminderState:
    """Whether it waits (again) at its new moment. One that was sent is not sent twice for the same moment."""
    if row.state == ReminderState.WAITING:
        return ReminderState.WAITING
    if row.state == ReminderState.NOT_NEEDED:
        return ReminderState.WAITING if turn.useful_until > now else ReminderState.NOT_NEEDED
    moved = turn.due_at - row.due_at
    same_version = version == row.pour_version
    least = WORTH_TELLING_AGAIN if same_version else timedelta(seconds=1)
    moved_ahead = turn.due_at >= now and moved >= least
    again = moved_ahead or (not same_version and turn.useful_until > now and _is_on_its_way(row))
    return ReminderState.WAITING if again else ReminderState(row.state)


def _is_on_its_way(row: Reminder) -> bool:
    """Whether a text of it has not left yet: it speaks of the earlier version and will be dropped."""
    texts = Message.objects.filter(key__startswith=_key(row.pour_id, row.pour_version, row.kind))
    return texts.filter(state__in=(MessageState.QUEUED, MessageState.SENDING)).exists()


# --- sending ----------------------------------------------------------------------------------


def send_due(*, now: datetime, limit: int = 200) -> int:
    """Turn due reminders into texts, oldest first; how many texts are new."""
    due = Reminder.objects.filter(state=ReminderState.WAITING, due_at__lte=now).order_by("due_at", "id")
    written = 0
    for pk in list(due.values_list("pk", flat=True)[:limit]):
        try:
            written += _send(pk, now)
        except Exception:  # whatever is wrong with this one, the next must still go
            log.exception("Reminder %s was not worked through", pk)
    if written:
        nudge("scheduling.tasks.send_due_messages")
    return written


@transaction.atomic
def _send(pk: int, now: datetime) -> int:
    """Claim one reminder and write its texts, unless another worker was first or it came too late."""
    waiting = Reminder.objects.filter(pk=pk, state=ReminderState.WAITING, due_at__lte=now)
    if waiting.update(state=ReminderState.SENT) != 1:
        return 0
    reminder = Reminder.objects.select_related("pour__job__site", "pour__crew__lead", "pour__plan").get(pk=pk)
    plan = reminder.pour.plan
    if plan is None or reminder.kind not in turns(reminder.pour, plan, now):
        return _end(reminder, ReminderState.NOT_NEEDED)
    if reminder.kind == ReminderKind.UNANSWERED:
        return _send_to_dispatch(reminder, now)
    people = _people(reminder)
    if reminder.useful_until <= now or not people:
        log.warning("Missed: %s, due %s%s", reminder, reminder.due_at, "" if people else ", nobody to tell")
        return _end(reminder, ReminderState.MISSED)
    is_evening = reminder.kind == ReminderKind.EVENING
    is_urgent = is_evening and evening.is_urgent(reminder.pour, briefing.kept_answer(plan))
    return sum(
        _queue(reminder, person, _body(reminder, plan, person, now), now, is_urgent=is_urgent)
        for person in people
    )


def _send_to_dispatch(reminder: Reminder, now: datetime) -> int:
    if reminder.useful_until <= now:
        log.warning("Missed: %s, due %s", reminder, reminder.due_at)
        return _end(reminder, ReminderState.MISSED)
    told = tell_if_unanswered(pour=reminder.pour, useful_until=reminder.useful_until, now=now)
    if told is None:
        return _end(reminder, ReminderState.NOT_NEEDED)
    return told or _end(reminder, ReminderState.MISSED)


def _end(reminder: Reminder, state: ReminderState) -> int:
    Reminder.objects.filter(pk=reminder.pk).update(state=state)
    return 0


def _people(reminder: Reminder) -> list[User]:
    pour, crew = reminder.pour, reminder.pour.crew
    lead = [crew.lead] if crew and crew.lead else []
    if reminder.kind == ReminderKind.EVENING:
        dispatchers = _with_phone(Role.DISPATCHER) or _with_phone(Role.OFFICE)
        return dispatchers if is_held(pour) else dispatchers + lead
    return lead if lead and reminder.kind not in OFFICE_KINDS else _with_phone(Role.OFFICE)


def _with_phone(role: Role) -> list[User]:
    return list(User.objects.filter(role=role, is_active=True).exclude(phone="").order_by("pk"))


def _queue(reminder: Reminder, person: User, body: str, now: datetime, *, is_urgent: bool) -> bool:
    pour = reminder.pour
    message = outbox.queue_message(
        # With its moment: one that the plan has moved far enough is told again in the same version.
        key=f"{_key(pour.pk, pour.version, reminder.kind)}{person.pk}:{reminder.due_at:%Y%m%d%H%M}",
        kind=MessageKind.REMINDER,
        recipient=person,
        body=body,
        due_at=now,
        useful_until=reminder.useful_until,
        pours=[pour],
        now=now,
        reminder=reminder,
        is_urgent=is_urgent,
    )
    return message is not None


def _key(pour: int, version: int, kind: str) -> str:
    return f"reminder:{pour}:{version}:{kind}:"


def _body(reminder: Reminder, plan: Plan, person: User, now: datetime) -> str:
    """The text in the language its reader chose."""
    pour, company, kind = reminder.pour, Company.objects.get(), ReminderKind(reminder.kind)
    with translation.override(person.language):
        if kind in OFFICE_KINDS:
            return _office_body(pour, kind, company, now)
        if kind == ReminderKind.EVENING:
            return _evening_body(pour, plan, person, company)
        facts, answer = briefing.pour_facts(pour, company), briefing.kept_answer(plan)
        slab = slab_now(pour, plan, now)
        cure_at = slab.cure_at if slab else answer.finishing.cure_at
        text = _crew_text(kind, _as_placed(facts, slab), answer, cure_at)
        return reminding.late(text) if now - reminder.due_at > LATE_AFTER else text


def _as_placed(facts: PourFacts, slab: DayNow | None) -> PourFacts:
    """The times the slab has by its actual placing, in place of the plan's."""
    if slab is None:
        return facts
    zone, cuts = facts.starts_at.tzinfo, slab.sawing.starts_at is not None
    return replace(
        facts,
        floats_from_at=slab.ready_early_at.astimezone(zone),
        cut_from_at=slab.sawing.opens_at.astimezone(zone) if cuts else None,
        cut_until_at=slab.sawing.last_call_at.astimezone(zone) if cuts else None,
    )


def _crew_text(kind: ReminderKind, facts: PourFacts, answer: PourPlan, cure_at: datetime) -> str:
    if kind == ReminderKind.ON_SITE:
        return reminding.on_site_text(facts)
    if kind == ReminderKind.FINISH:
        return reminding.finish_text(facts)
    if kind == ReminderKind.CURE:
        return reminding.cure_text(facts, cure_at.astimezone(facts.starts_at.tzinfo))
    if kind == ReminderKind.FROST:
        frost_at = evening.first_frost_at(answer) or facts.starts_at
        return reminding.frost_text(facts, frost_at.astimezone(facts.starts_at.tzinfo))
    if kind == ReminderKind.PROTECT:
        rain = next(caution for caution in facts.cautions if caution.code == "rain")
        return reminding.rain_text(facts, rain)
    if kind == ReminderKind.CYLINDERS:
        return reminding.cylinders_text(facts, facts.starts_at + TO_LABORATORY)
    if kind == ReminderKind.FIRST_CUT:
        return reminding.first_cut_text(facts)
    return reminding.last_cut_text(facts, answer.sawing.hours_needed)


def _evening_body(pour: Pour, plan: Plan, person: User, company: Company) -> str:
    """Of what the plan warns of, only what is grave; of a pour on hold, that it is."""
    facts, crew = briefing.pour_facts(pour, company), pour.crew.name if pour.crew else ""
    if is_held(pour):
        return reminding.evening_hold_text(facts, crew)
    grave = {finding.code for finding in briefing.kept_answer(plan).findings if evening.is_grave(finding)}
    cautions = tuple(caution for caution in facts.cautions if caution.code in grave)
    is_lead = pour.crew is not None and pour.crew.lead == person
    return reminding.evening_text(replace(facts, cautions=cautions), crew, to_lead=is_lead)


def _office_body(pour: Pour, kind: ReminderKind, company: Company, now: datetime) -> str:
    order = standing_order(pour)
    if order is None:
        raise LookupError(f"{pour} has no standing order to remind of.")
    facts = briefing.order_facts(order, company)
    return reminding.order_text(facts, now) if kind == ReminderKind.ORDER else reminding.confirm_text(facts)
