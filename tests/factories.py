"""Rows for tests: each function makes one, with whatever it hangs on; columns given replace the usual."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import count
from typing import Any

from scheduling import bridge
from scheduling.engine.inputs import WeatherHour
from scheduling.models import (
    Absence,
    Company,
    Crew,
    EquipmentUnit,
    Job,
    Meaning,
    Message,
    MessageKind,
    Mix,
    Paper,
    Plan,
    Plant,
    PlantHours,
    Pour,
    Reply,
    RoadSeason,
    Site,
    SiteForecast,
    SiteHours,
    SiteNote,
    User,
    WeekProposal,
    Worker,
)
from scheduling.roles import Role
from scheduling.services import planning
from scheduling.services.slabs import draft_sections, keep_sections

# A Thursday morning in Kansas City; pours start on the Friday at seven on the site's clock.
NOW = datetime(2026, 8, 27, 15, 0, tzinfo=UTC)
STARTS_AT = datetime(2026, 8, 28, 12, 0, tzinfo=UTC)

SECTION = {"length_m": 12.0, "width_m": 9.0, "depth_m": 0.1}

AREAS = (816, 785, 620, 402, 515, 918)

_numbers = count(1)


def company(**columns: Any) -> Company:
    """The one company, made at the first call."""
    defaults = {"name": "Kaw Flatwork", "time_zone": "America/Chicago", **columns}
    return Company.objects.update_or_create(pk=1, defaults=defaults)[0]


def phone() -> str:
    """A number out of the range kept for stories; never of an area that a test writes out."""
    area, number = divmod(next(_numbers), 100)
    return f"+1{AREAS[area % len(AREAS)]}555{100 + number:04d}"


def user(role: Role = Role.OFFICE, **columns: Any) -> User:
    defaults = {
        "username": f"{role.value}{next(_numbers)}",
        "role": role.value,
        "phone": phone(),
        "texts_agreed_at": NOW,
    }
    return User.objects.create_user(**{**defaults, **columns})


def crew(people: int = 6, **columns: Any) -> Crew:
    """A crew with a lead who gets texts and that many workers, all of whom can do everything."""
    number = next(_numbers)
    if "lead" not in columns:
        columns["lead"] = user(Role.CREW_LEAD, first_name="Dana", last_name=f"Lead{number}")
    made = Crew.objects.create(**{"name": f"Crew {number}", **columns})
    names = ("Abel", "Bo", "Cruz", "Dee", "Eli", "Fay", "Gus", "Hal", "Ivy", "Jo")
    for n in range(people):
        Worker.objects.create(name=names[n % len(names)], crew=made, finishes=True, saws=True)
    return made


def equipment(**columns: Any) -> EquipmentUnit:
    return EquipmentUnit.objects.create(**{"name": f"Saw {next(_numbers)}", "kind": "saw", **columns})


def message(recipient: User, **columns: Any) -> Message:
    """A morning text that waits to be sent to the recipient."""
    defaults = {
        "key": f"text {next(_numbers)}",
        "kind": MessageKind.MORNING,
        "phone": recipient.phone,
        "body": "6:00 Mill Rd",
        "made_at": NOW,
        "due_at": NOW,
        "useful_until": STARTS_AT,
        "next_try_at": NOW,
    }
    return Message.objects.create(recipient=recipient, **{**defaults, **columns})


def reply(person: User | None = None, **columns: Any) -> Reply:
    """A text from the person that somebody must read."""
    defaults = {
        "gateway_key": f"SM-{next(_numbers)}",
        "phone": person.phone if person else phone(),
        "body": "gate is locked",
        "received_at": NOW,
        "meaning": Meaning.UNCLEAR,
        "needs_a_look": True,
    }
    return Reply.objects.create(person=person, **{**defaults, **columns})


def plant(**columns: Any) -> Plant:
    """A plant that batches from six to four, Monday to Saturday."""
    made = Plant.objects.create(**{"name": f"Plant {next(_numbers)}", "phone": phone(), **columns})
    for weekday in range(6):
        PlantHours.objects.create(plant=made, weekday=weekday, opens_at=time(6), closes_at=time(16))
    return made


def mix(**columns: Any) -> Mix:
    number = next(_numbers)
    columns.setdefault("plant", None)
    columns["plant"] = columns["plant"] or plant()
    return Mix.objects.create(
        **{"code": f"4000-{number}", "strength_mpa": 27.6, "aggregate_mm": 19.0, **columns}
    )


def site(**columns: Any) -> Site:
    number = next(_numbers)
    defaults = {
        "name": f"Mill Rd {number}",
        "address": f"{number} Mill Rd, Olathe",
        "time_zone": "America/Chicago",
        "latitude": 38.88,
        "longitude": -94.82,
    }
    return Site.objects.create(**{**defaults, **columns})


def job(**columns: Any) -> Job:
    columns["site"] = columns.get("site") or site()
    return Job.objects.create(**{"name": f"Garage {next(_numbers)}", **columns})


def pour(*, sections: list[dict[str, Any]] | None = None, **columns: Any) -> Pour:
    """A booked pour of one rectangle, without a plan; `site=` stands for a job there."""
    if "site" in columns:
        columns["job"] = job(site=columns.pop("site"))
    columns["job"] = columns.get("job") or job()
    columns["mix"] = columns.get("mix") or mix(plant=columns.get("plant"))
    columns.setdefault("plant", columns["mix"].plant)
    defaults = {"starts_at": STARTS_AT, "booked_at": NOW, "people": 5, "finishers": 2}
    made = Pour.objects.create(**{**defaults, **columns})
    keep_sections(made, draft_sections(sections or [SECTION]))
    return made


def forecast(
    site: Site, hours: tuple[WeatherHour, ...] | None = None, *, fetched_at: datetime = NOW
) -> SiteForecast:
    """A forecast kept for the site: a mild dry day unless told otherwise."""
    hours = hours or mild_hours()
    return SiteForecast.objects.create(
        site=site,
        provider="sample",
        fetched_at=fetched_at,
        starts_at=hours[0].at,
        ends_at=hours[-1].at + timedelta(hours=1),
        hours=bridge.to_json(hours),
    )


def mild_hours(
    starts_at: datetime = STARTS_AT - timedelta(hours=12), hours: int = 72, **columns: Any
) -> tuple[WeatherHour, ...]:
    """So many hours alike: 20 C, half humid, a light wind."""
    defaults = {
        "air_c": 20.0,
        "humidity": 0.5,
        "wind_10m_m_s": 3.0,
        "cloud": 0.5,
        "sun_w_m2": 200.0,
        "rain_chance": 0.0,
        "rain_mm": 0.0,
        "thunder_chance": 0.0,
    }
    return tuple(
        WeatherHour(at=starts_at + timedelta(hours=n), **{**defaults, **columns}) for n in range(hours)
    )


def plan(pour: Pour, *, now: datetime = NOW) -> Plan:
    """The pour's plan as the service makes it, with its order and reminders."""
    company()
    return planning.plan_pour(pour=pour, by=None, now=now)


