"""Between what is kept and what is computed: models to engine inputs, engine values to JSON and back."""

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, TypeVar, get_args
from zoneinfo import ZoneInfo

from cattrs.preconf.json import make_converter
from cattrs.strategies import configure_tagged_union
from django.db.models import Q

from scheduling.engine import inputs
from scheduling.engine.learning import Learned
from scheduling.engine.weekbook import HoursRule, windows_of
from scheduling.models import (
    Company,
    Crew,
    Mix,
    Plant,
    Pour,
    RoadSeason,
    Site,
    SiteHours,
    SiteHoursKind,
    SlabEdge,
    SlabOpening,
    SlabSection,
)
from scheduling.models.slabs import Outline

Value = TypeVar("Value")

LOUD_DAYS = 5  # the last cut of a slow slab in the cold is days after its pour

_converter = make_converter()
_converter.register_structure_hook(datetime, lambda text, _: datetime.fromisoformat(text))
_converter.register_unstructure_hook(datetime, lambda moment: moment.astimezone(UTC).isoformat())
# Facts are plain values already, but for moments; their names say which are moments.
_converter.register_structure_hook(inputs.Fact, lambda value, _: value)


def _tag_by(word: str) -> Callable[[type], str]:
    """Kinds of a union tell themselves apart by the class attribute of that name."""
    return lambda kind: str(getattr(kind, word))


for _union, _word in (
    (inputs.Outline, "shape"),
    (inputs.Depth, "kind"),
    (inputs.Allowance, "kind"),
):
    configure_tagged_union(_union, _converter, tag_name=_word, tag_generator=_tag_by(_word))


def to_json(value: Any) -> Any:
    """The engine's value as dicts, lists, numbers and words; moments as ISO 8601 in UTC."""
    return _converter.unstructure(value)


def from_json(json: Any, kind: type[Value]) -> Value:
    """The engine's value of that kind again, from what `to_json` gave."""
    return _converter.structure(json, kind)


def forecast_hours(json: list[dict[str, Any]]) -> tuple[inputs.WeatherHour, ...]:
    """The hours of weather kept with a forecast."""
    return from_json(json, tuple[inputs.WeatherHour, ...])


def engine_outline(row: Outline) -> inputs.Outline:
    """The outline a row describes.

    Raises
    ------
    BadInput
        If a size the shape needs is missing or no good.
    """
    needed = {
        inputs.Shape.RECTANGLE: ("length_m", "width_m"),
        inputs.Shape.TRAPEZOID: ("length_m", "side_b_m", "width_m"),
        inputs.Shape.POLYGON: ("corners_m",),
        inputs.Shape.CIRCLE: ("diameter_m",),
        inputs.Shape.AREA: ("area_m2",),
    }
    shape = inputs.Shape(row.shape)
    sizes = [getattr(row, name) for name in needed[shape]]
    for name, size in zip(needed[shape], sizes, strict=True):
        if size is None:
            raise inputs.BadInput(name, "missing", f"A {shape.value} needs its {name}.")
    if shape is inputs.Shape.POLYGON:
        return inputs.Polygon(tuple((float(x), float(y)) for x, y in sizes[0]))
    outlines = {kind.shape: kind for kind in get_args(inputs.Outline)}
    return outlines[shape](*sizes)


def engine_depth(row: SlabSection) -> inputs.Depth:
    """The depth a section describes; raises `BadInput` where it lacks one."""
    kind = inputs.DepthKind(row.depth_kind)
    if kind is inputs.DepthKind.SPOTS:
        return inputs.SpotDepths(tuple(float(depth) for depth in row.spot_depths_m or ()))
    if row.depth_m is None:
        raise inputs.BadInput("depth_m", "missing", "A section needs its depth_m.")
    if kind is inputs.DepthKind.UNIFORM:
        return inputs.UniformDepth(row.depth_m)
    falls = inputs.FallingTop if kind is inputs.DepthKind.FALLING_TOP else inputs.FallingBase
    return falls(row.depth_m, row.fall_m, row.falls_towards_deg)


