"""A slab under way is not left alone: people short, relief, and whoever has gone home."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import partial

from scheduling.engine.daynow import DayNow
from scheduling.models import (
    Company,
    MessageKind,
    NoteKind,
    Plan,
    Pour,
    ReminderKind,
    ReminderState,
    SiteNote,
)
from scheduling.queries import sitenotes
from scheduling.services import briefing, outbox
from scheduling.services.slabnow import slab_now
from scheduling.texting import dispatch

AFTER_CALL = timedelta(minutes=5)  # our choice
CUT_ANSWERED_WITHIN = timedelta(minutes=45)  # our choice
OVER_BY = {NoteKind.FINISHING_DONE, NoteKind.CUT_DONE}
USEFUL = timedelta(hours=2)


def look_after(*, pour: Pour, plan: Plan, now: datetime) -> int:
    """Tell who must know how it stands with the people and the slab; how many texts are new."""
    told = _people_short(pour, plan, now)
    kinds = sitenotes.kinds_noted(pour)
    slab = slab_now(pour, plan, now) if NoteKind.CUT_DONE not in kinds else None
    if slab is None:
        return told
    told += _cut_unanswered(pour, slab, now)
    if OVER_BY & kinds:
        return told
    return told + _relief(pour, plan, now) + _unattended(pour, slab.finished_at, now)


def is_left_alone(slab: DayNow, notes: Iterable[SiteNote], company: Company, now: datetime) -> bool:
    """Whether the slab should be finished by now, with the patience of one call, and nobody notes that."""
    is_over = OVER_BY & {note.kind for note in notes}
    return not is_over and _turns_alone(slab.finished_at, company, now) >= 1


def _turns_alone(finished_at: datetime, company: Company, now: datetime) -> int:
    """How many calls about it are due."""
    return int((now - finished_at) / timedelta(minutes=company.unattended_every_min))


def _people_short(pour: Pour, plan: Plan, now: datetime) -> int:
    """By five minutes after they should stand there, and only as long as trucks can still be held."""
    noted = [note.people for note in sitenotes.standing_notes(pour) if note.people is not None]
    is_time = plan.call_at + AFTER_CALL <= now <= plan.placed_at
    if not noted or noted[-1] >= pour.people or not is_time:
        return 0
    body = partial(dispatch.people_short_text, _place(pour), noted[-1], pour.people)
    return _tell_dispatch(pour, f"short-{noted[-1]}", body, now)


def _relief(pour: Pour, plan: Plan, now: datetime) -> int:
    """Asked for once, when those who came with the first truck have been at it as long as anybody may."""
    hours = Company.objects.get().relief_after_h
    if now < plan.call_at + timedelta(hours=hours):
        return 0
    return _tell_dispatch(pour, "relief", partial(dispatch.relief_text, _place(pour), hours), now)


def _unattended(pour: Pour, finished_at: datetime, now: datetime) -> int:
    """Again and again until finishing is noted as done: no clock ends it."""
    turn = _turns_alone(finished_at, Company.objects.get(), now)
    if turn < 1:
        return 0
    by_at = finished_at.astimezone(briefing.site_zone(pour))
    body = partial(dispatch.unattended_text, _place(pour), by_at)
    return _tell_dispatch(pour, f"unattended-{turn}", body, now) + _tell_lead(pour, turn, body, now)


def _cut_unanswered(pour: Pour, slab: DayNow, now: datetime) -> int:
    """A cut was to be tried and nobody says that it ravels or is done: told once for each try."""
    asked = pour.reminders.filter(kind=ReminderKind.FIRST_CUT, state=ReminderState.SENT).first()
    if asked is None or slab.sawing.starts_at is None:
        return 0
    try_at = max(asked.due_at, slab.sawing.opens_at)
    ravelled = pour.site_notes.filter(
        kind=NoteKind.RAVELS, undone_at__isnull=True, happened_at__gte=asked.due_at
    )
    if now - try_at < CUT_ANSWERED_WITHIN or ravelled.exists():
        return 0
    body = partial(dispatch.cut_unanswered_text, _place(pour), try_at.astimezone(briefing.site_zone(pour)))
    return _tell_dispatch(pour, f"cut-{asked.due_at:%Y%m%d%H%M}", body, now)


def _tell_lead(pour: Pour, turn: int, body: partial[str], now: datetime) -> int:
    lead = pour.crew.lead if pour.crew else None
    if lead is None or not lead.phone:
        return 0
    return outbox.tell(
        person=lead,
        body=body,
        key=f"unattended:{pour.pk}:{turn}:{lead.pk}",
        kind=MessageKind.REMINDER,
        now=now,
        useful_until=now + USEFUL,
        pours=[pour],
        is_urgent=True,
    )


def _tell_dispatch(pour: Pour, what: str, body: partial[str], now: datetime) -> int:
    return outbox.tell_dispatch(
        key=f"slab-{pour.pk}-{what}", body=body, now=now, useful_until=now + USEFUL, pours=[pour]
    )


def _place(pour: Pour) -> str:
    return str(pour.job.site.name)
