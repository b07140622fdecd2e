"""When a plan changes, as by new weather: the office sees it, and a lead who holds the old numbers is told.

A change is weighed against what people were told last, not against the plan just before it: of many small
steps in a row the last one may be worth a text.
"""

import logging
from copy import copy
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from django.db import transaction
from django.db.models import F, Max
from django.utils import translation

from scheduling.engine.inputs import Severity
from scheduling.models import (
    STANDING,
    Company,
    EventKind,
    MessageKind,
    MessagePour,
    MessageState,
    Plan,
    Pour,
    PourState,
    User,
)
from scheduling.services import briefing, outbox
from scheduling.services.history import record
from scheduling.services.nudge import nudge
from scheduling.services.quiet import told_after
from scheduling.texting.cautions import Caution
from scheduling.texting.changes import Changed, change_text
from scheduling.texting.wording import PourFacts

log = logging.getLogger(__name__)

# Our choice: less than that a lead makes good by looking at the slab. What is far off is not known so
# closely, and a degree more or less moves a cut at midnight by most of an hour.
WORTH_TELLING = timedelta(minutes=30)
WORTH_TELLING_SHARE = 0.1  # of the time from the first truck
GRAVE = frozenset({Severity.STOP.value, Severity.CAUTION.value})
STOPS = frozenset({Severity.STOP.value})
TELLS_NUMBERS = (MessageKind.MORNING, MessageKind.CHANGE)
# A text in one of these has come to its reader, may have, or will.
HELD = frozenset(
    {
        MessageState.QUEUED,
        MessageState.SENDING,
        MessageState.SENT,
        MessageState.DELIVERED,
        MessageState.UNKNOWN,
    }
)


class Step(NamedTuple):
    """From one plan of a pour to another: both as people are told of them, and what differs materially."""

    before: PourFacts
    after: PourFacts
    changed: Changed

    @property
    def is_material(self) -> bool:
        return self.changed != Changed()


@transaction.atomic
def tell(*, pour: Pour, by: User | None, now: datetime) -> None:
    """Note a material change of the pour's plan, and text the lead who was told other numbers."""
    known = _known_to_office(pour)
    step = _step(pour, known) if known else None
    if step and step.is_material:
        facts = {"codes": sorted({caution.code for caution in step.changed.begun})}
        record(
            pour,
            EventKind.WEATHER_CHANGED,
            by=by,
            now=now,
            plan=pour.plan.number if pour.plan else None,
            reason=_said(step),
            **facts,
        )
    tell_lead(pour=pour, now=now)


def _known_to_office(pour: Pour) -> Plan | None:
    """The plan of this version that was last called changed, or its first."""
    plans = pour.plans.filter(pour_version=pour.version)
    last = pour.events.filter(kind=EventKind.WEATHER_CHANGED).order_by("-at", "-id").first()
    noted = plans.filter(number=last.facts.get("plan")).first() if last else None
    return noted or plans.order_by("number").first()


def tell_lead(*, pour: Pour, now: datetime) -> bool:
    """Text the crew lead what differs from the numbers they hold; whether there was something to say."""
    lead = pour.crew.lead if pour.crew else None
    if lead is None or pour.plan is None or pour.state != PourState.BOOKED:
        return False
    held = _held_by(lead, pour)
    step = _step(pour, held) if held else None
    until = pour.plan.phases.aggregate(end=Max("ends_at"))["end"]
    with translation.override(lead.language):
        body = change_text(*step) if step else ""
    if not body or until is None or until <= now:
        return False
    is_urgent = step is not None and step.changed.is_urgent
    waits_until = told_after(now, pour.plan.call_at, briefing.site_zone(pour), Company.objects.get())
    message = outbox.queue_message(
        key=f"change:{pour.pk}:{pour.version}:{pour.plan.number}:{lead.pk}",
        kind=MessageKind.CHANGE,
        recipient=lead,
        body=body,
        due_at=now if is_urgent else waits_until,
        useful_until=until,
        pours=[pour],
        now=now,
        is_urgent=is_urgent,
    )
    nudge("scheduling.tasks.send_due_messages")
    return message is not None


