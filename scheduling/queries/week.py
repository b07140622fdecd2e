"""The week as the dispatcher looks at it: days, crews, pours and clashes, in a handful of queries."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from scheduling.models import (
    STANDING,
    STANDING_ORDER,
    Company,
    Crew,
    EventKind,
    Plant,
    PlantOrder,
    Pour,
    PourEvent,
    PourState,
    User,
)
from scheduling.queries.clashes import PourClash, clashes_between
from scheduling.queries.visible import pours_for
from scheduling.roles import Right

# What a person does to a pour that another must know of.
TOLD_OF = (EventKind.CHANGED, EventKind.MOVED, EventKind.HELD, EventKind.RELEASED, EventKind.CANCELLED)


@dataclass(frozen=True)
class Only:
    """What of the week is looked at: a crew's pours, or a plant's; None for all."""

    crew: int | None = None
    plant: int | None = None

    def holds(self, pour: Pour) -> bool:
        return self.crew in (None, pour.crew_id) and self.plant in (None, pour.plant_id)


EVERYTHING = Only()


@dataclass(frozen=True)
class DayColumn:
    on: date
    pours: tuple[Pour, ...]  # each with `.standing_orders` at hand


@dataclass(frozen=True)
class CrewRow:
    crew: Crew | None
    days: tuple[DayColumn, ...]


@dataclass(frozen=True)
class WeekView:
    monday: date
    zone: ZoneInfo
    days: tuple[date, ...]
    rows: tuple[CrewRow, ...]
    clashes: tuple[PourClash, ...]
    crews: tuple[Crew, ...]  # that may be asked for, whatever is looked at
    plants: tuple[Plant, ...]

    @property
    def pours(self) -> list[Pour]:
        """Every pour of the week in order of time."""
        found = [pour for row in self.rows for day in row.days for pour in day.pours]
        return sorted(found, key=lambda pour: (pour.starts_at, pour.pk))

    @property
    def before(self) -> date:
        return self.monday - timedelta(days=7)

    @property
    def after(self) -> date:
        return self.monday + timedelta(days=7)


def office_zone() -> ZoneInfo:
    """The zone of the office, whose calendar the week page shows."""
    company = Company.objects.first()
    return ZoneInfo(company.time_zone if company else "UTC")


def week_span(monday: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """From midnight on Monday up to midnight a week later, in the office's zone."""
    return datetime.combine(monday, time(), zone), datetime.combine(monday + timedelta(days=7), time(), zone)


def week_view(user: User, day: date, only: Only = EVERYTHING, company: Company | None = None) -> WeekView:
    """The week that holds `day`, with the rows this person may see."""
    zone = ZoneInfo(company.time_zone) if company else office_zone()
    monday = day - timedelta(days=day.weekday())
    start, end = week_span(monday, zone)
    days = tuple(monday + timedelta(days=n) for n in range(7))
    # A site's midnight may be hours from the office's: look a day wider, then keep by the site's calendar.
    around = _pours_between(user, start - timedelta(days=1), end + timedelta(days=1))
    whole = [pour for pour in around if local_day(pour) in days]
    pours = [pour for pour in whole if only.holds(pour)]
    crews = _crews(user, whole)
    shown: list[Crew | None] = [crew for crew in crews if only.crew in (None, crew.pk)]
    if any(pour.crew is None for pour in pours):
        shown.append(None)
    clashes = clashes_between(start, end) if user.may(Right.SEE_ALL_POURS) else []
    return WeekView(
        monday,
        zone,
        days,
        rows=tuple(_row(crew, pours, days) for crew in shown),
        clashes=tuple(one for one in clashes if any(only.holds(pour) for pour in one.pours)),
        crews=tuple(crews),
        plants=tuple(sorted({pour.plant for pour in whole}, key=lambda plant: (plant.name, plant.pk))),
    )


def _pours_between(user: User, start: datetime, end: datetime) -> list[Pour]:
    standing = Prefetch(
        "orders", PlantOrder.objects.filter(state__in=STANDING_ORDER), to_attr="standing_orders"
    )
    return list(
        pours_for(user)
        .filter(starts_at__gte=start, starts_at__lt=end)
        .exclude(state=PourState.CANCELLED)
        .defer("plan__inputs")
        .prefetch_related(standing)
        .order_by("starts_at", "id")
    )


def _crews(user: User, pours: list[Pour]) -> list[Crew]:
    if not user.may(Right.SEE_ALL_POURS):
        return sorted({pour.crew for pour in pours if pour.crew}, key=lambda crew: crew.name)
    active = list(Crew.objects.filter(active=True).select_related("lead"))
    # A crew that works no more keeps its row for as long as it has pours.
    left = {pour.crew for pour in pours if pour.crew} - set(active)
    return active + sorted(left, key=lambda crew: crew.name)


def _row(crew: Crew | None, pours: list[Pour], days: tuple[date, ...]) -> CrewRow:
    mine = [pour for pour in pours if pour.crew == crew]
    columns = (DayColumn(day, tuple(p for p in mine if local_day(p) == day)) for day in days)
    return CrewRow(crew, tuple(columns))


def local_day(pour: Pour) -> date:
    """The calendar day of the pour where it is placed."""
    return pour.starts_at.astimezone(ZoneInfo(pour.job.site.time_zone)).date()


def nearest_pour(user: User, moment: datetime) -> Pour | None:
    """The next standing pour from that moment on; else the last one before it."""
    standing = pours_for(user).filter(state__in=STANDING).defer("plan__inputs", "plan__result")
    after = standing.filter(starts_at__gte=moment).order_by("starts_at", "pk").first()
    return after or standing.filter(starts_at__lt=moment).order_by("-starts_at", "-pk").first()


def last_change(pour: Pour) -> PourEvent | None:
    """What somebody did to the pour last."""
    told = pour.events.filter(kind__in=TOLD_OF).select_related("by")
    return told.order_by("-at", "-pk").first()
