"""What is drawn: joint layouts to scale, and the day's temperatures and drying."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

LAYOUT_WIDTH, LAYOUT_HEIGHT = 460.0, 300.0
MARGIN = 34.0

CHART_WIDTH, PANEL_HEIGHT = 640.0, 120.0
LEFT, RIGHT, PAD = 8.0, 118.0, 12.0
HOUR_ROOM = 52.0
LEAST_SPREAD_C, LEAST_PEAK_KG_M2_H = 4.0, 0.25  # a quiet day is drawn quiet
TEMPERATURES = {"concrete_c": "slab", "air_c": "air"}

Json = Mapping[str, Any]
Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Frame:
    """A section's outline as large as there is room for; y runs down, as screens do."""

    left_m: float
    top_m: float
    long_m: float
    wide_m: float
    scale: float
    outline: str  # a path

    @classmethod
    def around(cls, points: Points) -> "Frame":
        left, top = min(x for x, _ in points), max(y for _, y in points)
        long_m, wide_m = max(x for x, _ in points) - left, top - min(y for _, y in points)
        bare = cls(left, top, long_m, wide_m, min(LAYOUT_WIDTH / long_m, LAYOUT_HEIGHT / wide_m), "")
        return replace(bare, outline=bare.path(points))

    def place(self, x_m: float, y_m: float) -> tuple[float, float]:
        return (
            round(MARGIN + (x_m - self.left_m) * self.scale, 1),
            round(8 + (self.top_m - y_m) * self.scale, 1),
        )

    def path(self, points: Points) -> str:
        return "M" + "L".join(f"{x:g} {y:g}" for x, y in (self.place(*point) for point in points)) + "Z"

    @property
    def right(self) -> float:
        return MARGIN + self.long_m * self.scale

    @property
    def bottom(self) -> float:
        return 8 + self.wide_m * self.scale

    @property
    def width(self) -> float:
        return round(self.right + MARGIN, 1)

    @property
    def height(self) -> float:
        return round(self.bottom + 26, 1)

    @property
    def middle_x(self) -> float:
        return round((MARGIN + self.right) / 2, 1)

    @property
    def middle_y(self) -> float:
        return round((8 + self.bottom) / 2, 1)

    @property
    def below(self) -> float:
        return round(self.bottom + 18, 1)


@dataclass(frozen=True)
class LayoutDrawing:
    """One section's outline and joints in the drawing's own units."""

    title: str
    frame: Frame
    joints: tuple[Line, ...]
    across: str
    down: str
    panels: str

    @property
    def said(self) -> str:
        return f"{self.title}, {self.across} by {self.down}: {self.panels}"


def corners(section: Mapping[str, Any]) -> list[tuple[float, float]]:
    """The outline's corners in metres; a circle as many, a plain area as the square of its size."""
    match section["shape"]:
        case "rectangle":
            return _box(section["length_m"], section["width_m"])
        case "trapezoid":
            a, b, height = section["length_m"], section["side_b_m"], section["width_m"]
            return [(0.0, 0.0), (a, 0.0), (b, height), (0.0, height)]
        case "circle":
            radius = section["diameter_m"] / 2
            turns = (math.tau * n / 72 for n in range(72))
            return [(radius + radius * math.cos(turn), radius + radius * math.sin(turn)) for turn in turns]
        case "polygon":
            return [(float(x), float(y)) for x, y in section["corners_m"]]
        case _:
            side = math.sqrt(section["area_m2"])
            return _box(side, side)


def _box(length_m: float, width_m: float) -> list[tuple[float, float]]:
    return [(0.0, 0.0), (length_m, 0.0), (length_m, width_m), (0.0, width_m)]


def layout_drawing(
    section: Mapping[str, Any], layout: Mapping[str, Any], title: str, length: Callable[[float], str]
) -> LayoutDrawing:
    """Draw a section with its joints as large as the frame allows; `length` writes a length in metres."""
    frame = Frame.around(corners(section))
    return LayoutDrawing(
        title=title,
        frame=frame,
        joints=tuple(_joint(joint, frame) for joint in layout["joints"]),
        across=length(frame.long_m),
        down=length(frame.wide_m),
        panels=_panels(layout, length),
    )


def _panels(layout: Json, length: Callable[[float], str]) -> str:
    count = f"{layout['panels_long']} by {layout['panels_wide']} panels"
    return f"{count}, none over {length(layout['spacing_m'])}"


def _joint(joint: Mapping[str, float], frame: Frame) -> Line:
    return Line(*frame.place(joint["x1_m"], joint["y1_m"]), *frame.place(joint["x2_m"], joint["y2_m"]))


@dataclass(frozen=True)
class Mark:
    x: float
    y: float
    words: str


