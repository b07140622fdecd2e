"""The slab bay by bay as it is placed: drawn to scale, and which load fills each when."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.pages.drawings import Frame, corners
from scheduling.pages.wording import Words

Json = Mapping[str, Any]

MOST_IN_THE_OPEN = 40  # a longer table is folded away
MOST_ROWS = 150  # past it the table has a row a load, so that the page stays light
MOST_DRAWN = 400
LETTER_WIDTH = 0.58  # of a letter's height, on average
LETTERS_WIDE = 4.4  # three figures and air on both sides
LARGEST_LETTERS, LOAD_LETTERS = 17.0, 10.5


@dataclass(frozen=True)
class BayShape:
    """A bay on the drawing; `load` says what fills it, empty where there is no room to say it."""

    path: str
    x: float
    y: float
    load_y: float
    letters: float
    number: int
    load: str
    is_odd: bool  # of the load that comes first: neighbours from another truck are shaded otherwise


@dataclass(frozen=True)
class BayDrawing:
    title: str
    frame: Frame
    bays: tuple[BayShape, ...]
    across: str
    down: str

    @property
    def said(self) -> str:
        first, last = self.bays[0].number, self.bays[-1].number
        which = f"bay {first}" if first == last else f"bays {first} to {last} in placing order"
        return f"{self.title}, {self.across} by {self.down}: {which}; the table below has the numbers"


@dataclass(frozen=True)
class BayRow:
    number: str
    section: str
    strip: str
    size: str
    concrete: str
    strike_off: str
    loads: str
    when: str


@dataclass(frozen=True)
class BaysWords:
    """`by_load` is set where there are too many bays for a row each."""

    count: int
    strips: int
    board: str
    drawings: tuple[BayDrawing, ...]
    rows: tuple[BayRow, ...]
    has_sections: bool
    by_load: bool

    @property
    def is_folded(self) -> bool:
        return self.count > MOST_IN_THE_OPEN


def bays_words(result: Json, sections: Sequence[Json], zone: ZoneInfo, words: Words) -> BaysWords | None:
    """The bays of a plan; None where it was kept before there were any."""
    plan = result.get("bays")
    if not plan or not plan["bays"]:
        return None
    bays = plan["bays"]
    names = section_names(sections)
    by_load = len(bays) > MOST_ROWS
    rows = _load_rows(result, bays, names, words, zone) if by_load else _bay_rows(bays, names, words, zone)
    return BaysWords(
        count=len(bays),
        strips=len({(bay["section"], bay["strip"]) for bay in bays}),
        board=words.length(plan["strike_width_m"]),
        drawings=tuple(_drawings(bays, sections, names, words)) if len(bays) <= MOST_DRAWN else (),
        rows=tuple(rows),
        has_sections=len(sections) > 1,
        by_load=by_load,
    )


def section_names(sections: Sequence[Json]) -> list[str]:
    """What each section is called, in the order entered."""
    if len(sections) == 1:
        return [sections[0].get("label") or "Slab"]
    return [section.get("label") or f"Section {n}" for n, section in enumerate(sections, start=1)]


# --- drawn ------------------------------------------------------------------------------------


def _drawings(
    bays: Sequence[Json], sections: Sequence[Json], names: Sequence[str], words: Words
) -> Iterator[BayDrawing]:
    for number, (section, name) in enumerate(zip(sections, names, strict=True), start=1):
        frame = Frame.around(corners(section))
        shapes = tuple(_shape(bay, frame) for bay in bays if bay["section"] == number)
        if shapes:
            yield BayDrawing(name, frame, shapes, words.length(frame.long_m), words.length(frame.wide_m))


def _shape(bay: Json, frame: Frame) -> BayShape:
    points = [(x, y) for x, y in bay["corners_m"]]
    x, y = frame.place(*_middle(points))
    across, down = ((max(at) - min(at)) * frame.scale for at in zip(*points, strict=True))
    load = loads_said(bay["loads"], "load ")
    fits = down > 2.4 * LOAD_LETTERS and len(load) * LETTER_WIDTH * LOAD_LETTERS < across
    letters = min(LARGEST_LETTERS, down * (0.5 if fits else 0.8), across / (LETTER_WIDTH * LETTERS_WIDE))
    return BayShape(
        path=frame.path(points),
        x=x,
        y=round(y + (0 if fits else letters * 0.36), 1),
        load_y=round(y + LOAD_LETTERS * 1.3, 1),
        letters=round(letters, 1),
        number=bay["number"],
        load=load if fits else "",
        is_odd=bay["loads"][0] % 2 == 1,
    )


def _middle(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The centre of the area; of what has none, the mean of the corners."""
    parts = [(x1 * y2 - x2 * y1, x1 + x2, y1 + y2) for (x1, y1), (x2, y2) in pairwise([*points, points[0]])]
    thrice = 3 * sum(part for part, _, _ in parts)
    if not thrice:
        return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)
    return sum(part * x for part, x, _ in parts) / thrice, sum(part * y for part, _, y in parts) / thrice


# --- told -------------------------------------------------------------------------------------


def loads_said(loads: Sequence[int], before: str = "") -> str:
    """``load 2``, ``loads 2–4``; loads come one after another."""
    if len(loads) == 1:
        return f"{before}{loads[0]}"
    many = before.replace("load", "loads") if before else ""
    return f"{many}{loads[0]}{'–' if loads[-1] > loads[0] + 1 else ', '}{loads[-1]}"


def _bay_rows(bays: Sequence[Json], names: Sequence[str], words: Words, zone: ZoneInfo) -> Iterator[BayRow]:
    for bay in bays:
        yield BayRow(
            number=str(bay["number"]),
            section=names[bay["section"] - 1],
            strip=str(bay["strip"]),
            size=f"{words.length(bay['width_m'])} by {words.length(bay['length_m'])}",
            concrete=words.volume(bay["volume_m3"]),
            strike_off=_minutes(bay["strike_off_min"]),
            loads=loads_said(bay["loads"]),
            when=_when(bay["starts_at"], bay["ends_at"], words, zone),
        )


def _load_rows(
    result: Json, bays: Sequence[Json], names: Sequence[str], words: Words, zone: ZoneInfo
) -> Iterator[BayRow]:
    """A row for each load; a bay that two loads fill is named with both."""
    for load in result["delivery"]["loads"]:
        filled = [bay for bay in bays if load["number"] in bay["loads"]]
        if not filled:
            continue
        first, last = filled[0], filled[-1]
        yield BayRow(
            number=_span(first["number"], last["number"]),
            section=_span(names[first["section"] - 1], names[last["section"] - 1]),
            strip=_span(first["strip"], last["strip"]) if first["section"] == last["section"] else "",
            size="",
            concrete=words.ordered(load["m3"]),
            strike_off=_minutes(sum(bay["strike_off_min"] / len(bay["loads"]) for bay in filled)),
            loads=str(load["number"]),
            when=_when(load["starts_at"], load["ends_at"], words, zone),
        )


def _span(first: object, last: object) -> str:
    return str(first) if first == last else f"{first}–{last}"


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 1 else "under 1 min"


def _when(start: str | None, end: str | None, words: Words, zone: ZoneInfo) -> str:
    if not start or not end:
        return ""
    return words.from_to(datetime.fromisoformat(start), datetime.fromisoformat(end), zone)
