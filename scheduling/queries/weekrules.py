"""Every rule of the week that its pours break beside people booked twice, from kept plans."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from itertools import combinations
from typing import Any, TypeAlias
from zoneinfo import ZoneInfo

from scheduling.engine.conflicts import PEOPLE_SHORT, TWO_PLACINGS
from scheduling.engine.inputs import Method, PhaseKind, Window
from scheduling.engine.weekbook import Limits, Papers, WeekBook, Work
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.models import (
    STANDING_ORDER,
    Company,
    Crew,
    EquipmentKind,
    OrderState,
    Paper,
    PaperKind,
    Plan,
    PlanPhase,
    PlantOrder,
    Pour,
    Site,
)
from scheduling.queries.clashes import NOT_KEPT, clash_key, draft_phases, standing_phases
from scheduling.queries.week import office_zone
from scheduling.queries.weekhours import (
    crews_away,
    holiday_windows,
    plant_hours,
    roads_of,
    site_hours,
    units_between,
    workers_between,
)
from scheduling.queries.weekrows import SAWS, SCREEDS, leg_min, people_of

BOOKED_TWICE = (PEOPLE_SHORT, TWO_PLACINGS)
DAY = timedelta(days=1)
A_MOMENT = timedelta(seconds=1)  # the last load is batched at one
OWN_PUMPS = (Method.LINE_PUMP.value,)  # a boom pump comes with its operator

Loads: TypeAlias = Mapping[str, Sequence[Mapping[str, str | float]]]


@dataclass(frozen=True)
class BrokenRule:
    """A rule that pours break: who or what it is about, from when to when, and how bad.

    `needed` and `available` are in the unit of the code: machines, m³/h, minutes or hours.
    """

    severity: str
    code: str
    who: str
    pours: tuple[Pour, ...]
    kinds: tuple[str, ...]
    starts_at: datetime
    ends_at: datetime
    needed: float
    available: float
    key: str


@dataclass(frozen=True)
class KeptWeek:
    """A stretch of days as the engine looks at it, and the rows its names stand for."""

    book: WeekBook
    pours: Mapping[str, Pour]
    names: Mapping[str, str]


def broken_rules(start: datetime, end: datetime, now: datetime) -> list[BrokenRule]:
    """Every rule broken within [start, end), in order of time, but for people booked twice."""
    kept = kept_week(start - DAY, end + DAY)
    found = find_conflicts(kept.book, now)
    inside = (one for one in found if one.starts_at < end and one.ends_at > start)
    return [seen(one, kept) for one in inside if one.code not in BOOKED_TWICE]


def broken_by_draft(pour: Pour, result: Mapping[str, Any], now: datetime) -> list[BrokenRule]:
    """Every rule that a pour which is not kept would be part of breaking, were it booked with that plan."""
    if pour.crew is None or pour.job.site.pk is None or pour.plant.pk is None:
        return []
    phases = draft_phases(pour, result)
    start, end = min(one.starts_at for one in phases), max(one.ends_at for one in phases)
    kept = kept_week(start - DAY, end + DAY, phases)
    found = (one for one in find_conflicts(kept.book, now) if str(NOT_KEPT) in one.pours)
    return [seen(one, kept) for one in found if one.code not in BOOKED_TWICE]


def seen(conflict: Conflict, kept: KeptWeek) -> BrokenRule:
    involved = sorted((kept.pours[pk] for pk in conflict.pours), key=lambda one: (one.starts_at, one.pk))
    return BrokenRule(
        severity=conflict.severity.value,
        code=conflict.code,
        who=kept.names.get(conflict.who, conflict.who),
        pours=tuple(involved),
        kinds=tuple(kind.value for kind in conflict.kinds),
        starts_at=conflict.starts_at,
        ends_at=conflict.ends_at,
        needed=round(conflict.needed, 2),
        available=round(conflict.available, 2),
        key=clash_key(conflict, kept.pours),
    )


def kept_week(start: datetime, end: datetime, draft: Sequence[PlanPhase] = ()) -> KeptWeek:
    """All standing pours that touch the stretch, and one in draft, with what there is to place them with."""
    rows = standing_phases(start, end).select_related("plan__pour__plant", "plan__pour__mix")
    kept = rows.defer("plan__inputs", "plan__result").prefetch_related(
        "plan__pour__plant__hours",
        "plan__pour__plant__closures",
        "plan__pour__plant__openings",
        "plan__pour__job__site__hours",
    )
    phases = [*kept.order_by("starts_at", "id"), *draft]
    pours = {str(phase.plan.pour_id): phase.plan.pour for phase in phases}
    for phase in phases:
        pours[str(phase.plan.pour_id)].plan = phase.plan
    crews = list(Crew.objects.filter(active=True))
    known = {crew.pk for crew in crews}
    others = {pour.crew.pk: pour.crew for pour in pours.values() if pour.crew}
    crews += [crew for pk, crew in others.items() if pk not in known]
    book = _book(start, end, phases, pours, crews)
    names = {str(crew.pk): crew.name for crew in crews}
    names |= {f"plant {pour.plant_id}": pour.plant.name for pour in pours.values()}
    names |= {f"site {pour.job.site_id}": pour.job.site.name for pour in pours.values()}
    return KeptWeek(book, pours, {**names, **dict(EquipmentKind.choices)})


def _book(
    start: datetime,
    end: datetime,
    phases: Sequence[PlanPhase],
    pours: Mapping[str, Pour],
    crews: Sequence[Crew],
) -> WeekBook:
    company = Company.objects.first() or Company()
    sites = {pour.job.site_id: pour.job.site for pour in pours.values()}
    plants = {pour.plant_id: pour.plant for pour in pours.values()}
    loads = loads_of(pours.values())
    units = units_between(start, end)
    kinds = {unit.kind for unit in units}
    return WeekBook(
        work=tuple(work_of(phase, phase.plan.pour, loads, kinds) for phase in phases),
        people={str(pk): count for pk, count in _people(crews, phases).items()},
        zone=office_zone(),
        workers=workers_between(start, end),
        crews_away=crews_away(start, end),
        units=units,
        plants=tuple(plant_hours(plant, company, start, end) for plant in plants.values()),
        sites=tuple(site_hours(site, company, start, end) for site in sites.values()),
        roads=tuple(roads_of(pours.values())),
        papers=tuple(_papers(pours)),
        holidays=holiday_windows(company, start, end, office_zone()),
        limits=Limits(company.longest_day_h, company.least_rest_h),
        legs_min=_legs(sites.values()),
    )


def rules_for(pour: Pour, start: datetime, end: datetime) -> WeekBook:
    """What binds a pour whoever else is booked: the hours of its site and plant, and its road."""
    company = Company.objects.first() or Company()
    return WeekBook(
        work=(),
        people={},
        zone=office_zone(),
        plants=(plant_hours(pour.plant, company, start, end),),
        sites=(site_hours(pour.job.site, company, start, end),),
        roads=tuple(roads_of([pour])),
    )


def loads_of(pours: Iterable[Pour]) -> Loads:
    """What each pour's plan has batched when, as it is kept; a draft tells its own."""
    plans = {pour.plan.pk: str(pour.pk) for pour in pours if pour.plan and pour.plan.pk}
    kept = Plan.objects.filter(pk__in=plans).values_list("pk", "result__delivery__loads")
    drafts = {
        str(pour.pk): pour.plan.result["delivery"]["loads"]
        for pour in pours
        if pour.plan and not pour.plan.pk
    }
    return {plans[pk]: loads or () for pk, loads in kept} | drafts


