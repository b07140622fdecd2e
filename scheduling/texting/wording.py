"""Texts to people, in plain English: what a crew lead reads at five in the morning, and reminders.

Everything told comes in as facts already on the site's own clock and in the company's units.
Whatever the facts hold, the text leaves in the GSM alphabet where that is possible.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from scheduling.sentences.arrivals import Arrivals
from scheduling.texting.cautions import Caution, warnings
from scheduling.texting.clock import about, clock, day_name, zone_clock
from scheduling.texting.segments import segments, to_gsm

MOST_SEGMENTS = 10  # what carriers put together again on a phone
EVENING_SEGMENTS = 2
PLACE_LENGTH, ADDRESS_LENGTH, DIRECTIONS_LENGTH = 50, 70, 60


class Kit(StrEnum):
    """What to load, in the order it is told."""

    SHEETS = "sheets"
    FOGGER = "fogger"
    BLANKETS = "blankets"
    EXTENSION_CHUTE = "extension chute"
    BARROWS = "barrows + planks"
    BUGGY = "power buggy"
    PRIMER = "pump primer"
    HAND_FLOATS = "floats"
    BROOM = "broom"
    POWER_TROWEL = "power trowel"
    HAND_TROWELS = "trowels"
    SAW = "saw + water"
    EARLY_ENTRY_SAW = "early-entry saw"
    RESPIRATORS = "respirators"
    RUBBER_BOOTS = "rubber boots"
    KNEE_BOARDS = "knee boards"
    GLOVES = "gloves"
    WASH_WATER = "wash water"
    DRY_CLOTHES = "dry clothes"


class Surface(StrEnum):
    """The first tool the finish puts on the slab, as the lead calls the work."""

    TROWEL = "Trowel"
    BROOM = "Broom"
    FLOAT = "Float"


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

    @property
    def place(self) -> str:
        return clip(self.site, PLACE_LENGTH)


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


def morning_text(pours: Sequence[PourFacts], crew: Sequence[str]) -> str:
    """The day of one crew lead: its pours in order, who is coming, what to load.

    Of everything there is to say, as much as fits three segments for one pour and two for each
    further one.
    """
    most = min(2 * len(pours) + 1, MOST_SEGMENTS)
    lines = list(_morning_lines(pours, crew))
    for rank in range(max(line.rank for line in lines), -1, -1):
        text = to_gsm("\n".join(line.text for line in lines if line.rank <= rank))
        if segments(text) <= most:
            break
    return text


def _morning_lines(pours: Sequence[PourFacts], crew: Sequence[str]) -> Iterator[Line]:
    if len(pours) > 1:
        yield Line(0, f"{day_name(pours[0].starts_at)}: {len(pours)} pours")
    for number, pour in enumerate(pours, start=1):
        head = f"{number}." if len(pours) > 1 else f"{day_name(pour.starts_at)}:"
        yield from _held_lines(pour, head) if pour.on_hold else _pour_lines(pour, head)
    going = [pour for pour in pours if not pour.on_hold]
    if going and crew:
        yield Line(4, f"Crew: {', '.join(crew)}.")
    if load := _load(going):
        yield Line(1, f"Load: {load}.")


def _where(pour: PourFacts) -> str:
    address = clip(pour.address, ADDRESS_LENGTH)
    return address if pour.place in address else f"{pour.place}, {address}"


def _held_lines(pour: PourFacts, head: str) -> Iterator[Line]:
    yield Line(0, f"{head} ON HOLD, do not go: {_where(pour)}. Wait for the office.")


def _pour_lines(pour: PourFacts, head: str) -> Iterator[Line]:
    yield Line(0, f"{head} {_where(pour)}")
    if pour.directions:
        yield Line(8, clip(pour.directions, DIRECTIONS_LENGTH))
    yield Line(0, f"Be there {clock(pour.call_at, pour.starts_at)}. {_trucks(pour)}")
    if pour.quantity:
        yield Line(2, f"{pour.quantity} {pour.mix} from {pour.plant}{_plant_clock(pour.plant_first_at)}.")
    later = _later(pour)
    if later:
        yield Line(3, later)
    if pour.weather:
        yield Line(6, _weather(pour.weather))
    for rank, warning in zip((1, 5, 7), warnings(pour.cautions, pour.starts_at), strict=False):
        yield Line(rank, warning)


def _trucks(pour: PourFacts) -> str:
    first = zone_clock(pour.starts_at) if pour.plant_first_at else clock(pour.starts_at)
    if pour.arrivals is None:
        return f"First truck {first}."
    last = ", last when you call" if pour.holds_last_load else ""
    return f"{pour.arrivals.short(first)}{last}."


def _plant_clock(plant_first_at: datetime | None) -> str:
    return f" ({zone_clock(plant_first_at)})" if plant_first_at else ""


def _later(pour: PourFacts) -> str:
    said = []
    if pour.floats_from_at:
        said.append(f"{pour.surface} from {about(pour.floats_from_at, pour.starts_at)}.")
    if pour.cut_from_at and pour.cut_until_at:
        start, end = (about(moment, pour.starts_at) for moment in (pour.cut_from_at, pour.cut_until_at))
        said.append(f"Cut {start}-{end}.")
    return " ".join(said)


def _weather(weather: Weather) -> str:
    """``72 to 91 F, wind 12 mph, rain 40%.``; the unit is said once."""
    number, _, unit = weather.coldest.partition(" ")
    low = number if unit and weather.warmest.endswith(unit) else weather.coldest
    said = [weather.warmest if low == weather.warmest.split()[0] else f"{low} to {weather.warmest}"]
    if weather.wind:
        said.append(f"wind {weather.wind}")
    if weather.rain_percent:
        said.append(f"rain {weather.rain_percent}%")
    return f"{', '.join(said)}."


def _load(pours: Sequence[PourFacts]) -> str:
    kit = frozenset().union(*(pour.kit for pour in pours))
    machines = max((pour.power_trowels for pour in pours), default=0)
    counted = {Kit.POWER_TROWEL: f"{machines} power trowels"} if machines > 1 else {}
    return ", ".join(counted.get(item, item.value) for item in Kit if item in kit)


# --- reminders --------------------------------------------------------------------------------


def evening_text(pour: PourFacts, crew: str, *, to_lead: bool) -> str:
    """The evening before, to dispatchers and the lead: what speaks against tomorrow, gravest first."""
    said = warnings(pour.cautions, pour.starts_at, call_office=to_lead)
    who = "" if to_lead or not crew else f", crew {crew}"
    act = (
        "Load for it; call the office tonight if it should move."
        if to_lead
        else "Move it, or get ready for it."
    )
    head = f"TOMORROW {day_name(pour.starts_at)} {clock(pour.starts_at)}, {pour.place}{who}:"
    while len(said) > 1 and segments(to_gsm(f"{head} {' '.join(said)} {act}")) > EVENING_SEGMENTS:
        said.pop()
    return to_gsm(f"{head} {' '.join(said)} {act}")


def evening_hold_text(pour: PourFacts, crew: str) -> str:
    """The evening before, to dispatchers: tomorrow's pour is on hold, and people and trucks hang on it."""
    told = f" Crew {crew} is told not to go." if crew else ""
    plant = f" and tell {pour.plant}" if pour.plant else ""
    return to_gsm(
        f"TOMORROW {day_name(pour.starts_at)} {clock(pour.starts_at)}: {pour.place} is still ON HOLD. "
        f"Release it, or move it{plant}.{told}"
    )


