"""A stretch of days as it is booked: who works where and when, with what, and the rules of each place.

What is not known is None and breaks no rule; what is known to be none is an empty tuple.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta, tzinfo

from scheduling.engine.daylight import daylight
from scheduling.engine.inputs import BadInput, PhaseKind, Window, require_aware, require_not_negative


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One phase of a pour: people of a crew, at a site, with the equipment it holds all through.

    `workers` are those named for it and `skills` what somebody among them must have; `units` are named
    pieces of equipment, `gear` so many of a kind where no piece is named. `plant` batches `rate_m3_h`
    all through, or, where it is known, from the first to the last of its `batches`; `heaviest_load_m3` is
    what goes over the road at once. Work `indoors` needs
    no daylight. What comes before `concrete_at`, where it is known, is neither loud nor in want of light.
    """

    pour: str
    crew: str
    kind: PhaseKind
    starts_at: datetime
    ends_at: datetime
    people: int
    site: str = ""
    workers: tuple[str, ...] = ()
    skills: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    gear: tuple[tuple[str, int], ...] = ()
    plant: str | None = None
    rate_m3_h: float = 0.0
    batches: Window | None = None
    heaviest_load_m3: float | None = None
    indoors: bool = False
    concrete_at: datetime | None = None

    def __post_init__(self) -> None:
        if self.starts_at.tzinfo is None or self.ends_at.tzinfo is None:
            raise BadInput("starts_at", "naive_time", "Work must carry a time zone.")
        if self.ends_at <= self.starts_at:
            raise BadInput("ends_at", "empty_window", "Work must end after it starts.")
        if self.people < 0 or self.rate_m3_h < 0:
            raise BadInput("people", "negative", "people and rate_m3_h must be 0 or more.")


@dataclass(frozen=True, slots=True)
class Worker:
    """Somebody with a name: what they can do, when they are away, and the crew they are counted in."""

    name: str
    skills: tuple[str, ...] = ()
    away: tuple[Window, ...] = ()
    crew: str = ""


@dataclass(frozen=True, slots=True)
class Unit:
    """A piece of equipment, its kind, and when it is out of use."""

    name: str
    kind: str
    away: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True)
class PlantHours:
    """A plant: what it can batch (None: not known), when it is open, and days nobody knows that of."""

    name: str
    rate_m3_h: float | None = None
    opens: tuple[Window, ...] | None = None
    unasked: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True)
class SiteHours:
    """When a site may be worked at, when work there may be loud, and when it is light there."""

    site: str
    permit: tuple[Window, ...] | None = None
    loud: tuple[Window, ...] | None = None
    light: tuple[Window, ...] | None = None


@dataclass(frozen=True, slots=True)
class RoadSeason:
    """While it lasts, no load over `load_limit_m3` may go to the site (from one plant, where it is named)."""

    site: str
    window: Window
    load_limit_m3: float
    plant: str | None = None


@dataclass(frozen=True, slots=True)
class Papers:
    """What must be in hand for a pour: its order called by `call_by_at`, forms released, inspected.

    `inspected` is None where no inspection is asked for. What was promised is placed by `promised_at`.
    """

    pour: str
    ordered: bool = True
    call_by_at: datetime | None = None
    released: bool = True
    inspected: bool | None = None
    promised_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """How long people may work, and rest: hours a day, hours from one day's work to the next.

    No federal rule in the US limits the hours of grown-ups in construction: both are the company's own.
    """

    day_h: float | None = 12.0
    rest_h: float | None = 8.0

    def __post_init__(self) -> None:
        for name in ("day_h", "rest_h"):
            if (value := getattr(self, name)) is not None:
                require_not_negative(name, value, upper=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekBook:
    """Everything booked, and what it is booked on. `zone` says which day a moment is of.

    `legs_min` is the way between two sites either way round, `leg_min` that between sites of which
    nobody knows it. `crews_away` is when whole crews are.
    """

    work: tuple[Work, ...]
    people: Mapping[str, int]
    zone: tzinfo = UTC
    workers: tuple[Worker, ...] = ()
    crews_away: Mapping[str, tuple[Window, ...]] = field(default_factory=dict)
    units: tuple[Unit, ...] = ()
    plants: tuple[PlantHours, ...] = ()
    sites: tuple[SiteHours, ...] = ()
    roads: tuple[RoadSeason, ...] = ()
    papers: tuple[Papers, ...] = ()
    holidays: tuple[Window, ...] = ()
    limits: Limits = field(default_factory=Limits)
    legs_min: Mapping[tuple[str, str], float] = field(default_factory=dict)
    leg_min: float = 0.0

    def leg(self, here: str, there: str) -> timedelta:
        """The way between two sites; none at one site."""
        if here == there:
            return timedelta()
        known = self.legs_min.get((here, there), self.legs_min.get((there, here), self.leg_min))
        return timedelta(minutes=known)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursRule:
    """Hours of some days: from `opens` to `closes` by the clock, no earlier or later than the sun allows.

    `weekdays` count from Monday as 0. The sun's limits are minutes after sunrise and before sunset,
    negative for before and after.
    """

    opens: time
    closes: time
    weekdays: frozenset[int] = frozenset(range(7))
    first_on: datetime | None = None
    last_on: datetime | None = None
    after_sunrise_min: float | None = None
    before_sunset_min: float | None = None


def windows_of(
    rules: tuple[HoursRule, ...],
    start: datetime,
    end: datetime,
    zone: tzinfo,
    place: tuple[float, float] | None = None,
    shut: tuple[Window, ...] = (),
) -> tuple[Window, ...]:
    """Turn rules by date, weekday and sun into windows of UTC.

    Parameters
    ----------
    rules : tuple of HoursRule
        The first that holds on a day decides for it; a day of none has no hours.
    start, end : datetime
        Aware; every day of `zone` that they touch.
    zone : tzinfo
    place : (latitude, longitude), optional
        Degrees; without it the sun limits nothing.
    shut : tuple of Window
        Holidays: days they touch have no hours.

    Returns
    -------
    tuple of Window
        In order.
    """
    require_aware("start", start)
    require_aware("end", end)
    found = []
    day = start.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)
    while day < end:
        rule = next((one for one in rules if _holds(one, day)), None)
        if rule is not None and not any(
            w.opens_at < day + timedelta(days=1) and w.closes_at > day for w in shut
        ):
            found += _of_day(rule, day, place)
        day = (day.replace(tzinfo=None) + timedelta(days=1)).replace(tzinfo=zone)
    return tuple(found)


def _holds(rule: HoursRule, day: datetime) -> bool:
    first, last = rule.first_on, rule.last_on
    in_season = (first is None or day.date() >= first.date()) and (last is None or day.date() <= last.date())
    return in_season and day.weekday() in rule.weekdays


def _of_day(rule: HoursRule, day: datetime, place: tuple[float, float] | None) -> list[Window]:
    opens_at = day.replace(hour=rule.opens.hour, minute=rule.opens.minute).astimezone(UTC)
    closes_at = day.replace(hour=rule.closes.hour, minute=rule.closes.minute).astimezone(UTC)
    if place is not None:
        for sun in daylight(*place, opens_at, closes_at)[:1]:
            if rule.after_sunrise_min is not None:
                opens_at = max(opens_at, sun.opens_at + timedelta(minutes=rule.after_sunrise_min))
            if rule.before_sunset_min is not None:
                closes_at = min(closes_at, sun.closes_at - timedelta(minutes=rule.before_sunset_min))
    return [Window(opens_at, closes_at)] if closes_at > opens_at else []