@dataclass(frozen=True)
class Bar:
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Chart:
    """Temperatures above, drying below, hour by hour; where a value is not known nothing is drawn."""

    concrete: str
    air: str
    ends: tuple[Mark, ...]
    bars: tuple[Bar, ...]
    peak: Mark | None
    limit: Mark | None
    hours: tuple[Mark, ...]
    width: float = CHART_WIDTH
    height: float = 2 * PANEL_HEIGHT + 24
    plot_right: float = CHART_WIDTH - RIGHT
    upper_base: float = PANEL_HEIGHT
    lower_title: float = PANEL_HEIGHT + 16
    lower_base: float = 2 * PANEL_HEIGHT


@dataclass(frozen=True)
class _Scale:
    """Where hours, temperatures and rates lie on the chart."""

    xs: tuple[float, ...]
    step: float
    low_c: float
    spread_c: float
    tall: float  # for a rate of one

    @classmethod
    def of(cls, hours: Sequence[Json], limit: float | None) -> "_Scale":
        step = (CHART_WIDTH - LEFT - RIGHT) / len(hours)
        temps = [hour[name] for hour in hours for name in TEMPERATURES if hour[name] is not None] or [0.0]
        rates = [hour["rate_kg_m2_h"] or 0.0 for hour in hours]
        return cls(
            xs=tuple(round(LEFT + step * (n + 0.5), 1) for n in range(len(hours))),
            step=step,
            low_c=min(temps),
            spread_c=max(max(temps) - min(temps), LEAST_SPREAD_C),
            tall=(PANEL_HEIGHT - 2.5 * PAD) / max(*rates, limit or 0.0, LEAST_PEAK_KG_M2_H),
        )

    def height(self, temp_c: float) -> float:
        up = (temp_c - self.low_c) / self.spread_c * (PANEL_HEIGHT - 2.5 * PAD)
        return round(PANEL_HEIGHT - PAD / 2 - up, 1)

    def top(self, rate_kg_m2_h: float) -> float:
        return round(2 * PANEL_HEIGHT - rate_kg_m2_h * self.tall, 1)


def day_chart(
    hours: Sequence[Json],
    names: Sequence[str],
    limit: float | None,
    temperature: Callable[[float], str],
    drying: Callable[[float], str],
) -> Chart | None:
    """Draw the hours of weather kept with a plan; None where there is too little to draw."""
    if len(hours) < 2:
        return None
    scale = _Scale.of(hours, limit)
    return Chart(
        concrete=_path(hours, "concrete_c", scale),
        air=_path(hours, "air_c", scale),
        ends=tuple(_apart(list(_ends(hours[-1], scale, temperature)))),
        bars=tuple(_bars(hours, scale)),
        peak=_peak(hours, scale, drying),
        limit=Mark(0, scale.top(limit), f"limit {drying(limit)}") if limit else None,
        hours=tuple(_hour_marks(names, scale)),
    )


def _hour_marks(names: Sequence[str], scale: _Scale) -> Iterator[Mark]:
    """As many hours as there is room for."""
    every = math.ceil(HOUR_ROOM / scale.step)
    for n in range(0, len(names), every):
        yield Mark(scale.xs[n], 2 * PANEL_HEIGHT + 16, names[n])


def _ends(last: Json, scale: _Scale, temperature: Callable[[float], str]) -> Iterator[Mark]:
    for name, said in TEMPERATURES.items():
        if last[name] is not None:
            x = round(scale.xs[-1] + 8, 1)
            yield Mark(x, scale.height(last[name]) + 4, f"{said} {temperature(last[name])}")


def _path(hours: Sequence[Json], name: str, scale: _Scale) -> str:
    """A broken line: where a value is missing the line stops and starts again."""
    said, pen_down = [], False
    for x, hour in zip(scale.xs, hours, strict=True):
        if hour[name] is not None:
            said.append(f"{'L' if pen_down else 'M'}{x} {scale.height(hour[name])}")
        pen_down = hour[name] is not None
    return "".join(said)


def _bars(hours: Sequence[Json], scale: _Scale) -> Iterator[Bar]:
    width = round(scale.step * 0.6, 1)
    for x, hour in zip(scale.xs, hours, strict=True):
        if hour["rate_kg_m2_h"] is not None:
            top = scale.top(hour["rate_kg_m2_h"])
            yield Bar(round(x - width / 2, 1), top, width, round(2 * PANEL_HEIGHT - top, 1))


def _peak(hours: Sequence[Json], scale: _Scale, drying: Callable[[float], str]) -> Mark | None:
    rates = {
        x: h["rate_kg_m2_h"] for x, h in zip(scale.xs, hours, strict=True) if h["rate_kg_m2_h"] is not None
    }
    if not rates:
        return None
    x = max(rates, key=lambda at: rates[at])
    return Mark(max(x, 60.0), scale.top(rates[x]) - 5, drying(rates[x]))


def _apart(marks: list[Mark], least: float = 14.0) -> list[Mark]:
    """Two labels that would lie on each other, moved apart."""
    if len(marks) < 2 or abs(marks[0].y - marks[1].y) >= least:
        return marks
    upper, lower = sorted(marks, key=lambda mark: mark.y)
    middle = (upper.y + lower.y) / 2
    return [Mark(upper.x, middle - least / 2, upper.words), Mark(lower.x, middle + least / 2, lower.words)]
