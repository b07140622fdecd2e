"""What people are told of a pour: its plan on the site's own clock and in the company's units."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling import bridge
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.inputs import Finding, Finish, Method, SawType, Severity, WeatherHour
from scheduling.models import Company, Crew, OrderState, Plan, Plant, PlantOrder, Pour
from scheduling.quantities import Dimension, UnitSystem, format_fact, format_quantity
from scheduling.queries.papers import is_held
from scheduling.sentences.arrivals import Arrivals
from scheduling.texting.cautions import Caution
from scheduling.texting.wording import Kit, OrderFacts, PourFacts, Surface, Weather

# Facts of a finding that say from when and until when it holds, whatever the finding calls them.
FROM_AT = ("first_over_at", "first_at", "finishing_starts_at")
UNTIL_AT = ("last_over_at", "last_at")

# The one number a crew is told of a finding, where it has one.
FIGURES = {
    "load_too_old": "loads",
    "plant_closed": "loads",
    "out_of_reach": "reach_m",
    "hot_concrete": "concrete_c",
    "cold_concrete": "concrete_c",
    "cold_placing": "least_c",
    "spotter_named": "spotter",
}

ALWAYS_LOADED = frozenset({Kit.RUBBER_BOOTS, Kit.KNEE_BOARDS, Kit.GLOVES, Kit.WASH_WATER})
KIT_FOR_METHOD: dict[Method, frozenset[Kit]] = {
    Method.EXTENDED_CHUTE: frozenset({Kit.EXTENSION_CHUTE}),
    Method.BARROW: frozenset({Kit.BARROWS}),
    Method.POWER_BUGGY: frozenset({Kit.BUGGY}),
    Method.LINE_PUMP: frozenset({Kit.PRIMER}),
    Method.BOOM_PUMP: frozenset({Kit.PRIMER}),
}
KIT_FOR_FINDING: dict[str, frozenset[Kit]] = {
    "rain": frozenset({Kit.SHEETS, Kit.LUMBER, Kit.DRY_CLOTHES}),
    "evaporation_high": frozenset({Kit.SHEETS, Kit.FOGGER}),
    "cold_weather": frozenset({Kit.BLANKETS}),
    "frost": frozenset({Kit.BLANKETS}),
}


def site_zone(pour: Pour) -> ZoneInfo:
    return ZoneInfo(pour.job.site.time_zone)


def call_at(pour: Pour, company: Company) -> datetime:
    """When the crew stands on site, also where no plan says so yet."""
    if pour.plan:
        return pour.plan.call_at
    lead_min = company.call_lead_min if pour.call_lead_min is None else pour.call_lead_min
    return pour.starts_at - timedelta(minutes=lead_min)


def kept_answer(plan: Plan) -> PourPlan:
    """The engine's answer kept with the plan."""
    return bridge.from_json(plan.result, PourPlan)


def pour_facts(pour: Pour, company: Company) -> PourFacts:
    """The pour as its crew is told of it; one without a plan has only its place and its start."""
    site, zone = pour.job.site, site_zone(pour)
    facts = PourFacts(
        site=f"{site.name}, {pour.title}" if pour.title else site.name,
        address=site.address,
        directions=site.directions,
        on_hold=is_held(pour),
        starts_at=pour.starts_at.astimezone(zone),
        call_at=call_at(pour, company).astimezone(zone),
    )
    return _planned(facts, pour, pour.plan, UnitSystem(company.units)) if pour.plan else facts


def _planned(facts: PourFacts, pour: Pour, plan: Plan, units: UnitSystem) -> PourFacts:
    answer, zone = kept_answer(plan), site_zone(pour)
    cuts = answer.sawing.starts_at is not None
    hours = bridge.forecast_hours(plan.inputs["forecast"])
    return replace(
        facts,
        arrivals=arrivals(plan),
        holds_last_load=pour.hold_last_load and plan.loads > 1,
        plant=pour.plant.name,
        plant_first_at=on_plant_clock(plan.starts_at, pour.plant, zone),
        mix=pour.mix.code,
        quantity=format_quantity(plan.order_m3, Dimension.VOLUME, units),
        surface=Surface[Finish(pour.finish).name],
        floats_from_at=answer.first_set.float_ready.early.astimezone(zone),
        cut_from_at=answer.sawing.opens_at.astimezone(zone) if cuts else None,
        cut_until_at=answer.sawing.last_call_at.astimezone(zone) if cuts else None,
        weather=_weather(hours, plan.call_at, answer.finishing.ends_at, units),
        cautions=tuple(_caution(finding, zone, units) for finding in answer.findings),
        kit=_kit(pour, answer.findings, cuts=cuts),
        power_trowels=pour.power_trowels,
        test_cylinders=pour.test_cylinders,
    )


def arrivals(asked: Plan | PlantOrder) -> Arrivals:
    """How the trucks are asked for, ready to be said."""
    return Arrivals(
        loads=asked.loads,
        first_together=asked.first_together,
        next_after_min=asked.next_after_min,
        interval_min=asked.interval_min,
    )


