"""A pour under way: what is noted on site, what follows from it, and who must know at once.

Nothing is sent to a plant from here: what to ask of it is said to people, and a person calls.
"""

import logging
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Any, Unpack

from django.db import IntegrityError, transaction
from django.utils.crypto import get_random_string

from scheduling import bridge
from scheduling.engine.inputs import BadInput, Finding, Severity
from scheduling.errors import NotAllowed, OutOfDate, Refusal
from scheduling.models import (
    BATCH_NOTES,
    LOAD_NOTES,
    STANDING,
    TRUCK_NOTES,
    Company,
    NoteKind,
    Plan,
    Pour,
    SiteForecast,
    SiteNote,
    User,
)
from scheduling.quantities import UnitSystem
from scheduling.queries import sitenotes
from scheduling.queries.forecasts import forecasts_for
from scheduling.roles import Right
from scheduling.sentences import say
from scheduling.services import alarms, balance, briefing, outbox, rearming, reminders, slabwatch
from scheduling.services.measured import Measured, check_measured
from scheduling.services.nudge import nudge
from scheduling.services.slabnow import logged, run_of, slab_by, slab_now
from scheduling.texting.segments import to_gsm
from scheduling.texting.wording import clip

log = logging.getLogger(__name__)

UNDO_WITHIN = timedelta(minutes=10)
CLOCK_SLACK = timedelta(minutes=2)  # a phone's clock may run ahead of ours
BEFORE_START = timedelta(hours=6)  # a load has come hours early before now
AFTER_START = timedelta(hours=30)  # the last cut of a slow slab is the next day
TOLD_USEFUL = timedelta(minutes=45)
SITE_LENGTH = 40

ORDER_OF_NOTES = {kind: place for place, kind in enumerate(TRUCK_NOTES)}


# --- noting -----------------------------------------------------------------------------------


def new_key() -> str:
    """A key for one press of a button."""
    return get_random_string(24)


@transaction.atomic
def note(
    *,
    pour: Pour,
    kind: NoteKind,
    key: str,
    happened_at: datetime,
    by: User,
    now: datetime,
    load: int | None = None,
    batch_at: datetime | None = None,
    people: int | None = None,
    m3: float | None = None,
    strip: int | None = None,
    words: str = "",
    confirmed: bool = False,
    **measured: Unpack[Measured],
) -> SiteNote:
    """Note what happened on site; the same press sent twice is one note.

    A load refused is to come again, by another truck: its arrival is taken back, the refusal stays.

    Raises
    ------
    Refusal
        If it cannot have happened: a load that was not planned, a moment that is ahead or far from the
        pour's day, a truck empty before it came, a batch time after the arrival; if somebody noted it
        before; if the pour has no plan or does not stand.
    NotAllowed
        If the person may not note anything, or not of this crew.
    """
    _may_note(pour, by)
    asked: dict[str, Any] = {"kind": kind, "load": load, "batch_at": batch_at, "people": people}
    asked |= {"m3": m3, "strip": strip, "words": words, **measured}
    known = SiteNote.objects.filter(pour=pour, key=key).first()
    if known is not None:
        # A photo sent again is another file of the same picture.
        if any(getattr(known, name) != value for name, value in asked.items() if name != "photo"):
            raise Refusal("Another note was made with this key.", code="key_used", field="key")
        return known
    _check(pour, kind, happened_at, now, load, batch_at, people)
    check_measured(kind, measured)
    _check_strip(pour, kind, strip, now)
    balance.check(pour=pour, kind=kind, m3=m3, confirmed=confirmed)
    try:
        with transaction.atomic():
            made = SiteNote.objects.create(
                pour=pour, key=key, happened_at=happened_at, noted_at=now, by=by, **asked
            )
    except IntegrityError as twice:
        if same := SiteNote.objects.filter(pour=pour, key=key).first():  # the other of two presses was first
            return same
        raise Refusal("Somebody has noted that already.", code="already_noted", field="kind") from twice
    if kind == NoteKind.REFUSED:
        _came_in_vain(made, now)
    _check_order(pour)
    _follow(pour, now)
    if kind == NoteKind.RAVELS:
        rearming.try_cut_of_pour_again(pour=pour, now=now)
    nudge("scheduling.tasks.watch_pours")
    return made


def _came_in_vain(refusal: SiteNote, now: datetime) -> None:
    came = refusal.pour.site_notes.filter(kind__in=TRUCK_NOTES, load=refusal.load, undone_at__isnull=True)
    came.filter(happened_at__lte=refusal.happened_at).update(undone_at=now)


