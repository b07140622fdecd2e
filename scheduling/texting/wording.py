"""What texts to people rest on, and what a crew lead reads at five in the morning.

They are worded in the language that is spoken just now (Django's, by thread). Everything told comes in
as facts already on the site's own clock and in the company's units. Whatever the facts hold, the text
leaves in the GSM alphabet where that is possible.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as said

from scheduling.sentences.arrivals import Arrivals
from scheduling.texting.cautions import Caution, warnings
from scheduling.texting.clock import (
    about,
    clock,
    day_name,
    roughly,
    the_clock,
    the_zone_clock,
    zone_clock,
)
from scheduling.texting.segments import segments, to_gsm

AIM_SEGMENTS, MOST_SEGMENTS = 2, 3
PLACE_LENGTH, ADDRESS_LENGTH, DIRECTIONS_LENGTH = 50, 70, 60
SHORTEST_PLACE, SHORTEST_ADDRESS = 20, 30  # where even the bare places of a full day take too much room
WORTH_RAINING_PERCENT = 10
COMFORT = 8  # lines of this rank and above are not worth a segment of their own


class Kit(StrEnum):
    """What to load, in the order it is told."""

    SHEETS = said("sheets")
    LUMBER = said("lumber")
    FOGGER = said("fogger")
    BLANKETS = said("blankets")
    EXTENSION_CHUTE = said("extension chute")
    BARROWS = said("barrows + planks")
    BUGGY = said("power buggy")
    PRIMER = said("pump primer")
    HAND_FLOATS = said("floats")
    BROOM = said("broom")
    POWER_TROWEL = said("power trowel")
    HAND_TROWELS = said("trowels")
    SAW = said("saw + water")
    EARLY_ENTRY_SAW = said("early-entry saw")
    RESPIRATORS = said("respirators")
    CYLINDER_MOLDS = said("cylinder molds")
    RUBBER_BOOTS = said("rubber boots")
    KNEE_BOARDS = said("knee boards")
    GLOVES = said("gloves")
    WASH_WATER = said("wash water")
    DRY_CLOTHES = said("dry clothes")


class Surface(StrEnum):
    """The first tool the finish puts on the slab."""

    TROWEL = "trowel"
    BROOM = "broom"
    FLOAT = "float"


WORK_FROM = {
    Surface.TROWEL: said("Trowel from {clock}."),
    Surface.BROOM: said("Broom from {clock}."),
    Surface.FLOAT: said("Float from {clock}."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """The working hours of the day as told; empty or None where the forecast does not tell."""

    coldest: str
    warmest: str
    wind: str = ""
    rain_percent: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PourFacts:
    """One pour as its crew needs it; moments on the site's own clock, quantities as they are told.

    `plant_first_at` is the first truck on the plant's clock, only where that clock differs from the
    site's. What a pour without a plan lacks is empty.
    """

    site: str
    address: str
    directions: str = ""
    on_hold: bool = False
    starts_at: datetime
    call_at: datetime
    arrivals: Arrivals | None = None
    holds_last_load: bool = False
    plant: str = ""
    plant_first_at: datetime | None = None
    mix: str = ""
    quantity: str = ""
    surface: Surface = Surface.TROWEL
    floats_from_at: datetime | None = None
    cut_from_at: datetime | None = None
    cut_until_at: datetime | None = None
    weather: Weather | None = None
    cautions: tuple[Caution, ...] = ()
    kit: frozenset[Kit] = frozenset()
    power_trowels: int = 0
    test_cylinders: int = 0

    @property
    def place(self) -> str:
        return clip(self.site, PLACE_LENGTH)

    @property
    def is_urgent(self) -> bool:
        """Whether its crew must not go, or not pour, as things stand."""
        return self.on_hold or any(caution.is_stop for caution in self.cautions)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFacts:
    """An order as the office must speak of it to the plant."""

    site: str
    plant: str
    plant_phone: str
    quantity: str
    mix: str
    arrivals: Arrivals
    first_at: datetime
    plant_first_at: datetime | None
    order_by: datetime  # on the plant's clock
    called_in: bool


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a text; where room is short, those of the highest rank go first."""

    rank: int
    text: str


