"""Troubles of a pour under way that somebody must say they have seen; untold of, they are passed on."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from scheduling.engine.inputs import Finding, Severity
from scheduling.errors import NotAllowed, OutOfDate
from scheduling.models import Alarm, MessageKind, Plant, Pour, User
from scheduling.roles import Right, Role
from scheduling.services import outbox
from scheduling.texting import dispatch

SEEN_WITHIN = timedelta(minutes=5)  # our choice
TOLD_USEFUL = timedelta(minutes=45)
ALWAYS = frozenset({"truck_missing", "gap_growing"})  # beside whatever stops a pour


def key_of(code: str, facts: Mapping[str, Any]) -> str:
    """What tells one trouble from the next of its kind."""
    return f"{code}-{facts.get('load', '')}"


def is_alarming(finding: Finding) -> bool:
    return finding.severity is Severity.STOP or finding.code in ALWAYS


def keep(*, pour: Pour, findings: Iterable[Finding], now: datetime) -> list[tuple[Alarm, Finding]]:
    """The alarms that stand now, each kept from when it was first raised."""
    return [
        (
            Alarm.objects.get_or_create(
                pour=pour, key=key_of(one.code, one.facts), defaults=_columns(one, now)
            )[0],
            one,
        )
        for one in findings
        if is_alarming(one)
    ]


def _columns(finding: Finding, now: datetime) -> dict[str, object]:
    return {"code": finding.code, "raised_at": now}


def acknowledge(*, alarm: Alarm, by: User, now: datetime) -> None:
    """Somebody has seen it and sees to it; of two people at once the second is told.

    Raises
    ------
    NotAllowed
        For those who note nothing on site.
    OutOfDate
        Where somebody was first.
    """
    if not by.may(Right.NOTE_DAY):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    open_still = Alarm.objects.filter(pk=alarm.pk, acknowledged_at__isnull=True)
    if open_still.update(acknowledged_at=now, acknowledged_by=by) != 1:
        raise OutOfDate("Somebody sees to this already.", code="acknowledged")


def pass_on(*, pour: Pour, alarm: Alarm, said: str, now: datetime) -> int:
    """Tell others of an alarm that nobody has seen within five minutes; how many texts are new."""
    if alarm.passed_on_at or not is_unseen(alarm, now):
        return 0
    if Alarm.objects.filter(pk=alarm.pk, passed_on_at__isnull=True).update(passed_on_at=now) != 1:
        return 0
    body = partial(dispatch.passed_on_text, said, backup_plants(pour))
    return sum(
        outbox.tell(
            person=person,
            body=body,
            key=f"alarm:{alarm.pk}:{person.pk}",
            kind=MessageKind.DISPATCH,
            now=now,
            useful_until=now + TOLD_USEFUL,
            pours=[pour],
        )
        for person in _others(pour)
    )


def _others(pour: Pour) -> list[User]:
    """Dispatch once more, the office, and the crew's lead."""
    reachable = User.objects.filter(is_active=True).exclude(phone="")
    planners = list(reachable.filter(role__in=(Role.DISPATCHER, Role.OFFICE)).order_by("pk"))
    lead = pour.crew.lead if pour.crew else None
    return [*planners, lead] if lead and lead.phone and lead not in planners else planners


def backup_plants(pour: Pour) -> list[tuple[str, str, int]]:
    """Other plants that can be phoned: name, number, and minutes from the call to the site at the least."""
    others = (
        Plant.objects.filter(active=True)
        .exclude(pk=pour.plant_id)
        .exclude(phone="")
        .order_by("usual_haul_min", "pk")
    )
    return [
        (plant.name, str(plant.phone), round(plant.loading_min + plant.usual_haul_min)) for plant in others
    ]


def alarms_of(pours: Sequence[Pour]) -> dict[int, dict[str, Alarm]]:
    """Every alarm that was raised, by pour and key, in one reading."""
    kept = Alarm.objects.filter(pour__in=[pour.pk for pour in pours]).select_related("acknowledged_by")
    of_pours: dict[int, dict[str, Alarm]] = {}
    for alarm in kept.order_by("raised_at", "pk"):
        of_pours.setdefault(alarm.pour_id, {})[alarm.key] = alarm
    return of_pours


def standing(pour: Pour, findings: Iterable[Mapping[str, Any]]) -> list[tuple[Alarm, Mapping[str, Any]]]:
    """The alarms whose trouble stands now, each with the JSON of its finding, the gravest first."""
    raised = alarms_of([pour]).get(pour.pk, {})
    keyed = ((raised.get(key_of(one["code"], one["facts"])), one) for one in findings)
    return [(alarm, one) for alarm, one in keyed if alarm is not None]


def is_unseen(alarm: Alarm, now: datetime) -> bool:
    """Whether nobody took it within the time that others are told after."""
    return alarm.acknowledged_at is None and now - alarm.raised_at >= SEEN_WITHIN
