"""When people, machines, plants and sites of a week are there, as the engine asks for it.

What nobody entered is unknown and limits nothing.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from scheduling import bridge
from scheduling.engine.daylight import daylight
from scheduling.engine.inputs import Window
from scheduling.engine.weekbook import PlantHours, RoadSeason, SiteHours, Unit, Worker
from scheduling.models import Absence, Company, EquipmentUnit, Plant, Pour, Site, SiteHoursKind
from scheduling.models import RoadSeason as KeptSeason
from scheduling.models import Worker as Person
from scheduling.queries.holidays import holiday_name, holidays_between

DAY = timedelta(days=1)
SKILLS = ("places", "finishes", "saws", "pumps", "drives")


def absences_between(start: datetime, end: datetime) -> QuerySet[Absence]:
    return Absence.objects.filter(starts_at__lt=end, ends_at__gt=start).order_by("starts_at", "id")


def _away(rows: Iterable[Absence]) -> tuple[Window, ...]:
    """Each stretch of being away once, however often it was entered."""
    found: list[Window] = []
    for row in sorted(rows, key=lambda row: row.starts_at):
        if found and row.starts_at <= found[-1].closes_at:
            found[-1] = Window(found[-1].opens_at, max(found[-1].closes_at, row.ends_at))
        else:
            found.append(Window(row.starts_at, row.ends_at))
    return tuple(found)


def workers_between(start: datetime, end: datetime) -> tuple[Worker, ...]:
    """Everybody who works with a crew: what they can do, and when they are away."""
    rows = list(absences_between(start, end).filter(worker__isnull=False))
    return tuple(
        Worker(
            f"worker {one.pk}",
            tuple(skill for skill in SKILLS if getattr(one, skill)),
            _away(row for row in rows if row.worker_id == one.pk),
            str(one.crew_id),
        )
        for one in Person.objects.filter(active=True, crew__isnull=False).order_by("pk")
    )


def crews_away(start: datetime, end: datetime) -> dict[str, tuple[Window, ...]]:
    rows = list(absences_between(start, end).filter(crew__isnull=False))
    return {str(pk): _away(row for row in rows if row.crew_id == pk) for pk in {row.crew_id for row in rows}}


def units_between(start: datetime, end: datetime) -> tuple[Unit, ...]:
    """The machines in service, and when one of them is away."""
    rows = list(absences_between(start, end).filter(unit__isnull=False))
    units = EquipmentUnit.objects.filter(in_service=True)
    return tuple(
        Unit(unit.name, unit.kind, _away(row for row in rows if row.unit_id == unit.pk)) for unit in units
    )


def day_window(day: date, zone: ZoneInfo) -> Window:
    opens, closes = (datetime.combine(on, time(), zone).astimezone(UTC) for on in (day, day + DAY))
    return Window(opens, closes)


def holiday_windows(company: Company, start: datetime, end: datetime, zone: ZoneInfo) -> tuple[Window, ...]:
    return tuple(day_window(day, zone) for day in holidays_between(company, start, end, zone))


def plant_hours(plant: Plant, company: Company, start: datetime, end: datetime) -> PlantHours:
    """When a plant batches; of a holiday that it said nothing about nobody knows, and it must be asked."""
    zone = ZoneInfo(plant.time_zone)
    days = [start.astimezone(zone).date() + n * DAY for n in range((end - start).days + 2)]
    opens = [window for day in days for window in _batching(plant, company, day, zone)]
    unasked = [day_window(day, zone) for day in days if must_be_asked(plant, company, day)]
    known = plant.hours.all() or plant.closures.all() or plant.open_on_holidays is False
    return PlantHours(f"plant {plant.pk}", plant.rate_m3_h, tuple(opens) if known else None, tuple(unasked))


def _batching(plant: Plant, company: Company, day: date, zone: ZoneInfo) -> Iterator[Window]:
    if not plant_open_on(plant, company, day):
        return
    noon = datetime.combine(day, time(12), zone)
    opens_at, closes_at = bridge.batching_hours(plant, noon)
    if opens_at is None or closes_at is None:
        yield day_window(day, zone)
    else:
        yield Window(opens_at, closes_at + timedelta(seconds=1))  # the last load may be batched at its end


def plant_open_on(plant: Plant, company: Company, day: date) -> bool:
    """Whether a plant batches that day, as far as it is known; a holiday only counts where it said no."""
    said = any(opening.on == day for opening in plant.openings.all())
    shut = plant.open_on_holidays is False and bool(holiday_name(company, day)) and not said
    return bridge.is_open_on(plant, day) and not shut


def must_be_asked(plant: Plant, company: Company, day: date) -> bool:
    """Whether it is a holiday on which nobody knows if the plant is open."""
    said = day in {row.on for row in plant.openings.all()} | {row.on for row in plant.closures.all()}
    usual = bridge.is_open_on(plant, day)
    return plant.open_on_holidays is None and usual and not said and bool(holiday_name(company, day))


def site_hours(site: Site, company: Company, start: datetime, end: datetime) -> SiteHours:
    """When a site may be worked at, when loudly, and when it is light there."""
    zone = ZoneInfo(site.time_zone)
    shut = holiday_windows(company, start, end, zone)
    light = None
    if site.latitude is not None and site.longitude is not None:
        light = daylight(site.latitude, site.longitude, start, end)
    return SiteHours(
        f"site {site.pk}",
        permit=bridge.site_windows(site, SiteHoursKind.PERMIT, start, end, shut),
        loud=bridge.site_windows(site, SiteHoursKind.LOUD, start, end, shut),
        light=light,
    )


def roads_of(pours: Iterable[Pour]) -> Iterator[RoadSeason]:
    """Seasons of the roads to the pours, as loads of the heaviest mix in a plant's own trucks.

    What a truck weighs empty must be known for that.
    """
    ways: dict[tuple[int, int], list[Pour]] = {}
    for pour in pours:
        if pour.plant.truck_empty_kg:
            ways.setdefault((pour.job.site_id, pour.plant_id), []).append(pour)
    seasons = list(
        KeptSeason.objects.filter(Q(site__in=[w[0] for w in ways]) | Q(plant__in=[w[1] for w in ways]))
    )
    for (site, plant), ours in ways.items():
        zone = ZoneInfo(ours[0].job.site.time_zone)
        heaviest = max(pour.mix.density_kg_m3 for pour in ours)
        for season in seasons:
            if season.site_id in (None, site) and season.plant_id in (None, plant):
                window = Window(
                    day_window(season.first_on, zone).opens_at, day_window(season.last_on, zone).closes_at
                )
                room_kg = max(0.0, season.limit_kg - float(ours[0].plant.truck_empty_kg or 0))
                yield RoadSeason(f"site {site}", window, room_kg / heaviest, f"plant {plant}")
