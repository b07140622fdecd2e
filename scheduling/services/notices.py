"""When a person changes a booking: leads who were told of it hear at once what is otherwise, no more."""

from collections.abc import Callable, Iterator
from datetime import datetime

from django.utils import translation

from scheduling.models import (
    Company,
    EventKind,
    Message,
    MessageKind,
    MessagePour,
    MessageState,
    Pour,
    PourState,
    User,
)
from scheduling.queries.papers import state_told
from scheduling.queries.week import local_day
from scheduling.services import briefing, changes, morning, outbox
from scheduling.services.nudge import nudge
from scheduling.services.quiet import told_after
from scheduling.texting import notices
from scheduling.texting.changes import change_text
from scheduling.texting.wording import PourFacts

# Every text that says whether, where and when to go.
ASSIGNS = (MessageKind.MORNING, MessageKind.CHANGE, MessageKind.CALL_OFF)
# One that still waits is dropped when its pour changes, and another is written: nobody was told by it.
PERHAPS_READ = (MessageState.SENDING, MessageState.SENT, MessageState.DELIVERED, MessageState.UNKNOWN)
PLACE_FIELDS, ORDER_FIELDS = frozenset({"job"}), frozenset({"mix", "plant", "sections", "allowance_value"})


def tell(*, pour: Pour, now: datetime, reason: str = "") -> int:
    """Tell whoever was told otherwise of the pour, or whose day has it newly; how many texts are new."""
    told = {about.message.recipient: about for about in _told(pour)}
    lead = pour.crew.lead if pour.crew else None
    count = sum(_tell_again(about, pour, now, reason) for about in told.values())
    if lead and lead not in told and state_told(pour) == PourState.BOOKED and _has_the_day(lead, pour):
        count += _queue(pour, lead, MessageKind.CHANGE, _worded(lead, notices.added_text, pour), now)
    if count:
        nudge("scheduling.tasks.send_due_messages")
    return count


def _told(pour: Pour) -> Iterator[MessagePour]:
    """What was perhaps read of the pour, of each reader the last one last."""
    about = MessagePour.objects.filter(pour=pour, message__kind__in=ASSIGNS, message__state__in=PERHAPS_READ)
    rows = about.select_related("message__recipient", "plan").order_by("message__made_at", "message")
    return rows.iterator()


def _has_the_day(lead: User, pour: Pour) -> bool:
    """Whether the lead has read the assignment of that day already, so that no other will tell them."""
    texts = Message.objects.filter(key__startswith=morning.key_of(lead, local_day(pour)))
    return texts.filter(state__in=PERHAPS_READ).exists()


def _tell_again(about: MessagePour, pour: Pour, now: datetime, reason: str) -> int:
    """One reader: from what they were told last to what is so now."""
    reader = about.message.recipient
    was_going = about.message.kind != MessageKind.CALL_OFF and about.pour_state != PourState.ON_HOLD
    is_theirs = pour.crew is not None and pour.crew.lead == reader
    if is_theirs and state_told(pour) == PourState.BOOKED:
        if not was_going:
            body = _worded(reader, notices.back_on_text, pour)
            return _queue(pour, reader, MessageKind.CHANGE, body, now)
        body, is_urgent = _change(about, pour, reader)
        return _queue(pour, reader, MessageKind.CHANGE, body, now, is_urgent=is_urgent)
    called_off_now = state_told(pour) == PourState.CANCELLED and about.pour_state == PourState.ON_HOLD
    if was_going or called_off_now:
        body = _stop(reader, about, pour, reason, is_theirs=is_theirs)
        return _queue(pour, reader, MessageKind.CALL_OFF, body, now)
    return 0


def _change(about: MessagePour, pour: Pour, reader: User) -> tuple[str, bool]:
    """What differs from the plan they were told, and whether it is urgent; empty where that is nothing."""
    if about.plan is None:
        return "", False
    fields = _changed_since(pour, about.message.made_at)
    step = changes.step_by_hand(
        pour, about.plan, place=bool(fields & PLACE_FIELDS), order=bool(fields & ORDER_FIELDS)
    )
    with translation.override(reader.language):
        return (change_text(*step), step.changed.is_urgent) if step else ("", False)


def _changed_since(pour: Pour, moment: datetime) -> frozenset[str]:
    """What a person has changed of the pour since, by field."""
    events = pour.events.filter(kind=EventKind.CHANGED, at__gte=moment)
    return frozenset().union(*(event.facts.get("fields", ()) for event in events))


def _stop(reader: User, about: MessagePour, pour: Pour, reason: str, *, is_theirs: bool) -> str:
    """That they do not go, about the pour as they were told of it."""
    facts = briefing.pour_facts(changes.as_planned(pour, about.plan), Company.objects.get())
    with translation.override(reader.language):
        if state_told(pour) == PourState.CANCELLED:
            return notices.call_off_text(facts, reason)
        return notices.hold_text(facts, reason) if is_theirs else notices.other_crew_text(facts)


def _worded(reader: User, words: Callable[[PourFacts], str], pour: Pour) -> str:
    facts = briefing.pour_facts(pour, Company.objects.get())
    with translation.override(reader.language):
        return words(facts)


def _queue(
    pour: Pour, reader: User, kind: MessageKind, body: str, now: datetime, *, is_urgent: bool = False
) -> int:
    """Keep the text until the pour would be over; none where there is nothing to say or nobody to help."""
    until = pour.plan.placed_at if pour.plan else pour.starts_at
    if not body or until <= now:
        return 0
    company = Company.objects.get()
    call_at = briefing.call_at(pour, company)
    # Not to go, or not to pour, is worth waking for; to go otherwise, only where the night is too short to
    # tell it after.
    waits = kind != MessageKind.CALL_OFF and not is_urgent
    due_at = told_after(now, call_at, briefing.site_zone(pour), company) if waits else now
    message = outbox.queue_message(
        key=f"notice:{pour.pk}:{pour.version}:{reader.pk}",
        kind=kind,
        recipient=reader,
        body=body,
        due_at=due_at,
        useful_until=until,
        pours=[pour],
        now=now,
        is_urgent=is_urgent,
    )
    return int(message is not None)