def site_note(pour: Pour, **columns: Any) -> SiteNote:
    """Rain, noted just now."""
    defaults = {"key": f"note {next(_numbers)}", "kind": "rain", "happened_at": NOW, "noted_at": NOW}
    return SiteNote.objects.create(pour=pour, **{**defaults, **columns})


def proposal(**columns: Any) -> WeekProposal:
    """A better week that was found, with nothing in it."""
    empty = {name: [] for name in ("clocks", "week", "differences", "left_out", "shortages", "conflicts")}
    costs = {"cost": 0, "standing_cost": 0, "bound": 0, "greedy_cost": 0}
    result = {**empty, **costs, "proven": True, "greedy_only": True, "failed": False}
    defaults = {"monday": date(2026, 8, 24), "asked_at": NOW, "state": "ready", "result": result}
    return WeekProposal.objects.create(**{**defaults, **columns})


def absence(**columns: Any) -> Absence:
    """Somebody, a crew or a machine away on the day of the usual pour."""
    span = {"starts_at": STARTS_AT - timedelta(hours=7), "ends_at": STARTS_AT + timedelta(hours=17)}
    return Absence.objects.create(**{**span, **columns})


def road_season(**columns: Any) -> RoadSeason:
    usual = {"first_on": date(2026, 8, 1), "last_on": date(2026, 8, 31), "limit_kg": 24_000.0}
    return RoadSeason.objects.create(**{**usual, **columns})


def site_hours(site: Site, **columns: Any) -> SiteHours:
    """Work allowed from seven to seven, every day."""
    usual = {"kind": "permit", "opens_at": time(7), "closes_at": time(19)}
    return SiteHours.objects.create(site=site, **{**usual, **columns})


def paper(pour: Pour, **columns: Any) -> Paper:
    """Forms still to be released."""
    return Paper.objects.create(pour=pour, **{"kind": "forms", **columns})
