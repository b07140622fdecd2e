"""Book, change, move, hold, release and cancel pours; every change is planned and checked for clashes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from scheduling.errors import BookedAlready, Clashes, NotAllowed, OutOfDate, Refusal
from scheduling.models import (
    AcceptedClash,
    Company,
    EventKind,
    ForecastWatch,
    Job,
    Plan,
    Pour,
    PourState,
    User,
)
from scheduling.queries.clashes import PourClash, clashes_of
from scheduling.queries.people import crew_names, named
from scheduling.roles import Right
from scheduling.services import changes, notices, nudge, ordering, papers, planning, reminders
from scheduling.services.history import record, told, told_slab
from scheduling.services.slabs import Columns, draft_sections, engine_sections, keep_sections

# What may be said about a pour when it is booked and changed; the rest is kept by the services.
POUR_FIELDS = frozenset(
    {
        "job", "title", "starts_at", "plant", "mix", "concrete_c", "age_limit_min", "trucks", "haul_min",
        "allowance_kind", "allowance_value", "hold_last_load", "crew", "people", "method", "reach_m",
        "reinforcement", "screed", "carry_m", "rise_m", "barrow_m3", "carts", "line_m", "hose_moves",
        "pump_moves", "fibres", "slump_mm", "slope", "truck_sides", "trucks_on_base", "indoors", "base_c",
        "base_frozen", "blankets", "finishers", "finish", "power_trowels", "saw", "joint_spacing_m",
        "call_lead_min", "notes", "water_c", "aggregate_c", "ice_kg_m3", "test_cylinders", "promised_by",
        "spotter", "decorative",
    }
)  # fmt: skip


@transaction.atomic
def book_pour(
    *,
    job: Job,
    sections: Sequence[Columns],
    by: User,
    now: datetime,
    accept_clashes: bool = False,
    key: str = "",
    **fields: Any,
) -> Pour:
    """Book a pour, plan it, and make its order and reminders.

    `key` is of the page or program that books: the same key once more is a second press.

    Raises
    ------
    Refusal
        If it makes no sense, no plan can be made from it, or it was booked with that key already.
    Clashes
        If it clashes with something booked and `accept_clashes` is not said.
    """
    _require(by, Right.BOOK)
    company = one_at_a_time()
    _refuse_twice(key)
    pour = Pour(
        job=job,
        booked_by=by,
        booked_at=now,
        booking_key=key or None,
        allowance_value=company.allowance_percent,
    )
    _fill(pour, fields)
    _refuse_past(pour.starts_at, now)
    _keep_with_sections(pour, sections)
    record(pour, EventKind.BOOKED, by=by, now=now)
    _settle(pour, by, now, accept_clashes)
    return pour


@transaction.atomic
def change_pour(
    *,
    pour: Pour,
    version: int,
    by: User,
    now: datetime,
    accept_clashes: bool = False,
    sections: Sequence[Columns] | None = None,
    **fields: Any,
) -> Pour:
    """Change what a pour says; the caller names the version it read.

    Raises
    ------
    OutOfDate
        If somebody changed the pour since.
    Refusal, Clashes
        As for booking.
    """
    _require(by, Right.BOOK)
    pour = _changed(pour, version, fields, sections, by, now)
    _settle(pour, by, now, accept_clashes)
    notices.tell(pour=pour, now=now)
    return pour


@dataclass(frozen=True)
class Change:
    """What is to become of one pour, as its reader knew it."""

    pour: Pour
    version: int
    fields: dict[str, Any]


@transaction.atomic
def change_together(
    *, changes: Sequence[Change], by: User, now: datetime, accept_clashes: bool = False
) -> list[Pour]:
    """Change several pours as one: all of them or none, and only clashes that are left at the end count.

    Raises
    ------
    OutOfDate, Refusal, Clashes
        As for one.
    """
    _require(by, Right.BOOK)
    pours = [_changed(one.pour, one.version, one.fields, None, by, now) for one in changes]
    for pour in pours:
        planning.plan_pour(pour=pour, by=by, now=now)
    clashes = {clash.key: clash for pour in pours for clash in clashes_of(pour) if not clash.accepted}
    _weigh(list(clashes.values()), by, now, accept_clashes)
    for pour in pours:
        notices.tell(pour=pour, now=now)
    return pours


def _changed(
    pour: Pour,
    version: int,
    fields: dict[str, Any],
    sections: Sequence[Columns] | None,
    by: User,
    now: datetime,
) -> Pour:
    """The pour as it is kept with these changes, not yet planned."""
    pour = _take(pour, version)
    before = {name: getattr(pour, name) for name in fields}
    slab = told_slab(pour) if sections is not None else []
    _fill(pour, fields)
    if pour.starts_at != before.get("starts_at", pour.starts_at):
        _refuse_past(pour.starts_at, now)
    changed = sorted(name for name in fields if getattr(pour, name) != before[name])
    was, became = told(before, changed), told({name: getattr(pour, name) for name in changed}, changed)
    if sections is None:
        pour.save()
    else:
        papers.reopen_where_changed(pour=pour, sections=sections, by=by, now=now)
        _keep_with_sections(pour, sections)
        changed.append("sections")
        was["sections"], became["sections"] = slab, told_slab(pour)
    kind = EventKind.MOVED if changed == ["starts_at"] else EventKind.CHANGED
    starts_at = pour.starts_at.isoformat()
    record(pour, kind, by=by, now=now, fields=changed, starts_at=starts_at, was=was, became=became)
    return pour


def move_pour(
    *, pour: Pour, version: int, starts_at: datetime, by: User, now: datetime, accept_clashes: bool = False
) -> Pour:
    """Move a pour to another start; raises as `change_pour` does."""
    return change_pour(
        pour=pour, version=version, by=by, now=now, accept_clashes=accept_clashes, starts_at=starts_at
    )


@transaction.atomic
def hold_pour(*, pour: Pour, version: int, reason: str, by: User, now: datetime) -> Pour:
    """Put a booked pour on hold: its people are told not to go, its order cannot be confirmed."""
    return _turn(pour, version, (PourState.BOOKED,), PourState.ON_HOLD, EventKind.HELD, reason, by, now)


@transaction.atomic
def release_pour(*, pour: Pour, version: int, by: User, now: datetime) -> Pour:
    """Release a pour from hold."""
    return _turn(pour, version, (PourState.ON_HOLD,), PourState.BOOKED, EventKind.RELEASED, "", by, now)


@transaction.atomic
def cancel_pour(*, pour: Pour, version: int, reason: str, by: User, now: datetime) -> Pour:
    """Cancel a pour with its order and everything still due for it."""
    standing = (PourState.BOOKED, PourState.ON_HOLD)
    pour = _turn(pour, version, standing, PourState.CANCELLED, EventKind.CANCELLED, reason, by, now)
    ordering.cancel_standing(pour=pour, by=by, now=now)
    return pour


@transaction.atomic
def replan_pour(*, pour: Pour, version: int, by: User | None, now: datetime) -> Plan:
    """Plan a standing pour afresh, with the newest forecast; what it says stays, and so does its version.

    Who holds numbers that this changes is told. Without a person it is the clock that asks.
    """
    if by is not None:
        _require(by, Right.BOOK)
    kept = _kept(pour, version)
    if not kept.is_standing:
        raise Refusal(
            f"This pour is {kept.get_state_display()}.", code="pour_state", facts={"state": kept.state}
        )
    plan = planning.plan_pour(pour=kept, by=by, now=now)
    changes.tell(pour=kept, by=by, now=now)
    return plan


def _turn(
    pour: Pour,
    version: int,
    from_states: tuple[PourState, ...],
    to: PourState,
    event: EventKind,
    reason: str,
    by: User,
    now: datetime,
) -> Pour:
    _require(by, Right.BOOK)
    pour = _take(pour, version)
    if pour.state not in from_states:
        raise Refusal(
            f"This pour is {pour.get_state_display()}.", code="pour_state", facts={"state": pour.state}
        )
    pour.state = to
    pour.save()
    record(pour, event, by=by, now=now, reason=reason)
    if pour.plan:
        reminders.follow_plan(pour=pour, plan=pour.plan, now=now)
    notices.tell(pour=pour, now=now, reason=reason)
    return pour


def _require(by: User, right: Right) -> None:
    if not by.may(right):
        raise NotAllowed("Your role does not include this.", code="not_allowed")


def one_at_a_time() -> Company:
    """Hold the company's row, so that of two people who book at once the second sees the first's pour."""
    company = Company.objects.select_for_update().first()
    if company is None:
        raise Refusal("The company is not set up yet: add it in the admin first.", code="no_company")
    return company


def _take(pour: Pour, version: int) -> Pour:
    """The pour as it is kept now, its version raised; refused where the caller read an older one."""
    kept = _kept(pour, version)
    kept.version += 1
    return kept


def _kept(pour: Pour, version: int) -> Pour:
    one_at_a_time()
    kept = Pour.objects.select_related("job__site", "plant", "mix", "crew", "plan").get(pk=pour.pk)
    if kept.version != version:
        raise OutOfDate(
            "Somebody changed this pour since you read it.",
            code="out_of_date",
            field="version",
            facts={"version": kept.version},
        )
    return kept


def _fill(pour: Pour, fields: dict[str, Any]) -> None:
    unknown = sorted(fields.keys() - POUR_FIELDS)
    if unknown:
        raise TypeError(f"Not a thing a pour says: {', '.join(unknown)}")
    for name, value in fields.items():
        setattr(pour, name, value)
    if pour.mix.plant_id != pour.plant_id:
        raise Refusal(f"{pour.plant} does not sell {pour.mix.code}.", code="mix_of_other_plant", field="mix")
    if not pour.is_standing:
        raise Refusal(
            f"This pour is {pour.get_state_display()}.", code="pour_state", facts={"state": pour.state}
        )
    try:
        pour.clean_fields(exclude=["plan", "booked_by"])
    except ValidationError as wrong:
        field, messages = next(iter(wrong.message_dict.items()))
        raise Refusal(messages[0], code="invalid", field=field) from wrong
    _settle_spotter(pour, is_said="spotter" in fields)


def _settle_spotter(pour: Pour, *, is_said: bool) -> None:
    """Have the spotter be one of the crew, as far as its people are known; another crew's stays behind."""
    names = crew_names(pour.crew)
    if not pour.spotter or not names:
        return
    meant = named(pour.spotter, names)
    if meant is None and is_said:
        raise Refusal(
            f"No one person of {pour.crew} is called {pour.spotter}. There are: {', '.join(names)}.",
            code="spotter_not_of_crew",
            field="spotter",
        )
    pour.spotter = meant or ""