def on_plant_clock(moment: datetime, plant: Plant, site_zone: ZoneInfo) -> datetime | None:
    """The moment as the plant's clock shows it; None where that is what the site's clock shows."""
    there, here = moment.astimezone(ZoneInfo(plant.time_zone)), moment.astimezone(site_zone)
    return None if there.utcoffset() == here.utcoffset() else there


def _weather(
    hours: Sequence[WeatherHour], start: datetime, end: datetime, units: UnitSystem
) -> Weather | None:
    """The working hours in one line: how cold and warm, how windy, how likely wet; None where not known."""
    day = [hour for hour in hours if start - timedelta(hours=1) < hour.at < end]
    airs = [hour.air_c for hour in day if hour.air_c is not None]
    winds = [hour.wind_10m_m_s for hour in day if hour.wind_10m_m_s is not None]
    rains = [hour.rain_chance for hour in day if hour.rain_chance is not None]
    if not airs:
        return None
    return Weather(
        coldest=format_quantity(min(airs), Dimension.TEMPERATURE, units),
        warmest=format_quantity(max(airs), Dimension.TEMPERATURE, units),
        wind=format_quantity(max(winds), Dimension.SPEED, units) if winds else "",
        rain_percent=round(max(rains) * 100) if rains else None,
    )


def _caution(finding: Finding, zone: ZoneInfo, units: UnitSystem) -> Caution:
    return Caution(
        code=finding.code,
        is_stop=finding.severity is Severity.STOP,
        from_at=_moment(finding, FROM_AT, zone),
        until_at=_moment(finding, UNTIL_AT, zone),
        figure=_figure(finding, units),
    )


def moments(finding: Finding) -> tuple[datetime, datetime] | None:
    """From when until when what was found holds, as far as the plan knows both."""
    start, end = (_moment(finding, names, ZoneInfo("UTC")) for names in (FROM_AT, UNTIL_AT))
    return (start, end) if start and end and start < end else None


def _moment(finding: Finding, names: Iterable[str], zone: ZoneInfo) -> datetime | None:
    """The first of those facts the finding has; facts kept as JSON carry their moments as text."""
    told = next((finding.facts[name] for name in names if name in finding.facts), None)
    if isinstance(told, str):
        told = datetime.fromisoformat(told)
    return told.astimezone(zone) if isinstance(told, datetime) else None


def _figure(finding: Finding, units: UnitSystem) -> str:
    name = FIGURES.get(finding.code, "")
    value = finding.facts.get(name)
    if isinstance(value, int | float):
        return format_fact(name, value, units)
    return "" if value is None else str(value).replace(",", ", ")


def _kit(pour: Pour, findings: Iterable[Finding], *, cuts: bool) -> frozenset[Kit]:
    kit = ALWAYS_LOADED.union(*(KIT_FOR_FINDING.get(finding.code, ()) for finding in findings))
    tools = {Finish.TROWEL: Kit.HAND_TROWELS, Finish.BROOM: Kit.BROOM, Finish.FLOAT: Kit.HAND_FLOATS}
    kit |= {tools[Finish(pour.finish)]}
    if pour.finish != Finish.BROOM and pour.power_trowels:
        kit |= {Kit.POWER_TROWEL}
    kit |= KIT_FOR_METHOD.get(Method(pour.method), frozenset())
    if pour.blankets:
        kit |= {Kit.BLANKETS}
    if pour.test_cylinders:
        kit |= {Kit.CYLINDER_MOLDS}
    if any(_wants_respirators(finding) for finding in findings):
        kit |= {Kit.RESPIRATORS}
    if not cuts:
        return kit
    return kit | {Kit.EARLY_ENTRY_SAW if pour.saw == SawType.EARLY_ENTRY else Kit.SAW}


def _wants_respirators(finding: Finding) -> bool:
    """Whether the silica rule asks for them by its table, or leaves it to somebody's assessment."""
    return finding.code == "silica_assessment" or bool(finding.facts.get("respirator_apf"))


def first_names(crew: Crew) -> list[str]:
    """Who comes besides the lead, by first name where no two of them share it."""
    people = [worker for worker in crew.workers.all() if worker.active]
    names = [one.name.split() for one in people if one.user_id is None or one.user_id != crew.lead_id]
    first = [words[0] for words in names]
    return [words[0] if first.count(words[0]) == 1 else " ".join(words) for words in names]


def order_facts(order: PlantOrder, company: Company) -> OrderFacts:
    """The order as the office speaks of it to the plant, on both clocks where they differ."""
    pour, plant = order.pour, order.plant
    zone = site_zone(pour)
    return OrderFacts(
        site=pour.job.site.name,
        plant=plant.name,
        plant_phone=plant.phone.as_national if plant.phone else "",
        quantity=format_quantity(order.quantity_m3, Dimension.VOLUME, UnitSystem(company.units)),
        mix=order.mix.code,
        arrivals=arrivals(order),
        first_at=order.first_on_site_at.astimezone(zone),
        plant_first_at=on_plant_clock(order.first_on_site_at, plant, zone),
        order_by=order.order_by.astimezone(ZoneInfo(plant.time_zone)),
        called_in=order.state != OrderState.TO_CALL,
    )
