"""One picture of a pour's day: the weather above, trucks and work below, time along the bottom."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import Units
from scheduling.pages.clock import from_to

Json = Mapping[str, Any]
Say = Callable[[float], str]

HOUR = timedelta(hours=1)
LABEL_EVERY_H = (1, 2, 3, 6, 12)
LEAST_SPREAD_C, LEAST_PEAK_KG_M2_H = 4.0, 0.25  # a quiet day is drawn quiet
RAIN_WORTH_SAYING = 0.1
THUNDER_WORTH_SAYING = 0.25  # as the plan warns of it
NIGHT = "night"
MOST_TRUCKS_DRAWN = 40
LINES = {"air_c": "air", "concrete_c": "slab"}
PASSES = {"power_float": "float", "trowel": "trowel", "broom": "broom", "float": "float"}
LOOKS = {
    "place": "wet-concrete",
    "float": "floated",
    "trowel": "trowelled",
    "broom": "broomed",
    "cut": "sawn",
}


@dataclass(frozen=True)
class Sheet:
    """How a picture is laid out: for a desk, or for a phone, where letters must be larger against it."""

    name: str
    width: float
    left: float
    right: float
    temperature: float  # heights
    drying: float
    rain: float
    row: float
    gap: float
    hour_room: float
    letter: float  # how wide a letter of a label runs


DESK = Sheet("desk", 780, 84, 20, 96, 66, 34, 20, 26, 46, 6.2)
PHONE = Sheet("phone", 340, 64, 10, 84, 60, 32, 22, 26, 46, 7.4)


@dataclass(frozen=True)
class Box:
    kind: str
    x: float
    y: float
    width: float
    height: float
    fill: str = ""  # the pattern's name


@dataclass(frozen=True)
class Rule:
    kind: str
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Path:
    kind: str
    d: str


@dataclass(frozen=True)
class Label:
    kind: str
    x: float
    y: float
    words: str
    anchor: str = "start"


Shape = Box | Rule | Path | Label


@dataclass(frozen=True)
class Picture:
    """Everything a template draws, in order; `said` is the picture in a sentence."""

    name: str
    width: float
    height: float
    nights: tuple[Box, ...]  # under everything else
    grid: str  # paths: a line down from each named hour, and a tick every hour
    ticks: str
    boxes: tuple[Box, ...]
    rules: tuple[Rule, ...]
    paths: tuple[Path, ...]
    labels: tuple[Label, ...]
    said: str


@dataclass(frozen=True)
class Telling:
    """How amounts and hours are said to this reader."""

    temperature: Say
    drying: Say
    zone: ZoneInfo
    units: str


def day_pictures(result: Json, telling: Telling) -> tuple[Picture, ...]:
    """The picture in both layouts; none for a plan that kept no sky."""
    hours = result.get("sky", {}).get("hours", ())
    if len(hours) < 2:
        return ()
    return tuple(_Drawing(result, telling, sheet).picture() for sheet in (DESK, PHONE))


class _Drawing:
    """One picture in the making: panels from top to bottom share the clock along x."""

    def __init__(self, result: Json, telling: Telling, sheet: Sheet) -> None:
        self.result, self.telling, self.sheet = result, telling, sheet
        self.limit: float = result["sky"]["drying_limit_kg_m2_h"]
        self.sky, self.slab = result["sky"]["hours"], result["weather"]
        self.start = _moment(self.sky[0]["at"])
        self.end = _moment(self.sky[-1]["at"]) + HOUR
        self.right = sheet.width - sheet.right
        self.temperature_y = 20.0
        self.drying_y = self.temperature_y + sheet.temperature + sheet.gap
        self.rain_y = self.drying_y + sheet.drying + sheet.gap
        self.trucks_y = self.rain_y + sheet.rain + 12
        self.rows = list(_work(result))
        self.work_y = self.trucks_y + sheet.row + 6
        self.axis_y = self.work_y + len(self.rows) * (sheet.row + 4) + 2

    def picture(self) -> Picture:
        shapes = [
            *self._nights(),
            *self._hour_names(),
            *self._temperatures(),
            *self._drying(),
            *self._rain(),
            *self._trucks(),
            *self._bands(),
        ]
        return Picture(
            self.sheet.name,
            self.sheet.width,
            self.axis_y + 22,
            tuple(shape for shape in shapes if isinstance(shape, Box) and shape.kind == NIGHT),
            "".join(f"M{x} 4V{self.axis_y:g}" for x, _, named in self._hours() if named),
            "".join(f"M{x} {self.axis_y:g}v{6 if named else 3}" for x, _, named in self._hours()),
            tuple(shape for shape in shapes if isinstance(shape, Box) and shape.kind != NIGHT),
            tuple(shape for shape in shapes if isinstance(shape, Rule)),
            tuple(shape for shape in shapes if isinstance(shape, Path)),
            tuple(shape for shape in shapes if isinstance(shape, Label)),
            self._said(),
        )

    # --- the clock ----------------------------------------------------------------------------

    def x(self, moment: datetime) -> float:
        along = (moment - self.start) / (self.end - self.start)
        return round(self.sheet.left + min(1.0, max(0.0, along)) * (self.right - self.sheet.left), 1)

    @property
    def hour_width(self) -> float:
        return (self.right - self.sheet.left) / ((self.end - self.start) / HOUR)

    def _nights(self) -> Iterator[Shape]:
        for night in self.result["sky"]["nights"]:
            x, end = self.x(_moment(night["opens_at"])), self.x(_moment(night["closes_at"]))
            if end - x >= 1:
                yield Box(NIGHT, x, 4, round(end - x, 1), round(self.axis_y - 4, 1))
            if end - x > 6 * self.sheet.letter:
                yield Label("night-word", round((x + end) / 2, 1), 15, "night", "middle")

    def _hours(self) -> Iterator[tuple[float, datetime, bool]]:
        """Where every hour lies, on the site's clock, and whether there is room for its name."""
        every = next((n for n in LABEL_EVERY_H if n * self.hour_width >= self.sheet.hour_room), 12)
        for n in range(math.ceil((self.end - self.start) / HOUR) + 1):
            moment = self.start + n * HOUR
            wall = moment.astimezone(self.telling.zone)
            yield self.x(moment), wall, wall.hour % every == 0

    def _hour_names(self) -> Iterator[Shape]:
        for x, wall, named in self._hours():
            if named:
                yield Label("hour", x, self.axis_y + 18, _hour_name(wall, self.telling.units), "middle")
        yield Rule("base", self.sheet.left, self.axis_y, self.right, self.axis_y)

    # --- the weather --------------------------------------------------------------------------

    def _title(self, y: float, words: str) -> Label:
        """What a panel shows, on its own line above the panel where the left margin is narrow."""
        return Label("panel", 0, y, words)

    def _temperatures(self) -> Iterator[Shape]:
        base = self.temperature_y + self.sheet.temperature
        yield self._title(self.temperature_y - 5, "Temperature")
        yield Rule("base", self.sheet.left, base, self.right, base)
        series = {"air_c": self.sky, "concrete_c": self.slab}
        known = [h[name] for name, hours in series.items() for h in hours if h[name] is not None]
        if not known:
            yield self._unknown(base)
            return
        low, spread = min(known), max(max(known) - min(known), LEAST_SPREAD_C)

        def y(value: float) -> float:
            return round(base - 6 - (value - low) / spread * (self.sheet.temperature - 14), 1)

        for name, hours in series.items():
            yield Path(name, _line([(self.x(_moment(h["at"])), h[name]) for h in hours], y))
        yield Label(
            "scale", self.sheet.left - 6, y(max(known)) + 4, self.telling.temperature(max(known)), "end"
        )
        yield Label("scale", self.sheet.left - 6, y(low) + 4, self.telling.temperature(low), "end")
        yield from self._names(series, y)

    def _names(
        self, series: Mapping[str, Sequence[Json]], y: Say | Callable[[float], float]
    ) -> Iterator[Label]:
        """Each line's name at its own highest point, above the upper line and below the lower."""
        tops = {}
        for name, hours in series.items():
            known = [h for h in hours if h[name] is not None]
            if known:
                tops[name] = known[len(known) // 2] if name == "concrete_c" else known[len(known) * 3 // 4]
        for name, hour in tops.items():
            other = next((v for k, h in tops.items() if k != name for v in [h[k]]), -math.inf)
            line_y = float(y(hour[name]))
            below = hour[name] < other and line_y + 18 < self.temperature_y + self.sheet.temperature
            height = line_y + (15 if below else -7)
            yield Label(f"name {name}", self.x(_moment(hour["at"])), round(height, 1), LINES[name], "middle")

    def _unknown(self, base: float) -> Label:
        middle = round((self.sheet.left + self.right) / 2, 1)
        return Label("unknown", middle, base - 12, "no forecast for it yet", "middle")

    def _drying(self) -> Iterator[Shape]:
        base = self.drying_y + self.sheet.drying
        yield self._title(self.drying_y - 5, "Drying of the surface")
        yield Rule("base", self.sheet.left, base, self.right, base)
        rates = [(self.x(_moment(h["at"])), h["rate_kg_m2_h"]) for h in self.slab]
        known = [(x, rate) for x, rate in rates if rate is not None]
        if not known:
            yield self._unknown(base)
            return
        tall = (self.sheet.drying - 14) / max([rate for _, rate in known] + [self.limit, LEAST_PEAK_KG_M2_H])
        width = round(min(self.hour_width, 40) * 0.62, 1)
        for x, rate in known:
            over = rate >= self.limit
            box = Box(
                "dry", round(x - width / 2, 1), round(base - rate * tall, 1), width, round(rate * tall, 1)
            )
            yield Box("over", box.x, box.y, box.width, box.height, "too-dry") if over else box
        x, peak = max(known, key=lambda one: one[1])
        top = round(base - peak * tall - 4, 1)
        yield Label("value", max(x, self.sheet.left + 4), top, self.telling.drying(peak))
        height = round(base - self.limit * tall, 1)
        yield Rule("limit", self.sheet.left, height, self.right, height)
        said = f"limit {self.telling.drying(self.limit)}"
        yield Label("limit-word", self.right, self.drying_y - 5, said, "end")

    def _rain(self) -> Iterator[Shape]:
        base = self.rain_y + self.sheet.rain
        yield self._title(self.rain_y - 5, "Chance of rain")
        yield Rule("base", self.sheet.left, base, self.right, base)
        known = [(self.x(_moment(h["at"])), h) for h in self.sky if h["rain_chance"] is not None]
        if not known:
            yield self._unknown(base)
            return
        for x, hour in known:
            height = round(hour["rain_chance"] * (self.sheet.rain - 2), 1)
            if hour["rain_chance"] >= RAIN_WORTH_SAYING:
                yield Box(
                    "rain", x, round(base - height, 1), round(self.hour_width - 0.8, 1), height, "raining"
                )
        x, worst = max(known, key=lambda one: float(one[1]["rain_chance"]))
        chance = f"{worst['rain_chance']:.0%}" if worst["rain_chance"] >= RAIN_WORTH_SAYING else "dry"
        up = round(base - worst["rain_chance"] * (self.sheet.rain - 12) - 3, 1)
        yield Label("scale", self.sheet.left - 6, up, chance, "end")
        thunder = [x for x, hour in known if (hour["thunder_chance"] or 0) >= THUNDER_WORTH_SAYING]
        if thunder:
            yield Label(
                "thunder", round(thunder[0] + self.hour_width / 2, 1), self.rain_y - 3, "thunder", "middle"
            )

    # --- the work -----------------------------------------------------------------------------

    def _trucks(self) -> Iterator[Shape]:
        """A box for each truck from its turn until it is empty; one for all where they are many."""
        base, loads = self.trucks_y + self.sheet.row, self.result["delivery"]["loads"]
        yield Label("row", 0, base - 5, "trucks")
        turns = [
            (str(load["number"]), _moment(load["arrives_at"]), _moment(load["ends_at"])) for load in loads
        ]
        if len(turns) > MOST_TRUCKS_DRAWN:
            turns = [(f"{len(turns)} loads", turns[0][1], turns[-1][2])]
        free_at, narrow = self.start, False
        for said, arrives_at, ends_at in turns:
            x = self.x(max(arrives_at, free_at))
            width = round(max(self.x(ends_at) - x - 0.8, 1.5), 1)
            yield Box("truck", x, self.trucks_y + 2, width, self.sheet.row - 4)
            free_at = ends_at
            if width > 1.6 * self.sheet.letter * len(said):
                yield Label("truck-word", round(x + width / 2, 1), base - 6, said, "middle")
            else:
                narrow = True
        if narrow and len(turns) > 1:  # too narrow for their numbers: how many come from when until when
            when = from_to(turns[0][1], turns[-1][1], self.telling.zone, self.telling.units)
            early = self.x(free_at) < self.sheet.width / 2
            x = self.x(free_at) + self.sheet.letter if early else self.x(turns[0][1]) - self.sheet.letter
            yield Label("truck-word", x, base - 6, f"{len(turns)}, {when}", "start" if early else "end")

    def _bands(self) -> Iterator[Shape]:
        for n, (name, look, starts_at, ends_at) in enumerate(self.rows):
            y = round(self.work_y + n * (self.sheet.row + 4), 1)
            yield Label("row", 0, y + self.sheet.row - 6, name)
            x = self.x(starts_at)
            width = round(max(self.x(ends_at) - x, 2), 1)
            yield Box(f"band {look}", x, y, width, self.sheet.row, LOOKS[look])

    def _said(self) -> str:
        """For those who do not see it: what happens when, and the weather's worst."""
        zone, units = self.telling.zone, self.telling.units
        work = "; ".join(
            f"{name} {_clock_name(start, zone, units)} to {_clock_name(end, zone, units)}"
            for name, _, start, end in self.rows
        )
        airs = [h["air_c"] for h in self.sky if h["air_c"] is not None]
        rates = [h["rate_kg_m2_h"] for h in self.slab if h["rate_kg_m2_h"] is not None]
        rain = [h["rain_chance"] for h in self.sky if h["rain_chance"] is not None]
        said = [
            f"air {self.telling.temperature(min(airs))} to {self.telling.temperature(max(airs))}"
            if airs
            else "",
            f"drying at most {self.telling.drying(max(rates))}" if rates else "",
            f"chance of rain at most {max(rain):.0%}" if rain else "",
            f"{len(self.result['delivery']['loads'])} trucks",
            work,
        ]
        return "; ".join(part for part in said if part)


def _work(result: Json) -> Iterator[tuple[str, str, datetime, datetime]]:
    """Each band: what it is called, how it looks, from when until when."""
    yield "place", "place", _moment(result["starts_at"]), _moment(result["placed_at"])
    kinds = [one["kind"] for one in result["finishing"]["passes"]]
    for n, one in enumerate(result["finishing"]["passes"], start=1):
        word = PASSES.get(one["kind"], one["kind"].replace("_", " "))
        name = f"{word} {kinds[:n].count(one['kind'])}" if kinds.count(one["kind"]) > 1 else word
        look = word if word in LOOKS else "trowel"
        yield name, look, _moment(one["opens_at"]), _moment(one["closes_at"])
    saw = result["sawing"]
    if saw["starts_at"]:
        yield "cut", "cut", _moment(saw["opens_at"]), _moment(saw["last_call_at"])


def _line(points: Iterable[tuple[float, float | None]], y: Callable[[float], float]) -> str:
    """A broken line: where a value is missing the line stops and starts again."""
    said, pen_down = [], False
    for x, value in points:
        if value is not None:
            said.append(f"{'L' if pen_down else 'M'}{x} {y(value)}")
        pen_down = value is not None
    return "".join(said)


def _moment(told: str) -> datetime:
    return datetime.fromisoformat(told)


def _hour_name(wall: datetime, units: str) -> str:
    """``6 am``, ``noon``, ``Fri`` at the midnight that begins it; ``06`` to readers of metric units."""
    if wall.hour == 0:
        return f"{wall:%a}"
    if units == Units.METRIC:
        return f"{wall:%H}"
    return "noon" if wall.hour == 12 else f"{wall.hour % 12 or 12} {'am' if wall.hour < 12 else 'pm'}"


def _clock_name(moment: datetime, zone: ZoneInfo, units: str) -> str:
    wall = moment.astimezone(zone)
    if units == Units.METRIC:
        return f"{wall:%a %H:%M}"
    return f"{wall:%a} {wall.hour % 12 or 12}:{wall:%M} {'am' if wall.hour < 12 else 'pm'}"