def engine_section(
    row: SlabSection, edges: Iterable[SlabEdge], openings: Iterable[SlabOpening]
) -> inputs.Section:
    """A section with its edges and openings, kept or not yet kept."""
    return inputs.Section(
        outline=engine_outline(row),
        depth=engine_depth(row),
        edges=tuple(
            inputs.ThickenedEdge(edge.width_m, edge.depth_m, edge.length_m, edge.taper_m) for edge in edges
        ),
        openings=tuple(inputs.Opening(engine_outline(hole), hole.count) for hole in openings),
        label=row.label,
        drawn_depth_m=row.drawn_depth_m,
        shaded=row.shaded,
    )


def kept_sections(pour: Pour) -> tuple[inputs.Section, ...]:
    """The sections kept with a pour, in their order."""
    rows = pour.sections.prefetch_related("edges", "openings")
    return tuple(engine_section(row, row.edges.all(), row.openings.all()) for row in rows)


def engine_allowance(pour: Pour) -> inputs.Allowance:
    kinds = {kind.kind: kind for kind in get_args(inputs.Allowance)}
    return kinds[inputs.AllowanceKind(pour.allowance_kind)](pour.allowance_value)


def engine_mix(mix: Mix) -> inputs.Mix:
    return inputs.Mix(
        name=mix.code,
        strength_mpa=mix.strength_mpa,
        aggregate_mm=mix.aggregate_mm,
        density_kg_m3=mix.density_kg_m3,
        cement_kg_m3=mix.cement_kg_m3,
        fly_ash_fraction=mix.fly_ash_fraction,
        slag_fraction=mix.slag_fraction,
        silica_fume=mix.silica_fume,
        calcium_chloride_fraction=mix.calcium_chloride_fraction,
        admixtures=frozenset(inputs.Admixture(word) for word in mix.admixtures),
    )


def engine_batch(pour: Pour) -> inputs.Batch | None:
    """What goes into the drum; None where masses or temperatures are not told."""
    mix = pour.mix
    told = (mix.cement_kg_m3, mix.water_kg_m3, mix.aggregate_kg_m3, pour.water_c, pour.aggregate_c)
    if any(value is None for value in told):
        return None
    cement_kg_m3, water_kg_m3, aggregate_kg_m3, water_c, aggregate_c = (float(value or 0) for value in told)
    return inputs.Batch(
        cement_kg_m3=cement_kg_m3,
        water_kg_m3=water_kg_m3,
        aggregate_kg_m3=aggregate_kg_m3,
        water_c=water_c,
        aggregate_c=aggregate_c,
        ice_kg_m3=pour.ice_kg_m3,
    )


def is_open_on(plant: Plant, day: date) -> bool:
    """Whether the plant batches on that day of its own calendar; one that keeps no hours always does."""
    if any(closure.on == day for closure in plant.closures.all()):
        return False
    if any(opening.on == day for opening in plant.openings.all()):
        return True
    weekdays = {row.weekday for row in plant.hours.all()}
    return not weekdays or day.weekday() in weekdays


def batching_hours(plant: Plant, starts_at: datetime) -> tuple[datetime | None, datetime | None]:
    """First and last moment of batching on the plant's own day of `starts_at`; None where not known."""
    zone = ZoneInfo(plant.time_zone)
    day = starts_at.astimezone(zone).date()
    opening = next((row for row in plant.openings.all() if row.on == day), None)
    hours = next((row for row in plant.hours.all() if row.weekday == day.weekday()), None)
    if opening is not None:
        clocks = opening.opens_at, opening.closes_at
    elif hours is not None:
        clocks = hours.opens_at, hours.last_batch_at or hours.closes_at
    else:
        return None, None
    opens, closes = (datetime.combine(day, clock, zone).astimezone(UTC) for clock in clocks)
    return opens, closes


def road_limit_kg(pour: Pour) -> float | None:
    """Most a loaded truck may weigh on the way to a pour on its day: the site's own limit, or a season's."""
    site, plant = pour.job.site, pour.plant
    if plant.truck_empty_kg is None:  # what a load may weigh is then unknown all the same
        return site.road_limit_kg
    day = pour.starts_at.astimezone(ZoneInfo(site.time_zone)).date()
    seasons = RoadSeason.objects.filter(
        Q(site=None) | Q(site=site.pk), Q(plant=None) | Q(plant=plant.pk), first_on__lte=day, last_on__gte=day
    )
    limits = [season.limit_kg for season in seasons]
    return min([*limits, *([site.road_limit_kg] if site.road_limit_kg else [])], default=None)