def _held_by(lead: User, pour: Pour) -> Plan | None:
    """The plan whose numbers the lead was told last; an untold change is taken back, a newer one follows."""
    texts = MessagePour.objects.filter(pour=pour, message__recipient=lead, message__kind__in=TELLS_NUMBERS)
    for about in texts.select_related("message", "plan").order_by("-message__made_at", "-message__id"):
        will_be_dropped = about.message.state == MessageState.QUEUED and about.pour_version != pour.version
        if about.message.state not in HELD or will_be_dropped:
            continue
        if about.plan_id == pour.plan_id:
            return None
        if about.message.kind == MessageKind.CHANGE and outbox.withdraw(
            message=about.message, reason="the weather changed again before it was sent"
        ):
            continue
        return about.plan
    return None


def tell_late(*, now: datetime) -> int:
    """Text leads whose morning text was being written while the plan changed; how many."""
    about = MessagePour.objects.filter(
        pour__state__in=STANDING,
        pour__starts_at__gt=now,
        pour_version=F("pour__version"),
        message__kind__in=TELLS_NUMBERS,
    )
    pours = Pour.objects.filter(pk__in=about.exclude(plan=F("pour__plan")).values("pour"))
    rows = pours.select_related("job__site", "plant", "mix", "crew__lead", "plan")
    return sum(tell_lead(pour=pour, now=now) for pour in rows)


# --- what differs -----------------------------------------------------------------------------


def _step(pour: Pour, known: Plan) -> Step | None:
    """What differs between the plan that is known and the pour's own; None where they are one."""
    if pour.plan is None or known.pk == pour.plan_id:
        return None
    company = Company.objects.get()
    try:
        before, after = (briefing.pour_facts(one, company) for one in (as_planned(pour, known), pour))
    except Exception as fault:  # a plan of an older program may lack what is read here; the new one stands
        log.warning("Plan %s of pour %s cannot be compared any more: %r", known.number, pour.pk, fault)
        return None
    return Step(before, after, _changed(before, after, known, pour.plan))


def as_planned(pour: Pour, plan: Plan | None) -> Pour:
    """The pour with an earlier plan of its own, to be told of as it was."""
    earlier = copy(pour)
    if plan:
        earlier.plan, earlier.starts_at = plan, plan.starts_at
    return earlier


def step_by_hand(pour: Pour, known: Plan, *, place: bool, order: bool) -> Step | None:
    """What differs since a person changed the booking, `place` and `order` as far as they did."""
    step = _step(pour, known)
    if step is None:
        return None
    before, after, changed = step
    start = (before.starts_at, before.call_at) != (after.starts_at, after.call_at)
    ordered = before.quantity != after.quantity or order
    if not (step.is_material or start or place or ordered):
        return None
    return Step(before, after, replace(changed, by_hand=True, start=start, place=place, order=ordered))


def _found(plan: Plan, severities: frozenset[str]) -> frozenset[str]:
    """The findings of the plan that are so severe, by code."""
    return frozenset(
        finding["code"] for finding in plan.result["findings"] if finding["severity"] in severities
    )


def _changed(before: PourFacts, after: PourFacts, known: Plan, plan: Plan) -> Changed:
    warned, warns = _found(known, GRAVE), _found(plan, GRAVE)
    stops = _found(plan, STOPS) - _found(known, STOPS)  # also what was only warned of before

    def moved(name: str) -> bool:
        return _moved(getattr(before, name), getattr(after, name), after.starts_at)

    return Changed(
        floats=moved("floats_from_at"),
        cuts=moved("cut_from_at") or moved("cut_until_at"),
        trucks=before.arrivals != after.arrivals,
        begun=_first_of_each(after.cautions, warns - warned | stops),
        gone=_first_of_each(before.cautions, warned - warns),
    )


def _moved(was: datetime | None, is_now: datetime | None, starts_at: datetime) -> bool:
    if was is None or is_now is None:
        return was is not is_now
    # On the site's own clock an hour may be skipped or come twice between them.
    first, then, start = (moment.astimezone(UTC) for moment in (was, is_now, starts_at))
    return abs(then - first) >= max(WORTH_TELLING, WORTH_TELLING_SHARE * (first - start))


def _first_of_each(cautions: tuple[Caution, ...], codes: frozenset[str]) -> tuple[Caution, ...]:
    firsts: dict[str, Caution] = {}
    for caution in sorted(cautions, key=lambda caution: caution.is_stop, reverse=True):
        if caution.code in codes:
            firsts.setdefault(caution.code, caution)
    return tuple(firsts.values())


def _said(step: Step) -> str:
    """The change as the crew would read it, without the place: everybody speaks of the same thing."""
    text = change_text(*step)
    return text.removeprefix(f"{step.after.place}: new weather.").strip() or "What is warned of changed."
