"""Parts of the work on a proposal, each a row for whichever worker claims it first.

Whoever asks for parts works on them too, and in the end also on those that others took and did not answer:
so one worker finishes alone, none waits for another, and a part whose worker died is done again. A part is
the same work wherever it is done, so it does not matter whose answer comes first.
"""

import logging
import time
from collections.abc import Callable, Mapping, Sequence

from django.conf import settings
from django.core.exceptions import ObjectDoesNotExist
from django.db.models import QuerySet

from scheduling.models import PartKind, PartState, ProposalState, WeekPart, WeekProposal
from scheduling.services import nudge

log = logging.getLogger(__name__)

TASK = "scheduling.tasks.propose_weeks"
POLL_S = 0.03  # our choice
PATIENCE_S = 5.0  # with others, once there is nothing else to do; a part takes about a second: our choice
TURN_S = 5.0  # then a helping worker lets other tasks have their turn: our choice

Work = Callable[[WeekPart], bytes]


def answers(
    proposal: WeekProposal,
    kind: PartKind,
    asked: Sequence[bytes],
    work: Work,
    go_on: Callable[[Mapping[int, bytes]], bool],
) -> list[bytes | None]:
    """Have every part done, here and by others, and give the answers in the parts' order.

    `go_on` is asked ever so often with the answers so far, by the parts' numbers; once it says no, parts
    without an answer get None.
    """
    parts = WeekPart.objects.bulk_create(WeekPart(proposal=proposal, kind=kind, asked=one) for one in asked)
    number = {part.pk: index for index, part in enumerate(parts)}
    for _ in range(min(len(parts), settings.WEEK_HANDS) - 1):
        nudge.nudge(TASK)
    found: dict[int, bytes] = {}
    try:
        _work_through(WeekPart.objects.filter(pk__in=number), number, found, work, go_on)
    finally:
        WeekPart.objects.filter(pk__in=number).delete()
    return [found.get(index) for index in range(len(asked))]


def _work_through(
    parts: QuerySet[WeekPart],
    number: Mapping[int, int],
    found: dict[int, bytes],
    work: Work,
    go_on: Callable[[Mapping[int, bytes]], bool],
) -> None:
    worked_s = time.monotonic()
    while go_on(found) and len(found) < len(number):
        part = _claim(parts)
        if part is None and time.monotonic() - worked_s > PATIENCE_S:
            part = parts.exclude(state=PartState.ANSWERED).first()
        if part is None:
            time.sleep(POLL_S)
        else:
            _do(part, work)
            worked_s = time.monotonic()
        unread = [pk for pk, index in number.items() if index not in found]
        answered = WeekPart.objects.filter(pk__in=unread, state=PartState.ANSWERED)
        for pk, answer in answered.values_list("pk", "answer"):
            found[number[pk]] = bytes(answer or b"")


def help_out(works: Mapping[str, Work]) -> None:
    """Work on parts that others wait for, for a few seconds; then ask for another turn."""
    until_s = time.monotonic() + TURN_S
    done = 0
    while time.monotonic() < until_s and (part := _claim_any()):
        try:
            _do(part, works[part.kind])
        except ObjectDoesNotExist:
            return  # nobody waits for it any more
        except Exception:  # who waits for it will do it, and say what is wrong
            log.exception("A part of proposal %s could not be worked on", part.proposal_id)
            return
        done += 1
    if done and _waiting().exists():
        nudge.nudge(TASK)


def _waiting() -> QuerySet[WeekPart]:
    return WeekPart.objects.filter(
        state=PartState.WAITING, proposal__state=ProposalState.WORKING, proposal__stop_asked=False
    )


def _claim_any() -> WeekPart | None:
    """A part of the oldest proposal that has one waiting and not as many hands as it may."""
    for proposal in _waiting().order_by("proposal_id").values_list("proposal_id", flat=True).distinct():
        parts = WeekPart.objects.filter(proposal_id=proposal)
        if parts.filter(state=PartState.TAKEN).count() < settings.WEEK_HANDS and (part := _claim(parts)):
            return part
    return None


def _claim(parts: QuerySet[WeekPart]) -> WeekPart | None:
    for part in parts.filter(state=PartState.WAITING).order_by("pk")[: settings.WEEK_HANDS]:
        waiting = WeekPart.objects.filter(pk=part.pk, state=PartState.WAITING)
        if waiting.update(state=PartState.TAKEN) == 1:
            return part
    return None


def _do(part: WeekPart, work: Work) -> None:
    """Answer a part, unless somebody else has meanwhile or nobody waits for it any more."""
    answer = work(part)
    WeekPart.objects.filter(pk=part.pk).exclude(state=PartState.ANSWERED).update(
        state=PartState.ANSWERED, answer=answer
    )
