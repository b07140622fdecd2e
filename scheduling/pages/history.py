"""What happened to a pour in plain words: who did what when, and what each thing said before and after."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby, zip_longest
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import EventKind, PourEvent
from scheduling.pages.wording import Words, raised
from scheduling.quantities import format_fact

Json = Mapping[str, Any]

# What a pour says, where its column's own name would not tell a reader.
CALLED = {
    "starts_at": "start",
    "people": "people placing",
    "concrete_c": "concrete as delivered",
    "water_c": "mixing water",
    "aggregate_c": "sand and stone",
    "ice_kg_m3": "ice in the mix",
    "age_limit_min": "age a load may have",
    "trucks": "trucks there are",
    "haul_min": "haul",
    "allowance_kind": "way of the allowance",
    "allowance_value": "allowance",
    "hold_last_load": "last load held",
    "call_lead_min": "crew on site before the first truck",
    "joint_spacing_m": "joints apart",
    "reach_m": "reach",
    "carry_m": "way wheeled",
    "rise_m": "climb on the way",
    "line_m": "pump’s line",
    "slump_mm": "slump",
    "base_c": "base as read",
    "truck_sides": "sides trucks stand at",
    "job": "job",
}
NOT_SAID = "not said"
SIZES = ("length_m", "side_b_m", "width_m", "diameter_m", "area_m2")


@dataclass(frozen=True)
class Happening:
    """What one person did at one moment, and what followed from it at once."""

    at: str
    by: str
    what: tuple[str, ...]
    changes: tuple[str, ...]
    reason: str = ""


def happenings(events: Sequence[PourEvent], zone: ZoneInfo, words: Words) -> tuple[Happening, ...]:
    """The events, the latest first; what came of one step stands together."""
    steps = groupby(sorted(events, key=lambda e: (e.at, e.pk)), key=lambda e: (e.at, e.by_id))
    told = [_happening(list(step), zone, words) for _, step in steps]
    return tuple(reversed(told))


def _happening(events: Sequence[PourEvent], zone: ZoneInfo, words: Words) -> Happening:
    return Happening(
        at=words.day_and_time(events[0].at, zone),
        by=str(events[0].by) if events[0].by else "by itself",
        what=tuple(_what(event) for event in events),
        changes=tuple(said for event in events for said in changes_said(event.facts, zone, words)),
        reason="; ".join(str(event.facts["reason"]) for event in events if event.facts.get("reason")),
    )


def _what(event: PourEvent) -> str:
    """``planned, plan 3``: the kind, and the number or name that goes with it."""
    facts = event.facts
    more = {
        "plan": f"plan {facts.get('plan')}",
        "revision": f"order {facts.get('revision')}",
        "paper": str(facts.get("paper")),
        "passed_by": f"by {facts.get('passed_by')}",
        "taken_by": f"taken by {facts.get('taken_by')}",
        "ticket": f"number {facts.get('ticket')}",
    }
    said = [event.get_kind_display(), *(words for name, words in more.items() if facts.get(name))]
    return ", ".join(dict.fromkeys(said))


def changes_said(facts: Json, zone: ZoneInfo, words: Words) -> Iterator[str]:
    """``people placing from 5 to 6``; of what was noted before both were kept, only what it was about."""
    if "was" not in facts:
        names = [name for name in facts.get("fields", ()) if name != "starts_at"]
        yield from (f"{called(name)} changed" for name in names)
        if facts.get("starts_at"):
            yield f"starts {words.day_and_time(datetime.fromisoformat(str(facts['starts_at'])), zone)}"
        return
    for name, was in facts["was"].items():
        became = facts["became"].get(name)
        if name == "sections":
            yield from _slab_changes(was, became, words)
        elif was or became:
            told = (_value(name, value, zone, words) for value in (was, became))
            yield "{} from {} to {}".format(called(name), *told)


def called(name: str) -> str:
    return CALLED.get(name) or name.removesuffix("_m3").replace("_", " ")


def _value(name: str, value: Any, zone: ZoneInfo, words: Words) -> str:
    if value is None or value in ("", []):
        return NOT_SAID
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " and ".join(str(one) for one in value)
    if name.endswith("_at"):
        return words.day_and_time(datetime.fromisoformat(value), zone)
    if isinstance(value, int | float):
        return raised(format_fact(name, value, words.system))
    return f"“{value}”" if name in ("notes", "title") else str(value).replace("_", " ")


# --- the slab ---------------------------------------------------------------------------------


def _slab_changes(was: Sequence[Json], became: Sequence[Json], words: Words) -> Iterator[str]:
    """Section by section in the order entered; where the sizes stayed, its edges or openings changed."""
    if was == became:
        yield "edges or openings of the slab changed"
    for number, (old, new) in enumerate(zip_longest(was, became), start=1):
        name = (new or old).get("label") or f"section {number}"
        if old is None:
            yield f"{name} added, {section_words(new, words)}"
        elif new is None:
            yield f"{name} taken out, {section_words(old, words)}"
        elif old != new:
            yield f"{name} from {section_words(old, words)} to {section_words(new, words)}"


def section_words(section: Json, words: Words) -> str:
    """52' 0" by 38' 0", 5" deep, falling 2"."""
    sizes = [format_fact(name, section[name], words.system) for name in SIZES if section.get(name)]
    said = [" by ".join(sizes) or section.get("shape", "")]
    if section.get("depth_m"):
        said.append(f"{words.depth(section['depth_m'])} deep")
    if section.get("fall_m"):
        said.append(f"falling {words.depth(section['fall_m'])}")
    return raised(", ".join(said))


def why_planned(number: int, events: Sequence[PourEvent], zone: ZoneInfo, words: Words) -> str:
    """Why a plan was made, as far as what happened at that moment tells."""
    made = next((e for e in events if e.kind == EventKind.PLANNED and e.facts.get("plan") == number), None)
    if made is None:
        return ""
    beside = [e for e in events if e.at == made.at and e.by_id == made.by_id and e.kind != EventKind.PLANNED]
    for event in beside:
        if event.kind in (EventKind.BOOKED, EventKind.MOVED, EventKind.CHANGED):
            said = "; ".join(changes_said(event.facts, zone, words))
            return f"{event.get_kind_display()}: {said}" if said else event.get_kind_display()
    weather = next((e for e in beside if e.kind == EventKind.WEATHER_CHANGED), None)
    if weather:
        return f"new weather: {weather.facts.get('reason', '')}".rstrip(": ")
    return "planned again by hand" if made.by_id else "newer weather"
