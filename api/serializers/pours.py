"""Pours: what may be said when one is booked or changed, and how one is answered."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.choices import FINISH, METHOD, REINFORCEMENT, SAW_TYPE
from api.fields import DayField, MomentField, QuantityField, ReferenceField, TextField, TruthField, WholeField
from api.serializers.base import Closed, rows
from api.serializers.placing import PlacingTerms
from api.serializers.plans import PlanAnswer, PlanSummary, facts_given, plan_row
from api.serializers.sections import Section
from scheduling.localtime import moment_of
from scheduling.models import Crew, Job, Mix, Paper, PaperKind, Plant, Pour, PourEvent, Site
from scheduling.quantities import Dimension

MOST_PEOPLE = 60
MOST_MINUTES = 600
MOST_TEXT = 4000
ZONE = "job.site.time_zone"

ALLOWANCES = {"percent": "percent", "depth": "depth", "spread": "confidence"}


def own_minutes(**settings: Any) -> QuantityField:
    """Minutes of this pour that take the place of the plant's or the company's."""
    return QuantityField(
        Dimension.MINUTES, **{"most": MOST_MINUTES, "required": False, "allow_null": True, **settings}
    )


class Allowance(Closed):
    """What to order beyond the net quantity: one of the three."""

    percent = QuantityField(Dimension.PERCENT, least=0, most=50, required=False)
    depth = QuantityField(
        Dimension.DEPTH,
        least=0,
        most=0.3,
        required=False,
        help_text="So much more depth over the whole area.",
    )
    confidence = QuantityField(
        Dimension.FRACTION, least=0.5, most=0.99, required=False,
        help_text="How surely it should suffice, from how much the measured depths differ.",
    )  # fmt: skip

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if len(attrs) != 1:
            raise serializers.ValidationError("Give one of percent, depth or confidence.", code="allowance")
        (name, value), *_ = attrs.items()
        kind = next(kind for kind, said in ALLOWANCES.items() if said == name)
        return {"allowance_kind": kind, "allowance_value": value}

    def to_representation(self, instance: Pour) -> dict[str, Any]:
        name = ALLOWANCES[instance.allowance_kind]
        return {name: self.fields[name].to_representation(instance.allowance_value)}


def head_count(usual: int, help_text: str = "", **settings: Any) -> WholeField:
    limits = {"min_value": 1, "max_value": MOST_PEOPLE, "default": usual}
    return WholeField(help_text=help_text, **{**limits, **settings})


class PourTerms(PlacingTerms):
    """How a slab is placed and finished: what a booking and a preview have in common."""

    sections = rows(Section, allow_empty=False, max_length=100)
    method = serializers.ChoiceField(choices=METHOD, default="chute")
    crew_size = head_count(5, "How many place.", source="people")
    reinforcement = serializers.ChoiceField(choices=REINFORCEMENT, default="none")
    spotter = TextField(
        max_length=60, required=False, allow_blank=True,
        help_text="Who of the crew guides trucks that must back in, and is not at the chute. Where they "
        "must, no order is confirmed without.",
    )  # fmt: skip
    indoors = TruthField(default=False)
    base_temperature = QuantityField(
        Dimension.TEMPERATURE, source="base_c", least=-40, most=60, required=False, allow_null=True,
        help_text="Of the base, as somebody read it. Nothing is placed on one under freezing.",
    )  # fmt: skip
    base_frozen = TruthField(default=False, help_text="Frost was seen in the base.")
    blankets = TruthField(default=False, help_text="Blankets go on once it is finished.")
    finishers = head_count(2, "How many stay to finish.")
    finish = serializers.ChoiceField(choices=FINISH, default="trowel")
    decorative = TruthField(
        default=False, help_text="Colored, stamped or with stone to see: no calcium chloride goes in."
    )
    power_trowels = head_count(1, min_value=0)
    test_cylinders = head_count(0, "Test cylinders the crew makes and brings to the laboratory.", min_value=0)
    saw = serializers.ChoiceField(choices=SAW_TYPE, default="conventional")
    joint_spacing = QuantityField(
        Dimension.LENGTH, source="joint_spacing_m", least=0.3, most=10, required=False, allow_null=True,
        help_text="Without it, from the slab's thickness.",
    )  # fmt: skip
    concrete_temperature = QuantityField(
        Dimension.TEMPERATURE, source="concrete_c", least=0, most=45, required=False, allow_null=True,
        help_text="As delivered. Without it, by the ingredients, else estimated from the air.",
    )  # fmt: skip
    water_temperature = QuantityField(
        Dimension.TEMPERATURE, source="water_c", least=0, most=85, required=False, allow_null=True,
        help_text="Of the mixing water. With that of sand and stone and the mix's weights it tells how warm "
        "the concrete comes.",
    )  # fmt: skip
    aggregate_temperature = QuantityField(
        Dimension.TEMPERATURE, source="aggregate_c", least=-20, most=80, required=False, allow_null=True,
        help_text="Of sand and stone.",
    )  # fmt: skip
    ice = QuantityField(
        Dimension.DENSITY, source="ice_kg_m3", least=0, most=150, required=False,
        help_text="Weight in a yard or m³ of what of the mixing water goes in as ice.",
    )  # fmt: skip
    allowance = Allowance(source="*", required=False, help_text="Without it, the company's percentage.")
    hold_last_load = TruthField(
        default=True, help_text="Hold the last load back until what is left has been measured."
    )
    trucks = WholeField(
        min_value=1, max_value=200, required=False, allow_null=True, help_text="Without it, the plant's own."
    )
    haul = own_minutes(source="haul_min", least=0, help_text="Without it, the plant's usual.")
    age_limit = own_minutes(
        source="age_limit_min", least=1, whole=True, help_text="Without it, the plant's or the company's."
    )
    call_lead = own_minutes(
        source="call_lead_min", least=0, whole=True,
        help_text="How long before the first truck the crew stands on site; without it, the company's.",
    )  # fmt: skip


class PourBooking(PourTerms):
    """What a pour is booked with."""

    job = ReferenceField(queryset=Job.objects.select_related("site"))
    title = TextField(max_length=120, required=False, allow_blank=True)
    starts_at = MomentField(help_text="When the first truck begins to discharge.")
    mix = ReferenceField(queryset=Mix.objects.select_related("plant"))
    plant = ReferenceField(
        queryset=Plant.objects.all(), required=False, help_text="Without it, the plant that sells the mix."
    )
    crew = ReferenceField(queryset=Crew.objects.all(), required=False, allow_null=True)
    promised_by = DayField(
        required=False, allow_null=True, help_text="The last day promised to the customer, itself included."
    )
    notes = TextField(max_length=MOST_TEXT, required=False, allow_blank=True)
    accept_clashes = TruthField(
        default=False, help_text="Book even where people are asked for in two places at once."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Read the start on the site's clock, and take the plant from the mix."""
        if "starts_at" in attrs:
            pour: Any = self.instance
            job = attrs.get("job") or pour.job
            attrs["starts_at"] = on_the_clock(attrs["starts_at"], job.site)
        if "mix" in attrs:
            attrs.setdefault("plant", attrs["mix"].plant)
        return attrs