def work_of(phase: PlanPhase, pour: Pour, loads: Loads, kinds: Iterable[str]) -> Work:
    """One phase of a pour with the machines it holds, of kinds that are kept."""
    kind = PhaseKind(phase.kind)
    placing = kind is PhaseKind.PLACE
    hours = (phase.ends_at - phase.starts_at) / timedelta(hours=1)
    ours = loads.get(str(pour.pk), ()) if placing else ()
    batched = [datetime.fromisoformat(str(load["batch_at"])) for load in ours]
    return Work(
        pour=str(pour.pk),
        crew=str(pour.crew_id),
        kind=kind,
        starts_at=phase.starts_at,
        ends_at=phase.ends_at,
        people=phase.people,
        site=f"site {pour.job.site_id}",
        skills=skills_of(pour, kind),
        gear=tuple((name, count) for name, count in gear_of(pour, kind) if name in kinds),
        plant=f"plant {pour.plant_id}" if placing else None,
        rate_m3_h=sum(float(load["m3"]) for load in ours) / hours,
        batches=Window(batched[0], batched[-1] + A_MOMENT) if batched else None,
        heaviest_load_m3=max((float(load["m3"]) for load in ours), default=None),
        indoors=pour.indoors,
        concrete_at=pour.starts_at if placing else None,
    )