def engine_supply(pour: Pour, company: Company) -> inputs.Supply:
    plant = pour.plant
    # A plant that is not kept has no calendar to ask.
    opens_at, closes_at = batching_hours(plant, pour.starts_at) if plant.pk else (None, None)
    plant_day = pour.starts_at.astimezone(ZoneInfo(plant.time_zone)).date()
    haul_min = plant.usual_haul_min if pour.haul_min is None else pour.haul_min
    return inputs.Supply(
        truck_m3=plant.truck_m3,
        order_step_m3=plant.order_step_m3,
        minimum_load_m3=plant.minimum_load_m3,
        payload_kg=plant.payload_kg,
        truck_empty_kg=plant.truck_empty_kg,
        road_limit_kg=road_limit_kg(pour),
        trucks=pour.trucks or plant.trucks,
        plant_rate_m3_h=plant.rate_m3_h,
        loading_min=plant.loading_min,
        haul_min=haul_min,
        washout_min=plant.washout_min,
        age_limit_min=pour.age_limit_min or plant.age_limit_min or company.age_limit_min,
        opens_at=opens_at,
        closes_at=closes_at,
        open_that_day=is_open_on(plant, plant_day) if plant.pk else True,
    )


# What a pour may leave unsaid of its placing: the engine's own then holds.
LEFT_TO_THE_ENGINE = (
    "reach_m", "carry_m", "rise_m", "barrow_m3", "carts", "line_m", "hose_moves", "pump_moves",
    "slump_mm", "slope",
)  # fmt: skip


def engine_placing(pour: Pour, learned: Learned | None = None) -> inputs.Placing:
    crew = pour.crew or Crew()  # a pour nobody is assigned to is planned for a usual crew
    said = {name: getattr(pour, name) for name in LEFT_TO_THE_ENGINE}
    return inputs.Placing(
        method=inputs.Method(pour.method),
        people=pour.people,
        straightedge_m=crew.straightedge_m,
        screed=inputs.Screed(pour.screed),
        fibres=pour.fibres,
        truck_sides=tuple(inputs.Side(side) for side in pour.truck_sides),
        on_base=pour.trucks_on_base,
        reinforcement=inputs.Reinforcement(pour.reinforcement),
        rate_factor=learned.factor if learned else crew.rate_factor,
        **{name: value for name, value in said.items() if value is not None},
    )


def engine_finishing(pour: Pour) -> inputs.Finishing:
    return inputs.Finishing(
        people=pour.finishers,
        finish=inputs.Finish(pour.finish),
        power_trowels=pour.power_trowels,
        saw=inputs.SawType(pour.saw),
        joint_spacing_m=pour.joint_spacing_m,
        blankets=pour.blankets,
        decorative=pour.decorative,
    )


def engine_place(pour: Pour) -> inputs.Place:
    site = pour.job.site
    return inputs.Place(
        latitude=site.latitude,
        longitude=site.longitude,
        indoors=pour.indoors,
        one_truck_at_a_time=site.one_truck_at_a_time,
        trucks_must_back=site.trucks_must_back,
        spotter=pour.spotter,
        power_lines=site.power_lines,
        base_c=pour.base_c,
        base_frozen=pour.base_frozen,
    )


def loud_windows(site: Site, day: date) -> tuple[inputs.Window, ...]:
    """When loud work may be done at a site, from the day before until what a pour of that day may take."""
    zone = ZoneInfo(site.time_zone)
    start = datetime.combine(day - timedelta(days=1), time(), zone)
    return site_windows(site, SiteHoursKind.LOUD, start, start + timedelta(days=LOUD_DAYS + 1)) or ()