def frost_text(pour: PourFacts, at: datetime) -> str:
    """To the lead, the afternoon before the first frost on a young slab."""
    return to_gsm(
        f"{pour.place}: frost from {clock(at, pour.starts_at)}. Blankets on the whole slab today, edges "
        "and corners double, weighed down."
    )


def order_text(order: OrderFacts, now: datetime) -> str:
    """To the office, shortly before the plant's cut-off."""
    cut_off = clock(order.order_by, now.astimezone(order.order_by.tzinfo))
    when = f"by {cut_off} {order.order_by:%Z}" if order.plant_first_at else f"by {cut_off}"
    if order.order_by <= now:
        return to_gsm(f"NOT ORDERED, cut-off was {cut_off}. Call {_plant(order)} now: {_asked(order)}")
    return to_gsm(f"Call {_plant(order)} {when}: {_asked(order)}")


def confirm_text(order: OrderFacts) -> str:
    """To the office, when the plant has not confirmed after its cut-off."""
    state = "called in, not confirmed" if order.called_in else "not even called in"
    return to_gsm(f"{_plant(order)}: {state}. {_asked(order)}")


def _plant(order: OrderFacts) -> str:
    return f"{order.plant} {order.plant_phone}".rstrip()


def _asked(order: OrderFacts) -> str:
    first = order.plant_first_at or order.first_at
    at = zone_clock(first) if order.plant_first_at else clock(first)
    return (
        f"{order.quantity} {order.mix}, on site {day_name(first)}, {order.arrivals.short(at)}, "
        f"for {clip(order.site, PLACE_LENGTH)}."
    )


def on_site_text(pour: PourFacts) -> str:
    """To the lead, half an hour before the crew must stand on site."""
    return to_gsm(f"Be at {_where(pour)} by {clock(pour.call_at)}. First truck {clock(pour.starts_at)}.")


def finish_text(pour: PourFacts) -> str:
    """To the lead, shortly before the first strip can be ready."""
    return to_gsm(
        f"{pour.place}: first strip may take a {pour.surface.lower()}{_from(pour, pour.floats_from_at)}. "
        "Wait for a shallow footprint and no shine."
    )


def first_cut_text(pour: PourFacts) -> str:
    """To the lead, when the saw may first go on."""
    return to_gsm(
        f"{pour.place}: try a cut{_from(pour, pour.cut_from_at)}. If it ravels, wait 30 min and try again."
    )


def last_cut_text(pour: PourFacts, hours: float) -> str:
    """To the lead, when the cutting must begin to be done in time."""
    by = f" by {about(pour.cut_until_at, pour.starts_at)}" if pour.cut_until_at else ""
    return to_gsm(
        f"{pour.place}: cut all joints{by}, about {_duration(hours)} of work. If not begun, begin now."
    )


def cure_text(pour: PourFacts, at: datetime) -> str:
    """To the lead, when the surface is finished and must be kept wet or sealed."""
    return to_gsm(f"{pour.place}: start curing{_from(pour, at)}.")


def _from(pour: PourFacts, at: datetime | None) -> str:
    return f" from {about(at, pour.starts_at)}" if at else ""


def late(text: str) -> str:
    """The reminder marked as one that goes out later than it should have."""
    return f"LATE. {text}"


def _duration(hours: float) -> str:
    minutes = max(5, round(hours * 12) * 5)
    return f"{minutes} min" if minutes < 90 else f"{round(minutes / 30) / 2:g} h"
