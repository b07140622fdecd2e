"""A morning text that nobody answered: dispatch is told while there is time to phone."""

from datetime import datetime
from functools import partial
from typing import Any

from scheduling.models import Company, Message, MessageKind, MessageState, Pour
from scheduling.services import briefing, outbox
from scheduling.texting import dispatch

OUT_THERE = frozenset({MessageState.SENT, MessageState.DELIVERED, MessageState.UNKNOWN})


def tell_if_unanswered(*, pour: Pour, useful_until: datetime, now: datetime) -> int | None:
    """Tell dispatch unless the lead has answered, or another pour of the day speaks for the same text.

    How many texts are new; None where there is nothing to tell.
    """
    lead = pour.crew.lead if pour.crew else None
    if lead is None:
        return None
    text = _morning_text(pour)
    if text and (_is_answered(text) or _first_pour(text) != pour.pk):
        return None
    facts = briefing.pour_facts(pour, Company.objects.get())
    body = partial(dispatch.unanswered_text, f"{lead}, {pour.crew}", str(lead.phone), facts, **_reached(text))
    key = f"unanswered:{text.pk if text else f'pour:{pour.pk}:{pour.version}'}"
    return outbox.tell_dispatch(
        key=key, body=body, about=lead, now=now, useful_until=useful_until, pours=[pour]
    )


def _morning_text(pour: Pour) -> Message | None:
    texts = Message.objects.filter(kind=MessageKind.MORNING, about__pour=pour)
    return texts.filter(recipient__crew_led=pour.crew).order_by("-pk").first()


def _is_answered(text: Message) -> bool:
    """Any word about it counts: who is late is on the way."""
    return text.answered_at is not None or text.reply_set.exists()


def _first_pour(text: Message) -> int | None:
    return text.about.order_by("pour__starts_at", "pour").values_list("pour", flat=True).first()


def _reached(text: Message | None) -> dict[str, Any]:
    """Whether the lead got a text to answer, and why not."""
    if text is None:
        return {"reached": False}
    reason = text.reason or text.get_state_display()
    return {"reached": True} if text.state in OUT_THERE else {"reached": False, "reason": reason}