def site_windows(
    site: Site, kind: SiteHoursKind, start: datetime, end: datetime, shut: Iterable[inputs.Window] = ()
) -> tuple[inputs.Window, ...] | None:
    """When work of a kind is allowed at a site; None where nobody limits it. `shut` are holidays."""
    rows = [row for row in site.hours.all() if row.kind == kind] if site.pk else []
    rules = [_hours_rule(row) for row in sorted(rows, key=lambda row: row.first_on or date.min, reverse=True)]
    if kind == SiteHoursKind.LOUD and site.loud_from and site.loud_until:
        rules.append(HoursRule(opens=site.loud_from, closes=site.loud_until))
    if not rules:
        return None
    known = site.latitude is not None and site.longitude is not None
    place = (float(site.latitude or 0), float(site.longitude or 0)) if known else None
    closed = () if any(row.on_holidays for row in rows) or not rows else tuple(shut)
    return windows_of(tuple(rules), start, end, ZoneInfo(site.time_zone), place, closed)


def _hours_rule(row: SiteHours) -> HoursRule:
    first, last = (
        None if day is None else datetime.combine(day, time(), UTC) for day in (row.first_on, row.last_on)
    )
    return HoursRule(
        opens=row.opens_at,
        closes=row.closes_at,
        weekdays=frozenset(row.weekdays),
        first_on=first,
        last_on=last,
        after_sunrise_min=row.after_sunrise_min,
    )


def truck_wait_rule(plant: Plant) -> inputs.TruckWaitRule:
    """What the plant charges for trucks kept on site; a usual supplier's rule where nobody entered it."""
    if plant.wait_price is None:
        return inputs.USUAL_RULE
    return inputs.TruckWaitRule(
        free_min=plant.wait_free_min,
        free_min_per_m3=plant.wait_free_min_per_m3,
        price=plant.wait_price,
        block_min=plant.wait_block_min,
        counted=inputs.Counted(plant.wait_counted),
    )


def engine_costs(pour: Pour, company: Company) -> inputs.Costs:
    zone = ZoneInfo(pour.job.site.time_zone)
    overtime_from_at = None
    if company.overtime_from is not None:
        day = pour.starts_at.astimezone(zone).date()
        overtime_from_at = datetime.combine(day, company.overtime_from, zone).astimezone(UTC)
    return inputs.Costs(
        crew_per_h=company.crew_per_h,
        truck_per_h=company.truck_per_h,
        truck_wait=truck_wait_rule(pour.plant),
        rejected_load=company.rejected_load_cost,
        cold_joint=company.cold_joint_cost,
        overtime_per_h=company.overtime_per_h,
        overtime_from_at=overtime_from_at,
    )


def engine_uncertainty(plant: Plant, learned: Learned | None = None) -> inputs.Uncertainty:
    known: dict[str, float] = {}
    if plant.late_sd_min is not None:
        known["late_sd_min"] = plant.late_sd_min
    if learned is not None:
        known["unload_cv"] = learned.unload_cv
    return inputs.Uncertainty(**known)


def pour_request(
    pour: Pour,
    company: Company,
    sections: tuple[inputs.Section, ...],
    hours: tuple[inputs.WeatherHour, ...],
    plant_busy: tuple[inputs.Window, ...] = (),
    forecast_age_h: float | None = None,
    learned: Learned | None = None,
) -> inputs.PourRequest:
    """The whole question the engine is asked about a pour, kept or not yet kept.

    `plant_busy` is when the plant loads our other pours. `learned` is what the crew's own pours say of how
    fast it places so; without it the crew's entered factor and the usual spread hold.

    Raises
    ------
    BadInput
        If something in the pour makes no plan possible.
    """
    return inputs.PourRequest(
        sections=sections,
        allowance=engine_allowance(pour),
        mix=engine_mix(pour.mix),
        supply=engine_supply(pour, company),
        placing=engine_placing(pour, learned),
        finishing=engine_finishing(pour),
        place=engine_place(pour),
        starts_at=pour.starts_at,
        forecast=hours,
        forecast_age_h=forecast_age_h,
        concrete_c=pour.concrete_c,
        batch=engine_batch(pour),
        hold_last_load=pour.hold_last_load,
        uncertainty=engine_uncertainty(pour.plant, learned),
        costs=engine_costs(pour, company),
        plant_busy=plant_busy,
        call_lead_min=company.call_lead_min if pour.call_lead_min is None else pour.call_lead_min,
    )
