"""The rows a week is proposed from: its pours, who and what there is, and the ways between its sites."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import combinations
from math import asin, ceil, cos, radians, sin, sqrt
from zoneinfo import ZoneInfo

from django.db.models import Count, Q, QuerySet

from scheduling.engine.inputs import PhaseKind, SawType, Screed
from scheduling.engine.weekproblem import SLOT_MIN, Need, Pool
from scheduling.models import (
    STANDING,
    Absence,
    Crew,
    EquipmentKind,
    EquipmentUnit,
    OrderState,
    Pour,
    PourState,
    Site,
    Worker,
)
from scheduling.queries.week import office_zone, week_span
from scheduling.queries.weekhours import SKILLS

AROUND = timedelta(days=2)  # a slab of the days before may still be cut in this week
EARTH_KM = 6371.0
DETOUR = 1.3  # the road against the straight line: our choice
ROAD_KM_H = 45.0  # our choice
MOVE_SLOTS = 2  # to clean, load and set up a machine elsewhere: our choice

SAWS = {
    SawType.CONVENTIONAL.value: EquipmentKind.SAW,
    SawType.EARLY_ENTRY.value: EquipmentKind.EARLY_ENTRY_SAW,
}
SCREEDS = {
    Screed.VIBRATING.value: EquipmentKind.VIBRATING_SCREED,
    Screed.LASER.value: EquipmentKind.LASER_SCREED,
}


@dataclass(frozen=True)
class Away:
    """So many people of a crew on leave."""

    starts_at: datetime
    ends_at: datetime
    people: int


@dataclass(frozen=True)
class WeekRows:
    """Standing pours that touch a week, in order of time; `people` is how many each crew has."""

    monday: date
    zone: ZoneInfo
    start: datetime
    end: datetime
    pours: tuple[Pour, ...]
    crews: tuple[Crew, ...]
    people: Mapping[int, int]
    pools: tuple[Pool, ...]
    away: Mapping[int, tuple[Away, ...]]
    skills: Mapping[int, frozenset[str]]

    @property
    def of_week(self) -> tuple[Pour, ...]:
        """Those that are placed within the week."""
        return tuple(pour for pour in self.pours if self.start <= pour.starts_at < self.end)


def week_rows(monday: date) -> WeekRows:
    """What the week of that Monday is proposed from."""
    zone = office_zone()
    start, end = week_span(monday, zone)
    near = pours_to_plan().filter(placed_within(start - AROUND, end + AROUND))
    pours = tuple(near.order_by("starts_at", "id"))
    crews = tuple(
        Crew.objects.filter(Q(active=True) | Q(pk__in=[pour.crew_id for pour in pours])).order_by("pk")
    )
    people = people_of(crews, most_asked(pours))
    away = people_away(start - AROUND, end + AROUND, people)
    pools, skills = equipment_pools(), skills_of_crews()
    return WeekRows(monday, zone, start, end, pours, crews, people, pools, away, skills)


def placed_within(start: datetime, end: datetime) -> Q:
    """Standing pours with a crew and a plan that start in the stretch."""
    span = Q(starts_at__gte=start, starts_at__lt=end)
    return span & Q(state__in=STANDING, crew__isnull=False, plan__isnull=False)


def skills_of_crews() -> dict[int, frozenset[str]]:
    """What somebody of each crew can do."""
    found: dict[int, frozenset[str]] = {}
    for one in Worker.objects.filter(active=True, crew__isnull=False):
        can = frozenset(skill for skill in SKILLS if getattr(one, skill))
        found[one.crew_id or 0] = found.get(one.crew_id or 0, frozenset()) | can
    return found


def pours_to_plan() -> QuerySet[Pour]:
    """Pours with what their starts are planned from."""
    return Pour.objects.select_related("job__site", "plant", "mix", "crew", "plan").prefetch_related(
        "plan__phases",
        "plant__hours",
        "plant__closures",
        "plant__openings",
        "plant__fees",
        "job__site__hours",
        "orders__plant",
    )


def people_away(start: datetime, end: datetime, people: Mapping[int, int]) -> dict[int, tuple[Away, ...]]:
    """Who of each crew is on leave: one person each, or all of them where the crew is away."""
    found: dict[int, list[Away]] = {}
    rows = Absence.objects.filter(starts_at__lt=end, ends_at__gt=start, unit__isnull=True)
    for row in rows.select_related("worker").order_by("starts_at", "id"):
        crew = row.crew_id or (row.worker.crew_id if row.worker and row.worker.active else None)
        if crew is not None and crew in people:
            count = people[crew] if row.crew_id else 1
            found.setdefault(crew, []).append(Away(row.starts_at, row.ends_at, count))
    return {crew: tuple(rows) for crew, rows in found.items()}


def people_of(crews: Iterable[Crew], asked: Mapping[int, int]) -> dict[int, int]:
    """How many people each crew has; one whose people are not listed has the most that is asked of it."""
    crews = list(crews)
    active = Count("workers", filter=Q(workers__active=True))
    rows = Crew.objects.filter(pk__in=[crew.pk for crew in crews]).annotate(n=active)
    listed = dict(rows.values_list("pk", "n"))
    return {crew.pk: listed[crew.pk] or asked.get(crew.pk, 1) for crew in crews}


def most_asked(pours: Iterable[Pour]) -> dict[int, int]:
    """The most people that any phase of the pours asks of each crew."""
    asked: dict[int, int] = {}
    for pour in pours:
        for phase in pour.plan.phases.all() if pour.plan else ():
            crew = pour.crew_id or 0
            asked[crew] = max(asked.get(crew, 1), phase.people)
    return asked


def equipment_pools() -> tuple[Pool, ...]:
    """The machines in service by kind; of a kind nobody entered, nobody knows how many there are."""
    names: dict[str, list[str]] = {}
    for unit in EquipmentUnit.objects.filter(in_service=True).order_by("kind", "name"):
        names.setdefault(unit.kind, []).append(unit.name)
    return tuple(Pool(kind, tuple(units), MOVE_SLOTS) for kind, units in names.items())


def needs_of(pour: Pour, pools: Iterable[Pool]) -> tuple[Need, ...]:
    """The machines a pour holds, of the kinds that are kept; never more than there are of one."""
    have = {pool.name: len(pool.units) for pool in pools}
    wanted = [
        (SCREEDS.get(pour.screed), PhaseKind.PLACE, 1),
        (EquipmentKind.WALK_BEHIND_TROWEL, PhaseKind.FINISH, pour.power_trowels),
        (SAWS.get(pour.saw), PhaseKind.CUT, 1),
    ]
    return tuple(
        Need(kind.value, phase, min(count, have[kind.value]))
        for kind, phase, count in wanted
        if kind is not None and count and kind.value in have
    )


def stays_why(pour: Pour, rows: WeekRows, now: datetime) -> str:
    """Why a pour is not moved by a proposal; empty for one that may be."""
    if not rows.start <= pour.starts_at < rows.end:
        return "other_week"
    if (pour.plan.call_at if pour.plan else pour.starts_at) <= now:
        return "begun"
    if pour.state == PourState.ON_HOLD:
        return "on_hold"
    if pour.orders.filter(state=OrderState.CONFIRMED).exists():
        return "confirmed"
    return ""


def legs_between(sites: Iterable[Site]) -> dict[tuple[str, str], int]:
    """Slots from each site to each other, where both are known to be somewhere."""
    known = [site for site in sites if site.latitude is not None and site.longitude is not None]
    return {
        (str(one.pk), str(other.pk)): ceil(leg_min(one, other) / SLOT_MIN)
        for one, other in combinations(known, 2)
    }


def leg_min(one: Site, other: Site) -> float:
    """Minutes by road between two sites, guessed from the straight line."""
    lat1, lat2 = radians(one.latitude or 0.0), radians(other.latitude or 0.0)
    across = radians((other.longitude or 0.0) - (one.longitude or 0.0))
    half = sin((lat2 - lat1) / 2) ** 2 + cos(lat1) * cos(lat2) * sin(across / 2) ** 2
    return 2 * EARTH_KM * asin(sqrt(half)) * DETOUR / ROAD_KM_H * 60