def clip(text: str, length: int) -> str:
    """The text, cut short with dots where it is longer than that."""
    text = " ".join(text.split())
    return text if len(text) <= length else f"{text[: length - 3].rstrip()}..."


# --- the morning text -------------------------------------------------------------------------


def morning_text(pours: Sequence[PourFacts], crew: Sequence[str], link: str = "") -> str:
    """The day of one crew lead: its pours in order, who is coming, what to load, where to read more.

    Two segments where that can be had by leaving out comforts alone; otherwise as much as three hold,
    and one more for each pour beyond the third. Only several pours with names of a dear alphabet may
    take more: when and where is never left out.
    """
    most = max(MOST_SEGMENTS, len(pours))
    lines = list(_morning_lines(pours, crew, link, PLACE_LENGTH, ADDRESS_LENGTH))
    aimed = _fitted(lines, AIM_SEGMENTS, least_rank=COMFORT)
    return aimed or _fitted(lines, most) or _shortest(pours, most)


def _fitted(lines: Sequence[Line], most: int, least_rank: int = 1) -> str:
    """The lines without the last of the highest rank, and so on; empty where they do not fit even so."""
    kept = list(lines)
    while True:
        text = to_gsm("\n".join(line.text for line in kept))
        if segments(text) <= most:
            return text
        rank = max(line.rank for line in kept)
        if rank < least_rank:
            return ""
        del kept[max(at for at, line in enumerate(kept) if line.rank == rank)]


def _shortest(pours: Sequence[PourFacts], most: int) -> str:
    """Places cut shorter and shorter, as after names of a dear alphabet; when and where is told whole."""
    for short in range(SHORTEST_ADDRESS, 0, -5):
        lines = _morning_lines(pours, (), "", min(short, SHORTEST_PLACE), short)
        text = to_gsm("\n".join(line.text for line in lines if line.rank == 0))
        if segments(text) <= most:
            break
    return text


def _morning_lines(
    pours: Sequence[PourFacts], crew: Sequence[str], link: str, place: int, address: int
) -> Iterator[Line]:
    day = day_name(pours[0].starts_at)
    day = f"{day[0].upper()}{day[1:]}"
    if len(pours) > 1:
        yield Line(0, gettext("{day}: {count} pours").format(day=day, count=len(pours)))
    warned: set[str] = set()
    for number, pour in enumerate(pours, start=1):
        head = f"{number}." if len(pours) > 1 else f"{day}:"
        at = where(pour, place, address)
        yield from _held_lines(head, at) if pour.on_hold else _pour_lines(pour, head, at, warned)
    going = [pour for pour in pours if not pour.on_hold]
    weather = [pour.weather for pour in going if pour.weather]
    if weather:
        yield Line(7, weather_line(weather))
    if going and crew:
        yield Line(5, gettext("Crew: {names}.").format(names=", ".join(crew)))
    if load := load_line(going):
        yield Line(1, gettext("Load: {load}.").format(load=load))
    if link:
        yield Line(1, link)


def where(pour: PourFacts, place_length: int = PLACE_LENGTH, address_length: int = ADDRESS_LENGTH) -> str:
    """The place with its address, once where the one says the other."""
    place, address = clip(pour.site, place_length), clip(pour.address, address_length)
    return address if place in address else f"{place}, {address}"


def _held_lines(head: str, where: str) -> Iterator[Line]:
    yield Line(
        0, gettext("{head} ON HOLD, do not go: {where}. Wait for the office.").format(head=head, where=where)
    )


