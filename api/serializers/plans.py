"""A plan as it is given: every part named, moments on the site's clock, quantities with their units."""

from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.choices import METHOD, PHASE_KIND, SEVERITY
from api.fields import MomentField, QuantityField, in_zone, minutes, quantity, volume
from api.names import api_name, bare
from api.serializers.forecasts import AgeField
from api.serializers.trucks import PlanArrivals, PlanDelivery, PlanSpacing
from api.serializers.windows import PlanCuring, PlanFinishing, PlanSawing
from scheduling.models import Plan
from scheduling.quantities import Dimension, UnitSystem, fact_dimension, to_unit
from scheduling.sentences import say


class SectionVolume(serializers.Serializer):
    """What one section takes: net = slab + edges - openings."""

    label = serializers.CharField()  # type: ignore[assignment]
    area = quantity(Dimension.AREA, "area_m2", help_text="Without its openings.")
    depth = quantity(Dimension.DEPTH, "depth_m", help_text="The slab's mean depth without edges.")
    slab = volume("slab_m3")
    edges = volume("edges_m3")
    openings = volume("openings_m3")
    net = volume("net_m3")


class PlanConcrete(serializers.Serializer):
    """How much concrete, and in what loads."""

    order = volume("order_m3", help_text="What to order, in the plant's steps.")
    net = volume("net_m3")
    allowance = volume("allowance_m3", help_text="What is added for waste and a low base.")
    left_in_line = volume("line_m3", required=False, help_text="What stays in a pump's hopper and line.")
    loads = serializers.ListField(child=QuantityField(Dimension.VOLUME), source="loads_m3")
    load_limit = volume("load_limit_m3", help_text="What one truck may bring.")
    load_limited_by = serializers.CharField(help_text="Its “drum”, its “payload” or the “road”.")
    area = quantity(Dimension.AREA, "area_m2")
    depth = quantity(Dimension.DEPTH, "depth_m", help_text="Mean.")
    thinnest = quantity(Dimension.DEPTH, "thinnest_m")
    sections = SectionVolume(many=True)


class PlanTeam(serializers.Serializer):
    """People who work these stages of placing together."""

    stages = serializers.ListField(child=serializers.CharField())
    people = serializers.IntegerField()
    rate = quantity(Dimension.VOLUME_RATE, "rate_m3_h")


class PlanPlacing(serializers.Serializer):
    """Who does what while the trucks come, and how fast it goes."""

    teams = PlanTeam(many=True)
    rate = quantity(Dimension.VOLUME_RATE, "rate_m3_h")
    limited_by = serializers.CharField(help_text="The stage that holds the line to that rate.")
    strike_width = quantity(Dimension.LENGTH, "strike_width_m")
    # A plan that is kept may be from before these were known.
    capacity = QuantityField(
        Dimension.FRACTION, read_only=True, required=False,
        help_text="The part of their usual work that people manage in the weather.",
    )  # fmt: skip
    setup = minutes("setup_min", required=False, help_text="What the method takes before the first concrete.")
    moves = minutes("moves_min", required=False, help_text="How long it stands within the pour.")
    lost = volume("lost_m3", required=False, help_text="What stays in the line.")


class PlanChoice(serializers.Serializer):
    """How it would go with another method or headcount."""

    method = serializers.ChoiceField(choices=METHOD)
    people = serializers.IntegerField()
    rate = quantity(Dimension.VOLUME_RATE, "rate_m3_h")
    time_needed = quantity(Dimension.HOURS, "hours", help_text="From the first discharge to the last.")
    trucks = serializers.IntegerField(help_text="How many keep up with that.")
    within_reach = serializers.BooleanField()


