"""What a pour under way wants of people: alarms to see to, a measure to take, and each strip of its slab."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import Pour
from scheduling.pages.brief import moment
from scheduling.pages.wording import Words, about
from scheduling.queries import sitenotes
from scheduling.services import alarms, balance

Json = Mapping[str, Any]

PLANTS_SHOWN = 3
STAYS_AWAY = frozenset({"truck_missing", "gap_growing", "gap_too_long"})
BALANCE = {
    "balance_asked": "Balance load of {amount} asked for; it can still be cancelled.",
    "balance_loading": "Balance load of {amount} is loading: it is ours now.",
    "balance_gone": "Balance load of {amount} is on its way.",
    "balance_cancelled": "Balance load cancelled.",
}
ENOUGH = "Nothing more is to be ordered."
STEPS = {
    "balance_asked": (
        ("balance_loading", "It is loading"),
        ("balance_gone", "It is on its way"),
        ("balance_cancelled", "Cancelled by phone"),
    ),
    "balance_loading": (("balance_gone", "It is on its way"),),
}


@dataclass(frozen=True)
class AlarmWords:
    """A trouble that somebody must say they see to; `by` is who did, empty where nobody has."""

    pk: int
    words: str
    by: str


@dataclass(frozen=True)
class LeftWords:
    """What a measure makes of the balance load; `amount` is what to ask for, empty where nothing is short."""

    said: tuple[str, ...] = ()
    is_short: bool = False
    amount: str = ""


@dataclass(frozen=True)
class StripRow:
    """One strip of the slab: what was, and about when it wants what."""

    number: int
    loads: str
    area: str
    placed: str
    ready: str
    is_ready: bool
    finished: str
    cut: str


def alarms_of(pour: Pour, run: Json, zone: ZoneInfo, words: Words) -> Iterator[AlarmWords]:
    """The troubles that stand now, with who sees to them."""
    for alarm, finding in alarms.standing(pour, run["findings"]):
        yield AlarmWords(alarm.pk, words.finding(finding, zone), str(alarm.acknowledged_by or ""))


def plants_to_phone(pour: Pour, run: Json) -> Iterator[str]:
    """Whom else to phone for concrete, where it stays away."""
    if any(finding["code"] in STAYS_AWAY for finding in run["findings"]):
        for name, phone, minutes in alarms.backup_plants(pour)[:PLANTS_SHOWN]:
            yield f"{name}, {phone}, {minutes} min at least"


def strips_of(slab: Json | None, zone: ZoneInfo, words: Words) -> Iterator[StripRow]:
    if slab is None:
        return
    cuts = slab["sawing"]["starts_at"] is not None
    day = moment(slab["strips"][0]["placed_at"]).astimezone(zone).date() if slab["strips"] else None

    def about_when(at: datetime) -> str:
        told = words.clock if at.astimezone(zone).date() == day else words.day_and_time
        return f"about {told(about(at), zone)}"

    for strip in slab["strips"]:
        ready_at, cut_at = moment(strip["ready_at"]), strip["cut_opens_at"]
        yield StripRow(
            number=strip["number"],
            loads=_loads(strip["loads"]),
            area=words.area(strip["area_m2"]),
            placed=words.clock(about(moment(strip["placed_at"])), zone),
            ready=clock_words(ready_at, strip["found_ready"], zone, words),
            is_ready=strip["found_ready"],
            finished="hard before anybody gets there"
            if strip["lost"]
            else about_when(moment(strip["finished_at"])),
            cut=about_when(moment(cut_at)) if cut_at and cuts else "–",
        )


def _loads(numbers: Sequence[int]) -> str:
    return f"load {numbers[0]}" if len(numbers) == 1 else f"loads {numbers[0]}–{numbers[-1]}"


def rain_words(slab: Json | None) -> str:
    """What rain takes of the finishing, forecast or seen."""
    minutes = round(slab["rain_waits_min"]) if slab else 0
    return f"Rain takes {minutes} min of the finishing; the crew stays meanwhile." if minutes else ""


def left_words(stand: Json | None, zone: ZoneInfo, words: Words, now: datetime) -> LeftWords:
    """What is left to place, what to order for it and until when, and how far a balance load has got."""
    if stand is None:
        return LeftWords()
    said = []
    if need := stand["need"]:
        at = words.clock(moment(stand["measured_at"]), zone)
        left, coming = words.volume(need["left_m3"]), words.volume(need["coming_m3"])
        rest = f"{coming} of it was still to come" if need["coming_m3"] else "with no more to come"
        said.append(f"{left} was left to place at {at}, {rest}.")
        said += [ENOUGH] if not need["order_m3"] else []
        said += [to_order(need, zone, words, now)] if stand["is_short"] else []
    if stand["step"]:
        said.append(BALANCE[stand["step"]].format(amount=words.volume(stand["asked_m3"] or 0)))
    amount = words.volume(need["order_m3"]) if stand["is_short"] else ""
    return LeftWords(tuple(said), stand["is_short"], amount)


def to_order(need: Json, zone: ZoneInfo, words: Words, now: datetime) -> str:
    """What to ask of the plant, and until when."""
    amount = words.ordered(need["order_m3"])
    trucks = f" in {need['loads']} trucks" if need["loads"] > 1 else ""
    if need["by_at"] is None:
        return f"Order {amount}{trucks}."
    by_at = moment(need["by_at"])
    by = words.clock(by_at, zone)
    if by_at <= now:
        return f"{amount} short, and the plant’s last batch was at {by}: phone another plant."
    if need["load"] is not None:
        return f"Tell the plant by {by} that load {need['load']} shall bring {amount}."
    return f"Order {amount}{trucks} by {by}, the plant’s last batch."


def asks_measure(pour: Pour, run: Json) -> bool:
    """Near the end what is left is measured, while the last loads can still be changed (NRMCA CIP 8)."""
    return balance.loads_to_measure_with(run["loads"], sitenotes.standing_notes(pour)) > 0


def clock_words(at: datetime, is_noted: bool, zone: ZoneInfo, words: Words) -> str:
    return words.clock(at, zone) if is_noted else f"about {words.clock(about(at), zone)}"
