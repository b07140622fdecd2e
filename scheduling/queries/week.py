"""The week as the dispatcher looks at it: days, crews, pours and clashes, in a handful of queries."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from scheduling.models import (
    STANDING_ORDER,
    Company,
    Crew,
    PlantOrder,
    Pour,
    PourState,
    User,
)
from scheduling.queries.clashes import PourClash, clashes_between
from scheduling.queries.visible import pours_for
from scheduling.roles import Right


@dataclass(frozen=True)
class DayColumn:
    on: date
    pours: tuple[Pour, ...]  # each with `.standing_orders` and its plan's phases at hand


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


def week_view(user: User, day: date) -> WeekView:
    """The week that holds `day`, with the rows this person may see."""
    zone = office_zone()
    monday = day - timedelta(days=day.weekday())
    start, end = week_span(monday, zone)
    days = tuple(monday + timedelta(days=n) for n in range(7))
    # A site's midnight may be hours from the office's: look a day wider, then keep by the site's calendar.
    around = _pours_between(user, start - timedelta(days=1), end + timedelta(days=1))
    pours = [pour for pour in around if local_day(pour) in days]
    crews: list[Crew | None] = list(_crews(user, pours))
    if any(pour.crew is None for pour in pours):
        crews.append(None)
    rows = tuple(_row(crew, pours, days) for crew in crews)
    clashes = clashes_between(start, end) if user.may(Right.SEE_ALL_POURS) else []
    return WeekView(monday, zone, days, rows, tuple(clashes))


def _pours_between(user: User, start: datetime, end: datetime) -> list[Pour]:
    standing = Prefetch(
        "orders", PlantOrder.objects.filter(state__in=STANDING_ORDER), to_attr="standing_orders"
    )
    return list(
        pours_for(user)
        .filter(starts_at__gte=start, starts_at__lt=end)
        .exclude(state=PourState.CANCELLED)
        .prefetch_related(standing, "plan__phases")
        .order_by("starts_at", "id")
    )


def _crews(user: User, pours: list[Pour]) -> list[Crew]:
    if user.may(Right.SEE_ALL_POURS):
        return list(Crew.objects.filter(active=True).select_related("lead"))
    return sorted({pour.crew for pour in pours if pour.crew}, key=lambda crew: crew.name)


def _row(crew: Crew | None, pours: list[Pour], days: tuple[date, ...]) -> CrewRow:
    mine = [pour for pour in pours if pour.crew == crew]
    columns = (DayColumn(day, tuple(p for p in mine if local_day(p) == day)) for day in days)
    return CrewRow(crew, tuple(columns))


def local_day(pour: Pour) -> date:
    """The calendar day of the pour where it is placed."""
    return pour.starts_at.astimezone(ZoneInfo(pour.job.site.time_zone)).date()