def _pour_lines(pour: PourFacts, head: str, at: str, warned: set[str]) -> Iterator[Line]:
    """All of one pour; what was warned of before it in these words is not said again."""
    yield Line(0, f"{head} {at}")
    if pour.directions:
        yield Line(COMFORT, clip(pour.directions, DIRECTIONS_LENGTH))
    be_there = gettext("Be there {the_clock}.").format(the_clock=the_clock(pour.call_at, pour.starts_at))
    yield Line(0, f"{be_there} {trucks(pour)}")
    if pour.quantity:
        yield Line(2, f"{pour.quantity} {pour.mix}, {pour.plant}{_plant_clock(pour.plant_first_at)}.")
    later = _later(pour)
    if later:
        yield Line(3, later)
    new = [warning for warning in warnings(pour.cautions, pour.starts_at) if warning not in warned]
    for rank, warning in zip((1, 4, 6), new, strict=False):
        warned.add(warning)
        yield Line(rank, warning)


def trucks(pour: PourFacts) -> str:
    """How many trucks from when, as a sentence."""
    first = the_zone_clock(pour.starts_at) if pour.plant_first_at else the_clock(pour.starts_at)
    if pour.arrivals is None:
        return gettext("First truck {first}.").format(first=first)
    asked = pour.arrivals.short(first)
    if pour.holds_last_load:
        return gettext("{trucks}; call for the last.").format(trucks=asked)
    return f"{asked}."


def _plant_clock(plant_first_at: datetime | None) -> str:
    return f" ({zone_clock(plant_first_at)})" if plant_first_at else ""


def _later(pour: PourFacts) -> str:
    told = []
    if pour.floats_from_at:
        from_at = about(pour.floats_from_at, pour.starts_at)
        told.append(gettext(WORK_FROM[pour.surface]).format(clock=from_at))
    if span := cut_span(pour):
        told.append(gettext("Cut {span}.").format(span=span))
    return " ".join(told)


def cut_span(pour: PourFacts) -> str:
    """``8pm-Tue 3:30am``: from the first try to the last call; empty where nothing is cut."""
    if pour.cut_from_at is None or pour.cut_until_at is None:
        return ""
    first, last = roughly(pour.cut_from_at), roughly(pour.cut_until_at)
    return f"{clock(first, pour.starts_at)}-{clock(last, first)}"


def weather_line(hours: Sequence[Weather]) -> str:
    """``72 to 91 F, wind 12 mph, rain 40%.`` for the whole day; the unit is said once."""
    coldest = min((one.coldest for one in hours), key=_number)
    warmest = max((one.warmest for one in hours), key=_number)
    wind = max((one.wind for one in hours), key=_number)
    rain = max(one.rain_percent or 0 for one in hours)
    low, _, unit = coldest.partition(" ")
    if low != warmest.partition(" ")[0]:
        low = low if unit and warmest.endswith(unit) else coldest
        warmest = gettext("{low} to {high}").format(low=low, high=warmest)
    told = [warmest]
    if wind:
        told.append(gettext("wind {wind}").format(wind=wind))
    if rain >= WORTH_RAINING_PERCENT:
        told.append(gettext("rain {percent}%").format(percent=rain))
    return f"{', '.join(told)}."


def _number(quantity: str) -> float:
    """The number of a quantity as told; of an empty one, less than any."""
    return float(quantity.partition(" ")[0].replace(",", "")) if quantity else -math.inf


def load_line(pours: Sequence[PourFacts]) -> str:
    kit = frozenset().union(*(pour.kit for pour in pours))
    machines = max((pour.power_trowels for pour in pours), default=0)
    counted = {}
    if machines > 1:
        counted[Kit.POWER_TROWEL] = gettext("{count} power trowels").format(count=machines)
    if cylinders := sum(pour.test_cylinders for pour in pours):
        counted[Kit.CYLINDER_MOLDS] = gettext("{count} cylinder molds").format(count=cylinders)
    return ", ".join(counted.get(item, gettext(item.value)) for item in Kit if item in kit)