def on_the_clock(wall: datetime, site: Site, field: str = "starts_at") -> datetime:
    """The moment a site's clock shows `wall`; raises `Refusal` where it skips it or shows it twice."""
    return moment_of(wall, ZoneInfo(site.time_zone), field)


class Versioned(Closed):
    """A change names the version it was made from, here or in the If-Match header."""

    version = WholeField(
        min_value=1, max_value=2**31 - 1, required=False, help_text="The version of the pour you read."
    )


class PourChange(PourBooking, Versioned):
    """What is to be different; what is not said stays."""


class PourMove(Versioned):
    starts_at = MomentField(help_text="When the first truck is to begin to discharge.")
    accept_clashes = TruthField(default=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        pour: Any = self.instance
        return {**attrs, "starts_at": on_the_clock(attrs["starts_at"], pour.job.site)}


class PourReason(Versioned):
    reason = TextField(max_length=300, required=False, allow_blank=True, default="")


def zone_of(pour: Pour) -> ZoneInfo:
    """The zone of the clock that a pour is spoken of in."""
    return ZoneInfo(pour.job.site.time_zone)


class PourSite(serializers.ModelSerializer):
    class Meta:
        model = Site
        fields = ["id", "name", "address", "time_zone", "directions"]
        read_only_fields = fields


class PourRow(serializers.ModelSerializer):
    """A pour in a list."""

    job = ReferenceField(read_only=True)
    site = PourSite(source="job.site")
    starts_at = MomentField(zone_from=ZONE)
    plant = ReferenceField(read_only=True)
    mix = ReferenceField(read_only=True)
    crew = ReferenceField(read_only=True, allow_null=True)
    crew_size = serializers.IntegerField(source="people")
    plan = serializers.SerializerMethodField()

    class Meta:
        model = Pour
        fields = [
            "id", "version", "state", "title", "job", "site", "starts_at", "plant", "mix", "crew",
            "crew_size", "plan",
        ]  # fmt: skip

    @extend_schema_field(PlanSummary(allow_null=True))
    def get_plan(self, pour: Pour) -> dict[str, Any] | None:
        if pour.plan is None:
            return None
        return PlanSummary(pour.plan, context={**self.context, "zone": zone_of(pour)}).data


class PaperRow(serializers.ModelSerializer):
    """Something that must be released before concrete may come; without `passed_at` it is open."""

    passed_at = MomentField(zone_from="pour.job.site.time_zone", allow_null=True)

    class Meta:
        model = Paper
        fields = ["kind", "passed_at", "passed_by"]


class PaperAsk(Closed):
    kind = serializers.ChoiceField(choices=PaperKind.choices)

    def validate_kind(self, kind: str) -> PaperKind:
        return PaperKind(kind)


class PaperPassed(PaperAsk):
    passed_by = TextField(max_length=120, help_text="Who released it: the boss, the inspector.")


class PourAnswer(PourTerms, serializers.ModelSerializer):
    """A pour with everything said about it and its current plan."""

    job = ReferenceField(read_only=True)
    site = PourSite(source="job.site")
    starts_at = MomentField(zone_from=ZONE)
    plant = ReferenceField(read_only=True)
    mix = ReferenceField(read_only=True)
    crew = ReferenceField(read_only=True, allow_null=True)
    promised_by = DayField(read_only=True, allow_null=True)
    papers = PaperRow(many=True, read_only=True)
    booked_at = MomentField(zone_from=ZONE)
    booked_by = ReferenceField(read_only=True, allow_null=True)
    plan = serializers.SerializerMethodField()

    class Meta:
        model = Pour
        fields = [
            "id", "version", "state", "title", "job", "site", "starts_at", "plant", "mix", "crew",
            *PourTerms().fields, "promised_by", "papers", "notes", "booked_at", "booked_by", "plan",
        ]  # fmt: skip

    @extend_schema_field(PlanAnswer(allow_null=True))
    def get_plan(self, pour: Pour) -> dict[str, Any] | None:
        if pour.plan is None:
            return None
        return PlanAnswer(plan_row(pour.plan), context={**self.context, "zone": zone_of(pour)}).data


class EventRow(serializers.ModelSerializer):
    """Something that happened to a pour."""

    at = MomentField(zone_from="pour.job.site.time_zone")
    by = ReferenceField(read_only=True, allow_null=True)
    facts = serializers.SerializerMethodField()

    class Meta:
        model = PourEvent
        fields = ["id", "kind", "at", "by", "facts"]

    @extend_schema_field({"type": "object", "additionalProperties": True})
    def get_facts(self, event: PourEvent) -> dict[str, Any]:
        return facts_given(event.facts, self.context["units"], zone_of(event.pour))
