"""Ninebark Flatwork: everyone and everything in it is invented."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from scheduling.bridge import to_json
from scheduling.errors import Refusal
from scheduling.management.demo.limits import limit_week
from scheduling.models import (
    Company,
    ConsentWay,
    Crew,
    EquipmentUnit,
    Job,
    Language,
    Mix,
    Plant,
    PlantHours,
    Pour,
    Site,
    SiteForecast,
    User,
    Worker,
)
from scheduling.quantities import Dimension, parse
from scheduling.roles import Role
from scheduling.services import consent, ordering
from scheduling.services.booking import book_pour
from scheduling.weather.sample import sample_hours

NAME = "Ninebark Flatwork"
ZONE = ZoneInfo("America/Chicago")
PASSWORD = "ninebark-demo"  # for a demo that listens on this machine only

PEOPLE = (
    ("office", "Maren", "Tollgard", Role.OFFICE, "+19135550110", Language.ENGLISH),
    ("dispatch", "Osei", "Lindqvist", Role.DISPATCHER, "+19135550111", Language.ENGLISH),
    ("ash", "Petra", "Voss", Role.CREW_LEAD, "+19135550121", Language.ENGLISH),
    ("birch", "Tomas", "Adeyemi", Role.CREW_LEAD, "+19135550122", Language.ENGLISH),
    ("cedar", "Lucía", "Farrow", Role.CREW_LEAD, "+19135550123", Language.SPANISH),
)

CREWS = (
    ("Ash", "ash", ("Petra Voss", "Emil Sandoe", "Ray Okafor", "Nils Brandt", "Joao Prewitt")),
    (
        "Birch",
        "birch",
        ("Tomas Adeyemi", "Hank Solberg", "Dario Munk", "Wes Tilden", "Ike Varga", "Abel Roon"),
    ),
    ("Cedar", "cedar", ("Lucía Farrow", "Sam Quist", "Bo Hartline", "Mateo Rusk")),
)

EQUIPMENT = (
    ("Saw 1", "saw", "Ash"),
    ("Saw 2", "early_entry_saw", "Birch"),
    ("Trowel 1", "walk_behind_trowel", "Ash"),
    ("Trowel 2", "walk_behind_trowel", "Birch"),
    ("Trowel 3", "walk_behind_trowel", "Cedar"),
    ("Board 14 ft", "straightedge", "Ash"),
    ("Extension 10 ft", "extension_chute", None),
)

PLANTS: tuple[dict[str, Any], ...] = (
    {
        "name": "Quarry Road",
        "phone": "+19135550150",
        "usual_haul_min": 25.0,
        "rate_m3_h": 60.0,
        "wait_price": 130.0,
        "wait_block_min": 60.0,
        "wait_free_min_per_m3": parse("7 min/yd3", Dimension.MINUTES_A_VOLUME),
    },
    {
        "name": "Riverbend",
        "phone": "+19135550151",
        "usual_haul_min": 35.0,
        "rate_m3_h": 45.0,
        "late_sd_min": 10.0,
        "wait_price": 35.0,
        "wait_block_min": 15.0,
        "wait_counted": "started",
        "wait_free_min": 45.0,
    },
)

MIXES: tuple[tuple[str, str, str, str, list[str]], ...] = (
    ("Quarry Road", "4000-75-WR", "4000 psi", "3/4 in", ["water_reducer"]),
    ("Quarry Road", "4500-75-AE", "4500 psi", "3/4 in", ["air_entrainer", "water_reducer"]),
    ("Riverbend", "R40", "4000 psi", "3/4 in", ["water_reducer"]),
    ("Riverbend", "R40-SLOW", "4000 psi", "3/4 in", ["water_reducer", "retarder"]),
)

# Days of the week's weather, Monday first.
WEATHER = ("cold", "cold", "mild", "hot_windy", "rainy", "mild", "mild")

SITES: tuple[dict[str, Any], ...] = (
    {
        "name": "Alder Mill shop",
        "latitude": 39.05,
        "longitude": -94.52,
        "address": "14 Alder Mill Rd, Fenwick",
        "directions": "Gate on the east side.",
    },
    {
        "name": "Coulter barn",
        "latitude": 39.07,
        "longitude": -94.49,
        "address": "880 Coulter Ln, Fenwick",
        "trucks_must_back": True,
    },
    {
        "name": "Harrow Street",
        "latitude": 38.98,
        "longitude": -94.61,
        "address": "217 Harrow St, Pell City",
        "one_truck_at_a_time": True,
    },
    {
        "name": "Linden Court",
        "latitude": 38.97,
        "longitude": -94.63,
        "address": "5 Linden Ct, Pell City",
        "loud_from": time(7),
        "loud_until": time(20),
    },
    {
        "name": "Old Depot",
        "latitude": 39.12,
        "longitude": -94.4,
        "address": "1 Depot Sq, Marlow",
        "power_lines": True,
    },
    {"name": "Sedge Park", "latitude": 39.13, "longitude": -94.42, "address": "400 Sedge Park Dr, Marlow"},
)


def rectangle(length: str, width: str, depth: str, **more: Any) -> dict[str, Any]:
    """A rectangular section as people say its sizes."""
    return {
        "shape": "rectangle",
        "length_m": parse(length, Dimension.LENGTH),
        "width_m": parse(width, Dimension.LENGTH),
        "depth_m": parse(depth, Dimension.DEPTH),
        **more,
    }


@dataclass(frozen=True)
class Booking:
    """What the office says of one pour: where (an index into SITES), when (Monday is 0), who and what."""

    site: int
    day: int
    start: str
    crew: str
    mix: str
    title: str
    sections: list[dict[str, Any]]
    more: dict[str, Any] = field(default_factory=dict)
    promised_day: int | None = None


def week_of_bookings() -> tuple[Booking, ...]:
    """A dozen pours.

    On Wednesday crew Ash is booked twice, and the finishing of one slab meets the placing of the
    other. Thursday's slab falls 2 in to the doors over a base that falls with it, on the hot windy day.
    Friday's plaza was promised for Thursday's market.
    """
    inches = partial(parse, dimension=Dimension.DEPTH)
    fall = {"depth_kind": "falling_base", "fall_m": inches("2 in")}
    edge = {"width_m": inches("12 in"), "depth_m": inches("12 in")}
    plaza = {"shape": "circle", "diameter_m": parse("22 ft", Dimension.LENGTH), "depth_m": inches("6 in")}
    patio = rectangle("16 ft", "14 ft", "4 in")
    six = {"people": 6}
    four_broom = {"people": 4, "finish": "broom", "power_trowels": 0}
    floor, doors = rectangle("60 ft", "30 ft", "5 in"), rectangle("52 ft", "38 ft", "5 in", **fall)
    garage = rectangle("36 ft", "28 ft", "4 in", edges=[edge])
    workshop, stalls = rectangle("30 ft", "24 ft", "4 in"), rectangle("48 ft", "36 ft", "4 in")
    path, drive = rectangle("120 ft", "6 ft", "4 in"), rectangle("40 ft", "18 ft", "5 in")
    apron, ramp = rectangle("50 ft", "24 ft", "6 in"), rectangle("30 ft", "20 ft", "6 in")
    alley = rectangle("80 ft", "20 ft", "5 in")
    apron_ways = {**six, "reach_m": 3.0, "truck_sides": ["front", "back"]}
    alley_ways = {**six, "saw": "early_entry", "slope": parse("1/4 in per ft", Dimension.SLOPE)}
    return (
        Booking(0, 0, "7:00", "Ash", "4000-75-WR", "first half", [floor]),
        Booking(3, 0, "8:00", "Cedar", "R40", "four patios", [patio] * 4, four_broom),
        Booking(1, 1, "7:30", "Birch", "R40", "stalls", [stalls], six),
        Booking(5, 1, "7:00", "Cedar", "4500-75-AE", "pond path", [path], four_broom),
        Booking(2, 2, "7:00", "Ash", "4000-75-WR", "garage", [garage]),
        Booking(3, 2, "11:30", "Ash", "4000-75-WR", "workshop", [workshop]),
        Booking(4, 2, "7:00", "Birch", "R40", "dock apron", [apron], apron_ways),
        Booking(0, 3, "7:00", "Ash", "4000-75-WR", "floor, to the doors", [doors]),
        Booking(1, 3, "7:00", "Birch", "R40-SLOW", "feed alley", [alley], alley_ways),
        Booking(4, 4, "8:00", "Birch", "R40", "ramp", [ramp], {**six, "finish": "broom"}),
        Booking(5, 4, "7:30", "Cedar", "4500-75-AE", "round plaza", [plaza], four_broom, promised_day=3),
        Booking(2, 5, "8:00", "Cedar", "4000-75-WR", "drive", [drive], four_broom),
    )


def next_monday(today: date) -> date:
    """The Monday after today: the demo's week lies ahead, so that it can be planned."""
    return today + timedelta(days=7 - today.weekday())


