"""A clash as a person reads it: who, when, how many are missing, and what would cure it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.urls import reverse

from scheduling.models import Pour
from scheduling.pages.clock import clock_time, day_words, from_to
from scheduling.pages.strips import SAID
from scheduling.queries.clashes import PourClash


@dataclass(frozen=True)
class ClashingPour:
    name: str
    starts: str
    url: str  # empty for a pour that is not booked yet


@dataclass(frozen=True)
class ClashWords:
    crew: str
    day: str
    when: str
    needs: str
    doing: str
    pours: tuple[ClashingPour, ...]
    cure: str
    cure_url: str
    cure_start: str  # the free start on the site's clock, where it is this pour's own
    accepted: bool
    key: str  # to ask for cures; empty while one of the pours is not booked


def site_zone(pour: Pour) -> ZoneInfo:
    return ZoneInfo(pour.job.site.time_zone)


def pour_name(pour: Pour) -> str:
    """The job, and which pour of it where that is said."""
    return f"{pour.job.name}, {pour.title}" if pour.title else pour.job.name


def clash_needs(clash: PourClash) -> str:
    """How much is asked of the crew against what it has."""
    if clash.code == "two_placings":
        return f"{clash.needed} slabs to place at once"
    people = "person" if clash.available == 1 else "people"
    return f"{clash.needed} needed, the crew has {clash.available} {people}"


def move_url(pour: Pour, starts_at: datetime) -> str:
    """The pour's page with its move form filled in."""
    wall = starts_at.astimezone(site_zone(pour))
    return f"{reverse('pour', args=[pour.pk])}?{urlencode({'start': f'{wall:%Y-%m-%dT%H:%M}'})}#move"


def clash_words(
    clash: PourClash, units: str, *, is_new: Callable[[Pour], bool] = lambda _: False
) -> ClashWords:
    """Put a clash into words; `is_new` tells the pour that is being booked, which has no page yet."""
    last = clash.pours[-1]
    zone = site_zone(last)
    free = clash.free_start_at
    ours = is_new(last)
    return ClashWords(
        crew=clash.crew.name,
        day=day_words(clash.starts_at.astimezone(zone).date(), units),
        when=from_to(clash.starts_at, clash.ends_at, zone, units),
        needs=clash_needs(clash),
        doing=" and ".join(SAID.get(kind, kind) for kind in clash.kinds),
        pours=tuple(clashing_pour(pour, units, is_new(pour)) for pour in clash.pours),
        cure=_cure(last, free, zone, units) if free else "",
        cure_url="" if ours or not free else move_url(last, free),
        cure_start=f"{free.astimezone(zone):%Y-%m-%dT%H:%M}" if ours and free else "",
        accepted=clash.accepted,
        key="" if any(is_new(pour) for pour in clash.pours) else clash.key,
    )


def refused_words(clash: PourClash, units: str) -> ClashWords:
    """A clash that something asked for would make: nothing of it is kept, so no cure can be tried."""
    return replace(clash_words(clash, units), key="")


def clashing_pour(pour: Pour, units: str, is_new: bool = False) -> ClashingPour:
    """A pour that a clash is about, with a way to its page."""
    return ClashingPour(
        name="this pour" if is_new else pour_name(pour),
        starts=clock_time(pour.starts_at, site_zone(pour), units),
        url="" if is_new else reverse("pour", args=[pour.pk]),
    )


def _cure(pour: Pour, free: datetime, zone: ZoneInfo, units: str) -> str:
    at = clock_time(free, zone, units)
    day = free.astimezone(zone).date()
    other_day = "" if day == pour.starts_at.astimezone(zone).date() else f" on {day_words(day, units)}"
    return f"Start {pour_name(pour)} at {at}{other_day} instead"