def _refuse_twice(key: str) -> None:
    """A second press comes here only once the first one's pour is kept: both hold the company's row."""
    if key and (kept := Pour.objects.filter(booking_key=key).first()):
        raise BookedAlready("This is booked already.", code="booked_already", facts={"pour": kept.pk})


def _refuse_past(starts_at: datetime, now: datetime) -> None:
    if starts_at < now:
        raise Refusal("That start is already past.", code="in_the_past", field="starts_at")


def _keep_with_sections(pour: Pour, sections: Sequence[Columns]) -> None:
    drafts = draft_sections(sections)
    with planning.refusing_bad_input():
        engine_sections(drafts)
    pour.save()
    keep_sections(pour, drafts)


def _settle(pour: Pour, by: User, now: datetime, accept_clashes: bool) -> None:
    planning.plan_pour(pour=pour, by=by, now=now)
    _weigh([clash for clash in clashes_of(pour) if not clash.accepted], by, now, accept_clashes, pour)
    # A site that is watched has its turn anyway; booking itself never waits for a weather service.
    if not ForecastWatch.objects.filter(site=pour.job.site_id).exists():
        nudge.nudge("scheduling.tasks.fetch_weather")


def _weigh(
    standing: list[PourClash], by: User, now: datetime, accept_clashes: bool, pour: Pour | None = None
) -> None:
    """Refuse what clashes unless somebody says yes to it, which is kept with the pour or the last one."""
    if standing and not accept_clashes:
        raise Clashes(
            "This clashes with what is booked.",
            code="clashes",
            facts={"clashes": standing},
        )
    if standing:
        _require(by, Right.ASSIGN)
    for clash in standing:
        _accept(pour or clash.pours[-1], [clash], by, now)
    nudge.nudge("scheduling.tasks.send_due_reminders")


def _accept(pour: Pour, clashes: list[PourClash], by: User, now: datetime) -> None:
    for clash in clashes:
        AcceptedClash.objects.get_or_create(
            key=clash.key, defaults={"pour": pour, "accepted_by": by, "accepted_at": now}
        )
        record(pour, EventKind.CLASH_ACCEPTED, by=by, now=now, key=clash.key)
