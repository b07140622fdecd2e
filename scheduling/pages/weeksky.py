"""A day's weather along the clock of the strips below it: the worst of what its pours' plans rest on."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import Pour
from scheduling.pages.brief import moment
from scheduling.pages.clashes import site_zone
from scheduling.pages.strips import DayClock
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension

Json = Mapping[str, Any]

HOUR = timedelta(hours=1)
# From here on it is drawn (our choice); said from where the plan warns of it too.
RAIN_DRAWN, RAIN_SAID, THUNDER, GUST_M_S = 0.1, 0.4, 0.25, 9.0
AIR_EVERY_H = 3
TALLEST = 22.0  # a bar of certain rain


@dataclass(frozen=True)
class Bar:
    x: float
    width: float
    height: float = 0.0

    @property
    def y(self) -> float:
        return round(TALLEST - self.height, 1)


@dataclass(frozen=True)
class Sky:
    """`said` is all of it in words, each with the sign it is drawn by."""

    nights: tuple[Bar, ...]
    rain: tuple[Bar, ...]
    dry: tuple[Bar, ...]  # where the slab dries too fast
    airs: tuple[tuple[float, str], ...]
    said: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class _Hour:
    """The worst of one hour; None and empty where nobody knows."""

    at: datetime
    airs: tuple[float, ...]
    rain: float
    thunder: float
    gust_m_s: float
    drying: float | None
    is_too_dry: bool


def day_sky(pours: Sequence[Pour], day: date, clock: DayClock, words: Words) -> Sky | None:
    """None where no plan of the day knows any weather."""
    known = [pour for pour in pours if pour.plan and pour.plan.result["weather_known"]]
    hours = list(_hours(known, day))
    if not hours:
        return None
    zone = site_zone(known[0])
    nights = list(_nights(known, day))
    return Sky(
        nights=tuple(_bars(nights, clock, day, zone)),
        rain=tuple(_rain(hours, clock, day, zone)),
        dry=tuple(_bars(_spans(h.at for h in hours if h.is_too_dry), clock, day, zone)),
        airs=tuple(_airs(hours, clock, day, zone, words)),
        said=tuple(_said(hours, nights, day, zone, words)),
    )


def _hours(pours: Iterable[Pour], day: date) -> Iterator[_Hour]:
    found: dict[int, list[tuple[datetime, Json, Json, float]]] = {}
    for pour in pours:
        result = pour.plan.result if pour.plan else {}
        slab = {hour["at"][:13]: hour for hour in result["weather"]}
        sky = result.get("sky", {"hours": ()})
        for hour in sky["hours"]:
            wall = moment(hour["at"]).astimezone(site_zone(pour))
            if wall.date() == day:
                one = (wall, hour, slab.get(hour["at"][:13], {}), sky["drying_limit_kg_m2_h"])
                found.setdefault(wall.hour, []).append(one)
    for _, told in sorted(found.items()):
        yield _worst(told)


def _worst(told: Sequence[tuple[datetime, Json, Json, float]]) -> _Hour:
    def most(name: str) -> float:
        return max((hour[name] or 0.0 for _, hour, _, _ in told), default=0.0)

    rates = [(slab.get("rate_kg_m2_h"), limit) for _, _, slab, limit in told]
    known = [(rate, limit) for rate, limit in rates if rate is not None]
    return _Hour(
        at=told[0][0],
        airs=tuple(hour["air_c"] for _, hour, _, _ in told if hour["air_c"] is not None),
        rain=most("rain_chance"),
        thunder=most("thunder_chance"),
        gust_m_s=most("gust_m_s"),
        drying=max((rate for rate, _ in known), default=None),
        is_too_dry=any(rate >= limit for rate, limit in known),
    )


def _nights(pours: Iterable[Pour], day: date) -> Iterator[tuple[datetime, datetime]]:
    """The longest darkness any of them works in, before noon and after it."""
    ends = []
    for pour in pours:
        zone = site_zone(pour)
        midnight = datetime.combine(day, time(), zone)
        for night in pour.plan.result.get("sky", {}).get("nights", ()) if pour.plan else ():
            start = max(moment(night["opens_at"]).astimezone(zone), midnight)
            end = min(moment(night["closes_at"]).astimezone(zone), midnight + timedelta(days=1))
            if start.timestamp() < end.timestamp():
                ends.append((start, end))
    early = [end for start, end in ends if start.date() == day and start.hour < 12]
    late = [start for start, end in ends if start.date() == day and start.hour >= 12]
    if early:
        yield datetime.combine(day, time(), early[0].tzinfo), max(early)
    if late:
        midnight = datetime.combine(day + timedelta(days=1), time(), late[0].tzinfo)
        yield min(late), midnight


def _spans(moments: Iterable[datetime]) -> Iterator[tuple[datetime, datetime]]:
    """Hours that follow each other, as one stretch."""
    start = end = None
    for at in moments:
        if start and end == at:
            end = at + HOUR
            continue
        if start and end:
            yield start, end
        start, end = at, at + HOUR
    if start and end:
        yield start, end


def _bars(
    spans: Iterable[tuple[datetime, datetime]], clock: DayClock, day: date, zone: ZoneInfo
) -> Iterator[Bar]:
    for start, end in spans:
        x = clock.percent(start, day, zone)
        width = round(clock.percent(end, day, zone) - x, 2)
        if width > 0:
            yield Bar(x, width)


def _rain(hours: Iterable[_Hour], clock: DayClock, day: date, zone: ZoneInfo) -> Iterator[Bar]:
    for hour in hours:
        if hour.rain >= RAIN_DRAWN:
            for bar in _bars([(hour.at, hour.at + HOUR)], clock, day, zone):
                yield Bar(bar.x, bar.width, round(TALLEST * hour.rain, 1))


def _airs(
    hours: Iterable[_Hour], clock: DayClock, day: date, zone: ZoneInfo, words: Words
) -> Iterator[tuple[float, str]]:
    """Under its hour of the clock, in whole degrees."""
    for hour in hours:
        x = clock.percent(hour.at, day, zone)
        if hour.airs and hour.at.hour % AIR_EVERY_H == 0 and 0 < x < 100:
            yield x, words.temperature(sum(hour.airs) / len(hour.airs)).split(" ")[0] + "°"


def _said(
    hours: Sequence[_Hour],
    nights: Iterable[tuple[datetime, datetime]],
    day: date,
    zone: ZoneInfo,
    words: Words,
) -> Iterator[tuple[str, str]]:
    airs = [air for hour in hours for air in hour.airs]
    if airs:
        low, high = words.temperature(min(airs)), words.temperature(max(airs))
        number = low.split(" ")[0]
        yield "air", f"Air {low}" if low == high else f"Air {number}–{high}"
    yield from _when("rain", [h for h in hours if h.rain >= RAIN_SAID], words, zone)
    yield from _when("thunder", [h for h in hours if h.thunder >= THUNDER], words, zone)
    yield from _when("dry", [h for h in hours if h.is_too_dry], words, zone)
    gust = max(hour.gust_m_s for hour in hours)
    if gust >= GUST_M_S:
        yield "gust", f"gusts {words.amount(gust, Dimension.SPEED)}"
    for start, end in nights:
        if start.hour >= 12:
            yield "dark", f"dark from {words.clock(start, zone)}"
        else:
            yield "dark", f"dark until {words.clock(end, zone)}"


def _when(kind: str, hours: Sequence[_Hour], words: Words, zone: ZoneInfo) -> Iterator[tuple[str, str]]:
    if not hours:
        return
    when = words.from_to(hours[0].at, hours[-1].at + HOUR, zone)
    rates = [hour.drying for hour in hours if hour.drying is not None]
    said = {
        "rain": f"rain {max(hour.rain for hour in hours):.0%}",
        "thunder": "thunder",
        "dry": f"dries too fast, {words.drying(max(rates))}" if rates else "",
    }
    yield kind, f"{said[kind]}, {when}"