@transaction.atomic
def undo(*, note: SiteNote, by: User, now: datetime) -> SiteNote:
    """Take a note back, within ten minutes of making it."""
    _may_note(note.pour, by)
    if now - note.noted_at > UNDO_WITHIN:
        raise Refusal("This was noted more than ten minutes ago and stays.", code="too_late_to_undo")
    changed = SiteNote.objects.filter(pk=note.pk, undone_at__isnull=True).update(undone_at=now)
    note.refresh_from_db()
    if changed != 1:
        raise OutOfDate("This was taken back before.", code="undone")
    _check_order(note.pour)
    _follow(note.pour, now)
    return note


def _follow(pour: Pour, now: datetime) -> None:
    """Reminders move with the slab's own start, and what is noted as done needs none."""
    if pour.plan is not None:
        reminders.follow_plan(pour=pour, plan=pour.plan, now=now)


def _may_note(pour: Pour, by: User) -> None:
    own = pour.crew is not None and pour.crew.lead_id == by.pk
    if not by.may(Right.NOTE_DAY) or not (own or by.may(Right.SEE_ALL_POURS)):
        raise NotAllowed("Your role does not include this.", code="not_allowed")


def _check(
    pour: Pour,
    kind: NoteKind,
    happened_at: datetime,
    now: datetime,
    load: int | None,
    batch_at: datetime | None,
    people: int | None,
) -> None:
    if pour.plan is None or not pour.is_standing:
        raise Refusal(f"This pour is {pour.get_state_display()}.", code="not_standing")
    if happened_at > now + CLOCK_SLACK:
        raise Refusal("That moment is still ahead.", code="in_the_future", field="happened_at")
    if not pour.starts_at - BEFORE_START <= happened_at <= pour.starts_at + AFTER_START:
        raise Refusal("That is not the day of this pour.", code="other_day", field="happened_at")
    if (load is None) == (kind in LOAD_NOTES):
        raise Refusal("A load goes with a truck, and a truck has a load.", code="load_needed", field="load")
    if load is not None and not 1 <= load <= pour.plan.loads:
        raise Refusal(f"The plan has {pour.plan.loads} loads.", code="not_planned", field="load")
    if (people is not None) != (kind == NoteKind.PEOPLE_THERE):
        raise Refusal("Say how many people are there.", code="people_needed", field="people")
    if batch_at is not None and kind not in BATCH_NOTES:
        raise Refusal("A batch time is noted off the ticket.", code="not_here", field="batch_at")
    if batch_at is not None and batch_at > happened_at:
        raise Refusal(
            "The ticket's batch time lies after the arrival.", code="batched_later", field="batch_at"
        )


def _check_strip(pour: Pour, kind: NoteKind, strip: int | None, now: datetime) -> None:
    if strip is None or pour.plan is None:
        return
    if kind != NoteKind.READY_TO_FINISH:
        raise Refusal("A strip is noted when it is ready to finish.", code="not_here", field="strip")
    slab = slab_now(pour, pour.plan, now)
    count = len(slab.strips if slab else briefing.kept_answer(pour.plan).finishing.strips)
    if strip > count:
        raise Refusal(f"The slab has {count} strips.", code="not_planned", field="strip")


def _check_order(pour: Pour) -> None:
    """A truck arrives, starts and is empty in that order, whatever the order of the presses."""
    try:
        logged(sitenotes.standing_notes(pour))
    except BadInput as bad:
        message = "A truck arrives, starts and is empty in that order: look at the times."
        raise Refusal(message, code="out_of_order", field="happened_at") from bad


# --- what follows -----------------------------------------------------------------------------


def as_it_stands(*, pour: Pour, now: datetime) -> dict[str, Any]:
    """The pour carried on from what was noted: the JSON of the engine's `LiveRun`.

    Raises
    ------
    Refusal
        If there is no plan to carry on.
    """
    return bridge.to_json(run_of(pour, sitenotes.standing_notes(pour), now))


def under_way(*, pours: Sequence[Pour], now: datetime) -> dict[int, dict[str, Any]]:
    """Those pours of which something was noted, as `as_it_stands` gives each, by pour.

    Beside it `slab`, `balance` and `is_left_alone`; in a few readings, however many pours there are.
    """
    noted = sitenotes.standing_notes_of(pours)
    followed = [pour for pour in pours if pour.plan and pour.pk in noted]
    if not followed:
        return {}
    kept, company = forecasts_for(followed, now), Company.objects.get()
    return {
        pour.pk: _under_way(pour, pour.plan, noted[pour.pk], kept.get(pour.pk), company, now)
        for pour in followed
        if pour.plan
    }