class PlanBay(serializers.Serializer):
    """One bay: what is struck off between two rows of pads."""

    number = serializers.IntegerField(help_text="In placing order over the whole pour.")
    section = serializers.IntegerField(help_text="Which section it lies in, as given, from 1.")
    strip = serializers.IntegerField(help_text="In placing order within its section.")
    corners = serializers.ListField(
        child=serializers.ListField(child=QuantityField(Dimension.LENGTH)),
        source="corners_m",
        help_text="Along and across the section.",
    )
    width = quantity(Dimension.LENGTH, "width_m", help_text="What the board spans.")
    length = quantity(Dimension.LENGTH, "length_m", help_text="How far it is pulled.")
    area = quantity(Dimension.AREA, "area_m2")
    depth = quantity(Dimension.DEPTH, "depth_m")
    volume = volume("volume_m3", help_text="With its share of edges, allowance and rounding up.")
    strike_off = minutes("strike_off_min")
    reach_needed = quantity(
        Dimension.LENGTH, "needed_m", help_text="From the nearest truck to its farthest corner."
    )
    in_reach = serializers.BooleanField()
    loads = serializers.ListField(child=serializers.IntegerField(), help_text="The loads that fill it.")
    starts_at = MomentField(allow_null=True)
    ends_at = MomentField(allow_null=True)


class GradePoint(serializers.Serializer):
    """One screed pad, along and across its section; its height is above or below the top's high edge."""

    x = quantity(Dimension.LENGTH, "x_m")
    y = quantity(Dimension.LENGTH, "y_m")
    height = quantity(Dimension.DEPTH, "height_m")


class PlanGrade(serializers.Serializer):
    """How the top of one section lies, pad by pad, row by row from the front."""

    section = serializers.IntegerField(help_text="Which section, as given, from 1.")
    points = GradePoint(many=True)
    fall = quantity(Dimension.PERCENT, "fall_percent")


class MomentRange(serializers.Serializer):
    """A forecast moment, as a range."""

    early = MomentField()
    likely = MomentField()
    late = MomentField()


class PlanSet(serializers.Serializer):
    """When concrete placed at one moment bears a float, and when it sets."""

    placed_at = MomentField()
    float_ready = MomentRange()
    initial_set = MomentRange(source="initial")
    final_set = MomentRange(source="final")
    # A plan that is kept may be from before there were these.
    sheen_gone_at = MomentField(
        required=False, allow_null=True, help_text="When the bleed water has dried off; null is not known."
    )
    crusts = serializers.BooleanField(
        required=False, help_text="Whether the top dries while more bleed water still comes."
    )


class PlanWeather(serializers.Serializer):
    """An hour of weather at the slab; null is not known."""

    at = MomentField()
    air_temperature = quantity(Dimension.TEMPERATURE, "air_c", allow_null=True)
    humidity = QuantityField(Dimension.FRACTION, read_only=True, allow_null=True)
    wind_at_slab = quantity(Dimension.SPEED, "wind_m_s", allow_null=True)
    concrete_temperature = quantity(Dimension.TEMPERATURE, "concrete_c", allow_null=True)
    evaporation = quantity(Dimension.EVAPORATION, "rate_kg_m2_h", allow_null=True)


class PhaseRow(serializers.Serializer):
    """A stretch of work that keeps people busy."""

    kind = serializers.ChoiceField(choices=PHASE_KIND)
    starts_at = MomentField()
    ends_at = MomentField()
    people = serializers.IntegerField()


class FindingRow(serializers.Serializer):
    """One thing the plan has to say, worst first: a note, a caution, or a stop."""

    severity = serializers.ChoiceField(choices=SEVERITY)
    code = serializers.CharField()
    text = serializers.SerializerMethodField()
    facts = serializers.SerializerMethodField()
    source = serializers.CharField(help_text="Where the rule is from.")  # type: ignore[assignment]

    def get_text(self, finding: dict[str, Any]) -> str:
        return say(finding["code"], finding["facts"], self.context["units"], self.context["zone"])

    @extend_schema_field({"type": "object", "additionalProperties": True})
    def get_facts(self, finding: dict[str, Any]) -> dict[str, Any]:
        return facts_given(finding["facts"], self.context["units"], self.context["zone"])


def facts_given(facts: dict[str, Any], units: UnitSystem, zone: ZoneInfo) -> dict[str, Any]:
    """The facts of a finding or an event, with units and clocks as everywhere else in an answer."""
    return {bare(name): fact_given(name, value, units, zone) for name, value in facts.items()}