@transaction.atomic
def make_company(now: datetime) -> date:
    """Make the company, its week and its plans where they are not there yet; answer the week's Monday.

    Raises
    ------
    Refusal
        If the database holds another company: a demo does not mix with real work.
    """
    if Company.objects.exclude(name=NAME).exists() or settings.DATABASES["default"].get("HOST"):
        raise Refusal(
            "This database is not the demo's: run the demo without DATABASE_URL, on its own folder."
        )
    monday = next_monday(now.astimezone(ZONE).date())
    Company.objects.get_or_create(pk=1, defaults={"name": NAME, "time_zone": ZONE.key})
    people = {row[0]: _person(*row) for row in PEOPLE}
    for person in people.values():
        consent.record_agreement(person=person, way=ConsentWay.ON_PAPER, by=people["office"], now=now)
    _crews(people)
    _plants()
    sites = [Site.objects.get_or_create(name=site["name"], defaults=site)[0] for site in SITES]
    for site in sites:
        _forecast(site, monday, now)
    if not Pour.objects.filter(starts_at__gte=_at(monday, "0:00")).exists():
        _book_week(sites, monday, people["office"], now)
        limit_week(monday, ZONE, people["office"], now)
    return monday


def shown_pour(monday: date) -> Pour:
    """The pour the demo prints whole: Thursday's floor that falls to the doors."""
    return Pour.objects.get(starts_at=_at(monday + timedelta(days=3), "7:00"), title="floor, to the doors")