def skills_of(pour: Pour, kind: PhaseKind) -> tuple[str, ...]:
    """What somebody of those at work must be able to do."""
    if kind is PhaseKind.PLACE:
        return ("pumps",) if pour.method in OWN_PUMPS else ()
    return {PhaseKind.FINISH: ("finishes",), PhaseKind.CUT: ("saws",)}.get(kind, ())


def gear_of(pour: Pour, kind: PhaseKind) -> list[tuple[str, int]]:
    """The machines that a kind of work holds, so many of each."""
    wanted = {
        PhaseKind.PLACE: (SCREEDS.get(pour.screed), 1),
        PhaseKind.FINISH: (EquipmentKind.WALK_BEHIND_TROWEL, pour.power_trowels),
        PhaseKind.CUT: (SAWS.get(pour.saw), 1),
    }
    name, count = wanted.get(kind, (None, 0))
    return [(name.value, count)] if name and count else []


def _people(crews: Sequence[Crew], phases: Iterable[PlanPhase]) -> dict[int, int]:
    """How many people each crew has; one whose people are not listed has what its largest phase asks."""
    asked: dict[int, int] = {}
    for phase in phases:
        crew = phase.plan.pour.crew_id or 0
        asked[crew] = max(asked.get(crew, 1), phase.people)
    return people_of(crews, asked)


def _papers(pours: Mapping[str, Pour]) -> Iterable[Papers]:
    """What must be in hand for each pour: its order, its forms, its inspection, and what was promised."""
    orders = PlantOrder.objects.filter(pour__in=pours.values(), state__in=STANDING_ORDER)
    by_pour = {str(order.pour_id): order for order in orders}
    asked: dict[str, dict[str, bool]] = {}
    for paper in Paper.objects.filter(pour__in=[pour.pk for pour in pours.values()]):
        asked.setdefault(str(paper.pour_id), {})[paper.kind] = not paper.is_open
    for name, pour in pours.items():
        order, papers = by_pour.get(name), asked.get(name, {})
        yield Papers(
            name,
            ordered=order is None or order.state != OrderState.TO_CALL,
            call_by_at=order.order_by if order else None,
            released=papers.get(PaperKind.FORMS, True),
            inspected=papers.get(PaperKind.INSPECTION),
            promised_at=promised_at(pour),
        )


def promised_at(pour: Pour) -> datetime | None:
    """The end, on the site's clock, of the last day that was promised."""
    if pour.promised_by is None:
        return None
    return datetime.combine(pour.promised_by + DAY, time(), ZoneInfo(pour.job.site.time_zone)).astimezone(UTC)


def _legs(sites: Iterable[Site]) -> dict[tuple[str, str], float]:
    known = [site for site in sites if site.latitude is not None and site.longitude is not None]
    return {
        (f"site {one.pk}", f"site {other.pk}"): leg_min(one, other) for one, other in combinations(known, 2)
    }