def fact_given(name: str, value: Any, units: UnitSystem, zone: ZoneInfo) -> Any:
    if isinstance(value, dict):
        return facts_given(value, units, zone)
    if name == "sections":
        return [facts_given(section, units, zone) for section in value]
    if name == "fields":
        return [api_name(column) for column in value]
    if isinstance(value, str) and name.endswith("_at"):
        return in_zone(value, zone).isoformat(timespec="seconds")
    dimension = fact_dimension(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or dimension is None:
        return value
    return to_unit(value, dimension, units)


class PlanBody(serializers.Serializer):
    """The whole plan of a pour."""

    worst = serializers.ChoiceField(choices=SEVERITY, help_text="The gravest severity among the findings.")
    call_at = MomentField(help_text="When the crew stands on site.")
    starts_at = MomentField(help_text="When the first truck begins to discharge.")
    placed_at = MomentField(help_text="When the last load is out.")
    concrete = PlanConcrete(source="quantity")
    placing = PlanPlacing(source="line")
    spacing = PlanSpacing()
    # A plan that is kept may be from before arrivals were weighed.
    arrivals = PlanArrivals(required=False)
    delivery = PlanDelivery()
    wait_fees = serializers.ListField(
        child=serializers.FloatField(), required=False,
        help_text="What the plant charges for each load's time on site, if it goes as asked.",
    )  # fmt: skip
    concrete_temperature = quantity(
        Dimension.TEMPERATURE, "concrete_c", allow_null=True, help_text="As delivered."
    )
    concrete_estimated = serializers.BooleanField(help_text="Whether that is an estimate from the air.")
    weather_known = serializers.BooleanField(
        help_text="False where no forecast reaches: the times then rest on a mild day."
    )
    weather = PlanWeather(many=True)
    # A plan that is kept may be from before there were these.
    choices = PlanChoice(many=True, required=False, help_text="Other methods and headcounts beside these.")
    bays = PlanBay(source="bays.bays", many=True, required=False)
    grades = PlanGrade(many=True, required=False, help_text="One for each section whose top is not level.")
    first_set = PlanSet(help_text="Of the first concrete placed.")
    last_set = PlanSet(help_text="Of the last concrete placed.")
    finishing = PlanFinishing()
    sawing = PlanSawing()
    curing = PlanCuring(required=False)
    phases = PhaseRow(many=True)
    findings = FindingRow(many=True, help_text="Local codes and the engineer's specification govern.")


class PlanForecast(serializers.Serializer):
    """The forecast a plan rests on."""

    id = serializers.IntegerField()
    provider = serializers.CharField()
    fetched_at = MomentField()
    age = AgeField()


class PlanAnswer(PlanBody):
    """A plan that is kept with its pour. It is never changed; a newer one takes its place."""

    id = serializers.IntegerField()
    number = serializers.IntegerField()
    pour_version = serializers.IntegerField(help_text="The version of the pour it was made from.")
    made_at = MomentField()
    made_by = serializers.CharField(allow_null=True)
    forecast = PlanForecast(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        """What tells plans apart comes first."""
        fields = super().get_fields()
        own = [name for name in fields if name not in PlanBody().fields]
        return {name: fields[name] for name in (*own, *(name for name in fields if name not in own))}


class PlanSummary(serializers.ModelSerializer):
    """The few numbers of a plan that a list needs."""

    call_at = MomentField()
    starts_at = MomentField()
    placed_at = MomentField()
    made_at = MomentField()
    order = volume("order_m3")
    loads = serializers.IntegerField()
    next_after = minutes("next_after_min")
    interval = minutes("interval_min")

    class Meta:
        model = Plan
        fields = [
            "id", "number", "worst", "call_at", "starts_at", "placed_at", "order", "loads",
            "first_together", "next_after", "interval", "made_at",
        ]  # fmt: skip


def plan_body(result: dict[str, Any]) -> dict[str, Any]:
    """A plan's JSON as `PlanBody` reads it."""
    findings = result["findings"]
    body = {**result, "worst": findings[0]["severity"] if findings else "note"}
    if "grades" in result:
        sheets = enumerate(result["grades"], start=1)
        body["grades"] = [{"section": number, **sheet} for number, sheet in sheets if sheet]
    return body


def plan_row(plan: Plan) -> dict[str, Any]:
    """A plan that is kept as `PlanAnswer` reads it."""
    head = {name: getattr(plan, name) for name in ("id", "number", "pour_version", "made_at", "forecast")}
    return {**plan_body(plan.result), **head, "made_by": str(plan.made_by) if plan.made_by else None}
