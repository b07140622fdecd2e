"""A person's pours as an iCalendar document (RFC 5545). Moments are in UTC, which needs no zone's rules."""

import uuid
from collections.abc import Iterable
from datetime import UTC, timedelta

from django.conf import settings
from django.urls import reverse
from icalendar import Calendar, Event

from scheduling.models import Pour, PourState
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.wording import Words
from scheduling.queries.calendars import CalendarPour

# Of our entries alone: what they are named by must be the same for life, wherever the service moves.
NAMESPACE = uuid.UUID("6f1c0f0e-53a5-4a2e-9a50-5b1d8f0a7c11")
ASK_EVERY = timedelta(hours=1)
STATUS = {
    PourState.BOOKED: "CONFIRMED",
    PourState.PLACED: "CONFIRMED",
    PourState.ON_HOLD: "TENTATIVE",
    PourState.CANCELLED: "CANCELLED",
}


def calendar_document(name: str, entries: Iterable[CalendarPour], words: Words) -> bytes:
    """The whole document; the same entries give the same bytes."""
    calendar = Calendar()
    calendar.add("prodid", "-//Pourplan//Pours//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", ASK_EVERY, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, words))
    return bytes(calendar.to_ical())


def uid_of(pour: Pour) -> str:
    """What a calendar knows the pour by, for life."""
    return str(uuid.uuid5(NAMESPACE, f"{pour.pk} {pour.booked_at.astimezone(UTC).isoformat()}"))


def _event(entry: CalendarPour, words: Words) -> Event:
    pour, site = entry.pour, entry.pour.job.site
    event = Event()
    event.add("uid", uid_of(pour))
    event.add("sequence", entry.sequence)
    event.add("dtstamp", entry.changed_at.astimezone(UTC))
    event.add("last-modified", entry.changed_at.astimezone(UTC))
    event.add("dtstart", pour.starts_at.astimezone(UTC))
    event.add("dtend", entry.ends_at.astimezone(UTC))
    event.add("status", STATUS[PourState(pour.state)])
    event.add("summary", _summary(pour))
    event.add("location", ", ".join(dict.fromkeys(part for part in (site.name, site.address) if part)))
    event.add("description", "\n".join(_lines(entry, words)))
    event.add("url", settings.PUBLIC_URL + reverse("pour", args=[pour.pk]))
    if site.latitude is not None and site.longitude is not None:
        event.add("geo", (site.latitude, site.longitude))
    return event


def _summary(pour: Pour) -> str:
    name = f"{pour_name(pour)} ({pour.crew.name})" if pour.crew else pour_name(pour)
    marks = {PourState.ON_HOLD: "ON HOLD: ", PourState.CANCELLED: "CANCELLED: "}
    return marks.get(PourState(pour.state), "") + name


def _lines(entry: CalendarPour, words: Words) -> Iterable[str]:
    """The day in a few lines, on the site's own clock."""
    pour, zone = entry.pour, site_zone(entry.pour)
    if pour.plan:
        yield f"Crew on site {words.clock(pour.plan.call_at, zone)}"
    yield f"First truck {words.clock(pour.starts_at, zone)} ({pour.starts_at.astimezone(zone):%Z})"
    if pour.plan:
        loads = "1 load" if pour.plan.loads == 1 else f"{pour.plan.loads} loads"
        yield f"{words.ordered(pour.plan.order_m3)} of {pour.mix.code}, {loads}, from {pour.plant.name}"
        yield f"Last truck empty {words.clock(pour.plan.placed_at, zone)}"
    if pour.state == PourState.ON_HOLD:
        yield "On hold: nobody goes until it is released."
