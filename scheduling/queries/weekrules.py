"""Every rule of the week that its pours break beside people booked twice, from kept plans."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations
from zoneinfo import ZoneInfo

from scheduling import bridge
from scheduling.engine.conflicts import PEOPLE_SHORT, TWO_PLACINGS
from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekbook import Papers, PlantHours, SiteHours, Unit, WeekBook, Work
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.models import (
    STANDING_ORDER,
    Crew,
    EquipmentKind,
    EquipmentUnit,
    OrderState,
    PlanPhase,
    PlantOrder,
    Pour,
    Site,
)
from scheduling.queries.clashes import clash_key, standing_phases
from scheduling.queries.week import office_zone
from scheduling.queries.weekrows import SAWS, SCREEDS, leg_min, people_of

BOOKED_TWICE = (PEOPLE_SHORT, TWO_PLACINGS)
DAY = timedelta(days=1)


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


def kept_week(start: datetime, end: datetime) -> KeptWeek:
    """All standing pours that touch the stretch, with what there is to place them with."""
    rows = standing_phases(start, end).select_related("plan__pour__plant")
    phases = list(rows.defer("plan__inputs", "plan__result").order_by("starts_at", "id"))
    pours = {str(phase.plan.pour_id): phase.plan.pour for phase in phases}
    for phase in phases:
        pours[str(phase.plan.pour_id)].plan = phase.plan
    crews = list(Crew.objects.filter(active=True))
    known = {crew.pk for crew in crews}
    others = {pour.crew.pk: pour.crew for pour in pours.values() if pour.crew}
    crews += [crew for pk, crew in others.items() if pk not in known]
    sites = {pour.job.site_id: pour.job.site for pour in pours.values()}
    units = list(EquipmentUnit.objects.filter(in_service=True))
    kinds = {unit.kind for unit in units}
    plants = {pour.plant_id: pour.plant for pour in pours.values()}
    book = WeekBook(
        work=tuple(work_of(phase, phase.plan.pour, phase.plan.order_m3, kinds) for phase in phases),
        people={str(pk): count for pk, count in _people(crews, phases).items()},
        zone=office_zone(),
        units=tuple(Unit(unit.name, unit.kind) for unit in units),
        plants=tuple(PlantHours(f"plant {pk}", plant.rate_m3_h) for pk, plant in plants.items()),
        sites=tuple(_site_hours(site, start, end) for site in sites.values()),
        papers=tuple(_papers(pours)),
        legs_min=_legs(sites.values()),
    )
    names = {str(crew.pk): crew.name for crew in crews}
    names |= {f"plant {pk}": plant.name for pk, plant in plants.items()}
    names |= {f"site {pk}": site.name for pk, site in sites.items()}
    return KeptWeek(book, pours, {**names, **dict(EquipmentKind.choices)})


def work_of(phase: PlanPhase, pour: Pour, order_m3: float, kinds: Iterable[str]) -> Work:
    """One phase of a pour with the machines it holds, of kinds that are kept."""
    kind = PhaseKind(phase.kind)
    placing = kind is PhaseKind.PLACE
    hours = (phase.ends_at - phase.starts_at) / timedelta(hours=1)
    return Work(
        pour=str(pour.pk),
        crew=str(pour.crew_id),
        kind=kind,
        starts_at=phase.starts_at,
        ends_at=phase.ends_at,
        people=phase.people,
        site=f"site {pour.job.site_id}",
        gear=tuple((name, count) for name, count in gear_of(pour, kind) if name in kinds),
        plant=f"plant {pour.plant_id}" if placing else None,
        rate_m3_h=order_m3 / hours if placing else 0.0,
    )


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


def _site_hours(site: Site, start: datetime, end: datetime) -> SiteHours:
    zone = ZoneInfo(site.time_zone)
    first = start.astimezone(zone).date()
    days = (end - start).days + 2
    windows = {window for n in range(0, days, 2) for window in bridge.loud_windows(site, first + n * DAY)}
    loud = tuple(sorted(windows, key=lambda window: window.opens_at))
    return SiteHours(f"site {site.pk}", loud=loud or None)


def _papers(pours: Mapping[str, Pour]) -> Iterable[Papers]:
    """By when each pour's order must be called in, and whether it is."""
    orders = PlantOrder.objects.filter(pour__in=pours.values(), state__in=STANDING_ORDER)
    for order in orders:
        called = order.state != OrderState.TO_CALL
        yield Papers(str(order.pour_id), ordered=called, call_by_at=order.order_by)


def _legs(sites: Iterable[Site]) -> dict[tuple[str, str], float]:
    known = [site for site in sites if site.latitude is not None and site.longitude is not None]
    return {
        (f"site {one.pk}", f"site {other.pk}"): leg_min(one, other) for one, other in combinations(known, 2)
    }
