"""A pour as a strip along its day's clock: on site, placing, waiting, finishing, cutting."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.pages.clock import clock_time, from_to

EARLIEST_HOUR, LATEST_HOUR = 5, 19  # the clock a quiet week shows
TICK_EVERY_H = 3
WAIT_WORTH_SHOWING = timedelta(minutes=5)
# How much of a strip a label's character takes: on the board of a desk (a phone's leaves the first label
# out), and on a page of its own as narrow as a phone's.
ON_BOARD_PERCENT, ON_PAGE_PERCENT = 0.85, 1.9
LANES = 2  # lines of labels below a strip

# What a strip calls each stretch, and how the sentence beside it says it.
LABELS = {"on_site": "on site", "place": "place", "wait": "", "finish": "finish", "cut": "cut"}
SAID = {
    "on_site": "on site",
    "place": "placing",
    "wait": "waiting for the slab",
    "finish": "finishing",
    "cut": "cutting joints",
}


@dataclass(frozen=True)
class Stretch:
    """Something that lasts from `starts_at` up to `ends_at`; `people` 0 where nobody is kept busy."""

    kind: str
    starts_at: datetime
    ends_at: datetime
    people: int = 0

    @property
    def said(self) -> str:
        return SAID.get(self.kind, self.kind)


@dataclass(frozen=True)
class DayClock:
    """The hours a strip shows. `hours` counts from `opens`, an hour of the day."""

    opens: int = EARLIEST_HOUR
    hours: int = LATEST_HOUR - EARLIEST_HOUR

    def percent(self, moment: datetime, day: date, zone: ZoneInfo) -> float:
        """Where on the strip a moment lies, from 0 to 100."""
        start = datetime.combine(day, time(self.opens), zone)
        # Aware moments of one zone would be subtracted as clock faces; their stamps never are.
        along = (moment.timestamp() - start.timestamp()) / (self.hours * 36)
        return round(min(100.0, max(0.0, along)), 1)

    @property
    def tick_percent(self) -> float:
        return round(100 * TICK_EVERY_H / self.hours, 3)

    @property
    def first_tick_percent(self) -> float:
        return round(100 * (-self.opens % TICK_EVERY_H) / self.hours, 3)

    @property
    def ticks(self) -> list[tuple[float, str]]:
        """Where the hours are written, and what: 6, 9, 12, 3, 6."""
        first = self.opens + -self.opens % TICK_EVERY_H
        hours = range(first, self.opens + self.hours, TICK_EVERY_H)
        return [(round(100 * (hour - self.opens) / self.hours, 2), str(hour % 12 or 12)) for hour in hours]


@dataclass(frozen=True)
class Band:
    """A stretch as drawn: percents of the strip's width, and the label where there is room for one."""

    kind: str
    x: float
    width: float
    label: str
    label_x: float
    anchor: str
    lane: int


@dataclass(frozen=True)
class Strip:
    bands: tuple[Band, ...]
    clashes: tuple[tuple[float, float], ...]
    said: str

    @property
    def is_deep(self) -> bool:
        """Whether it needs a second line for its labels."""
        return any(band.lane for band in self.bands)


def day_clock(spans: Iterable[tuple[datetime, datetime, ZoneInfo]]) -> DayClock:
    """A clock wide enough for every span on its own first day; what runs past midnight is cut off there."""
    opens, closes = EARLIEST_HOUR, LATEST_HOUR
    for start, end, zone in spans:
        first, last = start.astimezone(zone), end.astimezone(zone)
        opens = min(opens, first.hour)
        same_day = last.date() == first.date()
        closes = max(closes, last.hour + (last.minute > 0) if same_day else 24)
    return DayClock(opens, closes - opens)


def with_waits(stretches: Sequence[Stretch]) -> list[Stretch]:
    """The stretches in order of time, with the waits for the slab between them."""
    ordered = sorted(stretches, key=lambda stretch: stretch.starts_at)
    whole: list[Stretch] = []
    for stretch in ordered:
        if whole and stretch.starts_at - whole[-1].ends_at >= WAIT_WORTH_SHOWING:
            whole.append(Stretch("wait", whole[-1].ends_at, stretch.starts_at))
        whole.append(stretch)
    return whole


def strip(
    stretches: Sequence[Stretch],
    clashes: Iterable[tuple[datetime, datetime]],
    clock: DayClock,
    day: date,
    zone: ZoneInfo,
    units: str,
    character_percent: float = ON_PAGE_PERCENT,
) -> Strip:
    """Draw the stretches of one pour along the clock of its day."""
    whole = with_waits(stretches)
    said = "; ".join(f"{s.said} {from_to(s.starts_at, s.ends_at, zone, units)}" for s in whole)
    return Strip(
        bands=tuple(_bands(whole, clock, day, zone, character_percent)),
        # Two clashes may last as long as each other: short of people, and two slabs at once.
        clashes=tuple(dict.fromkeys(_span(start, end, clock, day, zone) for start, end in clashes)),
        said=said,
    )


def _span(start: datetime, end: datetime, clock: DayClock, day: date, zone: ZoneInfo) -> tuple[float, float]:
    x = clock.percent(start, day, zone)
    return x, round(clock.percent(end, day, zone) - x, 1)


def _bands(
    whole: Iterable[Stretch], clock: DayClock, day: date, zone: ZoneInfo, character_percent: float
) -> Iterator[Band]:
    """The bands with their labels, each on the first line below the strip that has room for it."""
    free_from = [0.0] * LANES
    for stretch in whole:
        x, width = _span(stretch.starts_at, stretch.ends_at, clock, day, zone)
        if width <= 0:
            continue
        label = LABELS[stretch.kind]
        room = len(label) * character_percent
        begins = min(x, 100 - room)
        lane = next((n for n in range(LANES) if free_from[n] <= begins), None)
        if not label or lane is None:
            yield Band(stretch.kind, x, width, "", 0.0, "", 0)
            continue
        free_from[lane] = begins + room + character_percent
        at_end = x + room > 100
        yield Band(stretch.kind, x, width, label, 100.0 if at_end else x, "end" if at_end else "", lane)


def next_day_words(stretches: Sequence[Stretch], day: date, zone: ZoneInfo, units: str) -> str:
    """What of it happens after midnight, said in words: a strip ends with its day."""
    later = [s for s in stretches if s.ends_at.astimezone(zone).date() > day]
    return "; ".join(
        f"{s.said} until {clock_time(s.ends_at, zone, units)} {s.ends_at.astimezone(zone):%a}"
        if s.starts_at.astimezone(zone).date() == day
        else f"{s.said} {from_to(s.starts_at, s.ends_at, zone, units)} {s.starts_at.astimezone(zone):%a}"
        for s in later
    )