def _under_way(
    pour: Pour, plan: Plan, notes: list[SiteNote], kept: SiteForecast | None, company: Company, now: datetime
) -> dict[str, Any]:
    slab = slab_by(pour, plan, notes, kept, now)
    stand = balance.balance_of(pour=pour, plan=plan, notes=notes, now=now)
    return {
        **bridge.to_json(run_of(pour, notes, now)),
        "slab": bridge.to_json(slab) if slab else None,
        "balance": bridge.to_json(stand) if stand else None,
        "is_left_alone": slab is not None and slabwatch.is_left_alone(slab, notes, company, now),
    }


def slab_as_it_stands(*, pour: Pour, now: datetime) -> dict[str, Any] | None:
    """The slab by its actual placing: the JSON of the engine's `DayNow`; None before its first concrete."""
    if pour.plan is None:
        return None
    slab = slab_now(pour, pour.plan, now)
    return bridge.to_json(slab) if slab else None


def balance_as_it_stands(*, pour: Pour, now: datetime) -> dict[str, Any] | None:
    """The JSON of a `balance.BalanceStand`; None where nothing was measured and nothing asked for."""
    if pour.plan is None:
        return None
    notes = sitenotes.standing_notes(pour)
    stand = balance.balance_of(pour=pour, plan=pour.plan, notes=notes, now=now)
    return bridge.to_json(stand) if stand else None


def standing(*, pour: Pour, now: datetime) -> dict[str, Any]:
    """All of it: the trucks as `as_it_stands` has them, `slab`, `balance`, and the `alarms` that stand."""
    run = as_it_stands(pour=pour, now=now)
    return {
        **run,
        "slab": slab_as_it_stands(pour=pour, now=now),
        "balance": balance_as_it_stands(pour=pour, now=now),
        "alarms": [
            {"alarm": alarm, "finding": finding} for alarm, finding in alarms.standing(pour, run["findings"])
        ],
    }


# --- who must know ----------------------------------------------------------------------------


def watch(*, now: datetime) -> int:
    """Tell the dispatchers, once each, what goes wrong with pours under way; the number of texts kept.

    A pour of which nobody notes anything is not watched: its trucks would all seem to be missing.
    """
    near = Pour.objects.filter(
        state__in=STANDING,
        plan__isnull=False,
        starts_at__gte=now - AFTER_START,
        starts_at__lte=now + BEFORE_START,
        site_notes__undone_at__isnull=True,
        site_notes__isnull=False,
    )
    told = 0
    for pour in near.select_related("job__site", "plan", "crew").distinct():
        try:
            _follow(pour, now)  # the weather may be another since, and a truck later
            told += _tell(pour, now)
            if pour.plan is not None:
                told += slabwatch.look_after(pour=pour, plan=pour.plan, now=now)
        except Exception:  # whatever is wrong with this one, the next must still be watched
            log.exception("Pour %s could not be watched", pour.pk)
    return told


def _tell(pour: Pour, now: datetime) -> int:
    run = run_of(pour, sitenotes.standing_notes(pour), now)
    kept = alarms.keep(pour=pour, findings=run.findings, now=now)
    passed_on = sum(
        alarms.pass_on(pour=pour, alarm=alarm, said=_text(pour, finding), now=now) for alarm, finding in kept
    )
    return passed_on + _tell_of(pour, run.findings, now)


def _tell_of(pour: Pour, findings: Sequence[Finding], now: datetime) -> int:
    grave = [finding for finding in findings if finding.severity is not Severity.NOTE]
    return sum(
        outbox.tell_dispatch(
            key=f"live-{pour.pk}-{finding.code}-{_which(finding)}",
            body=partial(_text, pour, finding),
            now=now,
            useful_until=now + TOLD_USEFUL,
            pours=[pour],
        )
        for finding in grave
    )


def _which(finding: Finding) -> str:
    """What tells one trouble from the next of its kind; a hold is told again when it grows."""
    load, later_min = finding.facts.get("load", ""), finding.facts.get("later_min", "")
    return f"{load}-{later_min}"


def _text(pour: Pour, finding: Finding) -> str:
    units = UnitSystem(Company.objects.get().units)
    words = say(finding.code, finding.facts, units, briefing.site_zone(pour))
    return to_gsm(f"{clip(pour.job.site.name, SITE_LENGTH)}: {words}")
