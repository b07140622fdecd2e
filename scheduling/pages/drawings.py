"""What is drawn: joint layouts to scale."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

LAYOUT_WIDTH, LAYOUT_HEIGHT = 460.0, 300.0
MARGIN = 34.0

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