def told_pours(monday: date) -> list[Pour]:
    """Two more whose day the demo tells: Monday's in the cold and Friday's in the rain."""
    days = ((0, "first half"), (4, "ramp"))
    return [
        Pour.objects.get(starts_at__date=monday + timedelta(days=day), title=title) for day, title in days
    ]


def _person(username: str, first: str, last: str, role: Role, phone: str, language: Language) -> User:
    facts = {
        "first_name": first,
        "last_name": last,
        "role": role.value,
        "phone": phone,
        "language": language.value,
    }
    person, made = User.objects.get_or_create(username=username, defaults=facts)
    if made:
        person.set_password(PASSWORD)
        person.is_staff = role is Role.OFFICE
        person.is_superuser = role is Role.OFFICE
        person.save()
    return person


def _crews(people: dict[str, User]) -> None:
    for name, lead, workers in CREWS:
        crew, _ = Crew.objects.get_or_create(name=name, defaults={"lead": people[lead]})
        for at, worker in enumerate(workers):
            skills = {"crew": crew, "finishes": at < 2, "saws": at < 2}
            if at == 0:
                skills["user"] = people[lead]
            Worker.objects.get_or_create(name=worker, defaults=skills)
    for name, kind, crew_name in EQUIPMENT:
        owner = Crew.objects.get(name=crew_name) if crew_name else None
        EquipmentUnit.objects.get_or_create(name=name, defaults={"kind": kind, "crew": owner})


def _plants() -> None:
    for facts in PLANTS:
        plant, _ = Plant.objects.get_or_create(name=facts["name"], defaults=facts)
        for weekday in range(6):
            hours = {"opens_at": time(5, 30), "closes_at": time(16, 0) if weekday < 5 else time(12, 0)}
            PlantHours.objects.get_or_create(plant=plant, weekday=weekday, defaults=hours)
    for plant_name, code, strength, stone, admixtures in MIXES:
        Mix.objects.get_or_create(
            plant=Plant.objects.get(name=plant_name),
            code=code,
            defaults={
                "strength_mpa": parse(strength, Dimension.STRENGTH),
                "aggregate_mm": parse(stone, Dimension.AGGREGATE),
                "admixtures": admixtures,
            },
        )


def _forecast(site: Site, monday: date, now: datetime) -> None:
    start = _at(monday, "0:00")
    if SiteForecast.objects.filter(site=site, provider="sample", starts_at=start).exists():
        return
    days = (sample_hours(kind, _at(monday + timedelta(days=n), "0:00"), 24) for n, kind in enumerate(WEATHER))
    hours = [hour for day in days for hour in day]
    SiteForecast.objects.create(
        site=site,
        provider="sample",
        fetched_at=now,
        starts_at=start,
        ends_at=hours[-1].at + timedelta(hours=1),
        hours=to_json(hours),
    )


def _book_week(sites: list[Site], monday: date, by: User, now: datetime) -> None:
    for said in week_of_bookings():
        promised = None if said.promised_day is None else monday + timedelta(days=said.promised_day)
        site = sites[said.site]
        job, _ = Job.objects.get_or_create(name=site.name, site=site)
        mix = Mix.objects.get(code=said.mix)
        pour = book_pour(
            job=job,
            title=said.title,
            sections=said.sections,
            starts_at=_at(monday + timedelta(days=said.day), said.start),
            crew=Crew.objects.get(name=said.crew),
            plant=mix.plant,
            mix=mix,
            by=by,
            now=now,
            accept_clashes=True,
            promised_by=promised,
            **said.more,
        )
        _order(pour, said.day, by, now)


def _order(pour: Pour, day: int, by: User, now: datetime) -> None:
    """The office has called in the first half of the week; Monday's plant has confirmed."""
    order = pour.orders.get()
    if day <= 2:
        ordering.call_in(order=order, taken_by="Ilse at the desk", by=by, now=now)
    if day == 0:
        ordering.confirm(order=order, ticket=f"N-{200 + order.pk}", by=by, now=now)


def _at(day: date, clock: str) -> datetime:
    return datetime.combine(day, time.fromisoformat(clock.zfill(5)), ZONE)
