"""A plan as a person reads it: the engine's answer, kept as JSON, put into plain words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.models import Pour
from scheduling.pages.bays import BaysWords, bays_words
from scheduling.pages.brief import WHY_SO, KeyTime, key_times, loads_words, moment, say_to_plant, why_so
from scheduling.pages.choices import ChoiceTable, choice_table
from scheduling.pages.clashes import site_zone
from scheduling.pages.clock import lasting
from scheduling.pages.daychart import Picture, Telling, day_pictures
from scheduling.pages.drawings import LayoutDrawing, corners, layout_drawing
from scheduling.pages.grade import GradeTable, grade_tables
from scheduling.pages.placing import stands_words
from scheduling.pages.risk import RiskWords, risk_words
from scheduling.pages.strips import (
    DayClock,
    Stretch,
    Strip,
    day_clock,
    next_day_words,
    strip,
)
from scheduling.pages.windows import StripTable, strip_table
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension

Json = Mapping[str, Any]

# Said of every pour there is: true, and no news on a week of them.
SAID_OF_EVERY_POUR = frozenset({"wet_concrete_burns", "silica_wet_saw", "silica_assessment"})

STAGES = {
    "unload": "tend the chute",
    "carry": "bring the concrete",
    "rake": "rake to grade",
    "strike_off": "strike off",
    "bull_float": "bull float",
}
HELD_TO = {
    "crew": "as fast as this crew places",
    "plant": "as fast as the plant batches",
    "fleet": "as fast as the trucks there are come round",
    "site": "one truck at a time on this site",
}


@dataclass(frozen=True)
class FindingWords:
    severity: str
    words: str
    source: str


@dataclass(frozen=True)
class SectionRow:
    label: str
    area: str
    depth: str
    slab: str
    edges: str
    openings: str
    net: str


@dataclass(frozen=True)
class QuantityWords:
    sections: tuple[SectionRow, ...]
    net: str
    allowance: str
    allowance_share: str
    in_line: str
    order: str
    loads: str
    has_edges: bool
    has_openings: bool

    @property
    def is_more_than_slab(self) -> bool:
        """Whether the slab alone is a number of its own."""
        return self.has_edges or self.has_openings


@dataclass(frozen=True)
class TeamRow:
    does: str
    people: int
    rate: str
    holds_the_rest: bool


@dataclass(frozen=True)
class TruckRow:
    number: int
    amount: str
    batched: str
    leaves: str
    arrives: str
    starts: str
    empty: str
    age: str
    waits: str


@dataclass(frozen=True)
class HourRow:
    at: str
    air: str
    humidity: str
    wind: str
    concrete: str
    drying: str
    rain: str


@dataclass(frozen=True)
class PlanSheet:
    """Everything the plan part of a page shows."""

    say_to_plant: str
    why: str
    key_times: tuple[KeyTime, ...]
    clock: DayClock
    strip: Strip
    later: str
    quantity: QuantityWords
    teams: tuple[TeamRow, ...]
    rate: str
    spacing: str
    trucks: tuple[TruckRow, ...]
    risk: RiskWords | None
    hours: tuple[HourRow, ...]
    pictures: tuple[Picture, ...]
    concrete: str
    weather_known: bool
    strips: StripTable | None
    joints: str
    layouts: tuple[LayoutDrawing, ...]
    bays: BaysWords | None
    stands: str
    grades: tuple[GradeTable, ...]
    choices: ChoiceTable | None
    findings: tuple[FindingWords, ...]


def plan_sheet(
    pour: Pour, result: Json, sections: Sequence[Json], order_by: datetime, words: Words
) -> PlanSheet:
    """Put a plan into words; `sections` are the slab's columns in the plan's order."""
    zone = site_zone(pour)
    stretches = plan_stretches(pour, result)
    day = pour.starts_at.astimezone(zone).date()
    clock = day_clock([(stretches[0].starts_at, max(s.ends_at for s in stretches), zone)])
    return PlanSheet(
        say_to_plant=say_to_plant(pour, result, words),
        why=why_so(result, zone, words),
        key_times=tuple(key_times(pour, result, order_by, words)),
        clock=clock,
        strip=strip(stretches, (), clock, day, zone, words.units),
        later=next_day_words(stretches, day, zone, words.units),
        quantity=_quantity(result["quantity"], words),
        teams=tuple(team_rows(result["line"], words)),
        rate=words.amount(result["line"]["rate_m3_h"], Dimension.VOLUME_RATE),
        spacing=_spacing(result["spacing"], len(result["delivery"]["loads"])),
        trucks=tuple(_trucks(result["delivery"]["loads"], zone, words)),
        risk=_risk(result, zone, words),
        hours=tuple(_hour_rows(result, zone, words)),
        pictures=_pictures(result, zone, words),
        concrete=_concrete(result, words),
        weather_known=result["weather_known"],
        strips=strip_table(result, zone, words),
        joints=_joints(result["sawing"], words),
        layouts=tuple(joint_layouts(result["sawing"], sections, words)),
        bays=bays_words(result, sections, zone, words),
        stands=stands_words(pour),
        grades=tuple(grade_tables(result, sections, words)),
        choices=choice_table(result, pour, words),
        findings=tuple(
            finding_words(finding, zone, words) for finding in result["findings"] if finding["code"] != WHY_SO
        ),
    )


def plan_stretches(pour: Pour, result: Json) -> list[Stretch]:
    """What the plan keeps people busy with, being on site before the first truck told apart."""
    call_at, starts_at, placed_at = (moment(result[name]) for name in ("call_at", "starts_at", "placed_at"))
    return [
        *([Stretch("on_site", call_at, starts_at, pour.people)] if call_at < starts_at else []),
        Stretch("place", starts_at, placed_at, pour.people),
        *(
            Stretch(phase["kind"], moment(phase["starts_at"]), moment(phase["ends_at"]), phase["people"])
            for phase in result["phases"]
            if phase["kind"] != "place"
        ),
    ]


# --- its parts --------------------------------------------------------------------------------


def _quantity(quantity: Json, words: Words) -> QuantityWords:
    sections = quantity["sections"]
    many = len(sections) > 1
    return QuantityWords(
        sections=tuple(
            _section_row(section, section["label"] or (f"Section {n}" if many else "Slab"), words)
            for n, section in enumerate(sections, start=1)
        ),
        net=words.volume(quantity["net_m3"]),
        allowance=words.volume(quantity["allowance_m3"]),
        allowance_share=f"{100 * quantity['allowance_m3'] / quantity['net_m3']:.1f}%",
        in_line=words.volume(in_line_m3) if (in_line_m3 := quantity.get("line_m3")) else "",
        order=words.ordered(quantity["order_m3"]),
        loads=loads_words(quantity["loads_m3"], words),
        has_edges=any(section["edges_m3"] for section in sections),
        has_openings=any(section["openings_m3"] for section in sections),
    )


def _section_row(section: Json, label: str, words: Words) -> SectionRow:
    return SectionRow(
        label=label,
        area=words.area(section["area_m2"]),
        depth=words.depth(section["depth_m"]),
        slab=words.volume(section["slab_m3"]),
        edges=words.volume(section["edges_m3"]),
        openings=words.volume(section["openings_m3"]),
        net=words.volume(section["net_m3"]),
    )


def team_rows(line: Json, words: Words) -> Iterator[TeamRow]:
    """Who does what of the placing, and who sets the pace."""
    for team in line["teams"]:
        yield TeamRow(
            does=" and ".join(STAGES.get(stage, stage) for stage in team["stages"]),
            people=team["people"],
            rate=words.amount(team["rate_m3_h"], Dimension.VOLUME_RATE),
            holds_the_rest=line["limited_by"] in team["stages"],
        )


def _spacing(spacing: Json, loads: int) -> str:
    if loads < 2:
        return "One truck brings it all."
    needed = spacing["trucks_needed"]
    return (
        f"Loads can follow each other every {spacing['interval_min']:g} minutes, "
        f"{HELD_TO[spacing['limited_by']]}; "
        f"{needed} truck{'s' if needed > 1 else ''} keep{'' if needed > 1 else 's'} that up."
    )


def _trucks(loads: Sequence[Json], zone: ZoneInfo, words: Words) -> Iterator[TruckRow]:
    for load in loads:
        batched, leaves, arrives, starts, ends = (
            words.clock(moment(load[name]), zone)
            for name in ("batch_at", "leaves_at", "arrives_at", "starts_at", "ends_at")
        )
        yield TruckRow(
            number=load["number"],
            amount=words.ordered(load["m3"]),
            batched=batched,
            leaves=leaves,
            arrives=arrives,
            starts=starts,
            empty=ends,
            age=f"{load['age_min']:.0f} min",
            waits=f"{load['truck_wait_min']:.0f} min" if load["truck_wait_min"] >= 0.5 else "",
        )


def _risk(result: Json, zone: ZoneInfo, words: Words) -> RiskWords | None:
    """None where the plan was kept before its trucks were weighed."""
    if "arrivals" not in result:
        return None
    fees = result.get("wait_fees", ())
    return risk_words(result["arrivals"], moment(result["starts_at"]), zone, words, fees)


def _hour_rows(result: Json, zone: ZoneInfo, words: Words) -> Iterator[HourRow]:
    rain = {hour["at"][:13]: hour["rain_chance"] for hour in result.get("sky", {}).get("hours", ())}
    for hour in result["weather"]:
        yield HourRow(
            at=words.clock(moment(hour["at"]), zone),
            air=_known(hour["air_c"], Dimension.TEMPERATURE, words),
            humidity=_known(hour["humidity"], Dimension.FRACTION, words),
            wind=_known(hour["wind_m_s"], Dimension.SPEED, words),
            concrete=_known(hour["concrete_c"], Dimension.TEMPERATURE, words),
            drying=_known(hour["rate_kg_m2_h"], Dimension.EVAPORATION, words),
            rain=_known(rain.get(hour["at"][:13]), Dimension.FRACTION, words),
        )


def _known(value: float | None, dimension: Dimension, words: Words) -> str:
    return "not known" if value is None else words.amount(value, dimension)


def _pictures(result: Json, zone: ZoneInfo, words: Words) -> tuple[Picture, ...]:
    return day_pictures(result, Telling(words.temperature, words.drying, zone, words.units))


def _concrete(result: Json, words: Words) -> str:
    if result["concrete_c"] is None:
        return "Its temperature as delivered is not known."
    said = f"Delivered at {words.temperature(result['concrete_c'])}"
    if any(finding["code"] == "concrete_mixed" for finding in result["findings"]):
        return f"{said}, by its ingredients and the haul."
    return f"{said}, estimated from the air." if result["concrete_estimated"] else f"{said}, as you gave it."


def _joints(saw: Json, words: Words) -> str:
    if not saw["starts_at"]:
        return "No joint is needed in a slab this small."
    needed = lasting(timedelta(hours=saw["hours_needed"]))
    deep = words.depth(saw["depth_m"])
    return f"{words.length(saw['length_m'])} of cut, {deep} deep: about {needed} with one saw."


def joint_layouts(saw: Json, sections: Sequence[Json], words: Words) -> Iterator[LayoutDrawing]:
    """A drawing for each section, or one for several that are cut alike."""
    pairs = enumerate(zip(sections, saw["layouts"], strict=True), start=1)
    alike = groupby(pairs, key=lambda numbered: (corners(numbered[1][0]), numbered[1][1]))
    for _, group in alike:
        (first, (section, layout)), *others = group
        last = others[-1][0] if others else first
        titles = f"Sections {first} to {last}, each" if others else f"Section {first}"
        title = titles if len(sections) > 1 else "Slab"
        label = "" if others else section.get("label")
        yield layout_drawing(section, layout, label or title, words.length)


# --- findings ---------------------------------------------------------------------------------


def finding_words(finding: Json, zone: ZoneInfo, words: Words) -> FindingWords:
    return FindingWords(finding["severity"], words.finding(finding, zone), finding["source"])


def first_to_say(result: Json, zone: ZoneInfo, words: Words) -> FindingWords | None:
    """The gravest finding that is news; None where there is nothing but notes."""
    news = (f for f in result["findings"] if f["severity"] != "note" and f["code"] not in SAID_OF_EVERY_POUR)
    first = next(news, None)
    return None if first is None else finding_words(first, zone, words)


def weather_words(result: Json, words: Words) -> tuple[str, str]:
    """The air from first concrete to final set, and how fast it dries the slab; empty where not known."""
    airs = [hour["air_c"] for hour in result["weather"] if hour["air_c"] is not None]
    rates = [hour["rate_kg_m2_h"] for hour in result["weather"] if hour["rate_kg_m2_h"] is not None]
    if not airs or not result["weather_known"]:
        return "", ""
    low, high = words.temperature(min(airs)), words.temperature(max(airs))
    air = low if low == high else f"{low.split(' ')[0]}–{high}"
    return air, f"dries {words.drying(max(rates))} at most" if rates else ""
