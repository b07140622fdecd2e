"""What the company keeps about itself and its customers: sites, jobs, crews, people, equipment."""

from typing import Any

from rest_framework import serializers

from api.fields import MomentField, NumberField, QuantityField, TextField, WholeField
from api.serializers.base import MeantRate, Record
from api.serializers.plants import WeekdayField
from scheduling.localtime import moment_of
from scheduling.models import Absence, Crew, EquipmentUnit, Job, RoadSeason, Site, SiteHours, User, Worker
from scheduling.quantities import Dimension

MOST_TEXT = 4000


class SiteRecord(Record):
    directions = TextField(
        required=False, allow_blank=True, max_length=MOST_TEXT, help_text="The gate, the code, where to park."
    )
    road_limit = QuantityField(
        Dimension.MASS,
        source="road_limit_kg",
        least=1000,
        most=200_000,
        required=False,
        allow_null=True,
        help_text="Most a loaded truck may weigh on the way.",
    )

    class Meta:
        model = Site
        fields = [
            "id", "name", "address", "time_zone", "latitude", "longitude", "directions",
            "one_truck_at_a_time", "trucks_must_back", "power_lines", "road_limit", "loud_from", "loud_until",
        ]  # fmt: skip

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        start, end = (
            attrs.get(name, getattr(self.instance, name, None)) for name in ("loud_from", "loud_until")
        )
        if (start is None) != (end is None) or (start is not None and end <= start):
            told = "Give both hours for loud work, the later one last, or neither."
            raise serializers.ValidationError({"loud_until": told}, code="invalid")
        return attrs


def said(record: Record, attrs: dict[str, Any], name: str) -> Any:
    """What a field says once this is kept."""
    return attrs.get(name, getattr(record.instance, name, None))


def in_order(record: Record, attrs: dict[str, Any], first: str, last: str, *, may_be_one: bool) -> None:
    """Refuse what ends before it begins."""
    start, end = said(record, attrs, first), said(record, attrs, last)
    if start is not None and end is not None and (end < start or (end == start and not may_be_one)):
        raise serializers.ValidationError({last: f"This must come after {first}."}, code="invalid")


class SiteHoursRecord(Record):
    """When a permit allows work at a site, or loud work."""

    weekdays = serializers.ListField(
        child=WeekdayField(), required=False, allow_empty=False, max_length=7, help_text="Without it, all."
    )
    after_sunrise_min = WholeField(
        min_value=-180, max_value=360, required=False, allow_null=True,
        help_text="Not sooner after sunrise than this; without it the sun does not count.",
    )  # fmt: skip

    class Meta:
        model = SiteHours
        fields = [
            "id", "site", "kind", "weekdays", "opens_at", "closes_at", "first_on", "last_on",
            "after_sunrise_min", "on_holidays",
        ]  # fmt: skip

    def validate_weekdays(self, days: list[int]) -> list[int]:
        if len(set(days)) < len(days):
            raise serializers.ValidationError("A day can stand here only once.", code="doubled_day")
        return days

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        in_order(self, attrs, "opens_at", "closes_at", may_be_one=False)
        in_order(self, attrs, "first_on", "last_on", may_be_one=True)
        return attrs


class AbsenceRecord(Record):
    """When a person, a whole crew or a machine is away: from then on, back from then on."""

    starts_at = MomentField(help_text="On the office's clock, where no offset is given.")
    ends_at = MomentField(help_text="Back from then on.")

    class Meta:
        model = Absence
        fields = ["id", "worker", "crew", "unit", "starts_at", "ends_at", "reason"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        for name in {"starts_at", "ends_at"} & attrs.keys():
            attrs[name] = moment_of(attrs[name], self.context["zone"], name)
        if sum(said(self, attrs, name) is not None for name in ("worker", "crew", "unit")) != 1:
            told = "Name a person, a crew or a machine: one of them."
            raise serializers.ValidationError({"worker": told}, code="invalid")
        in_order(self, attrs, "starts_at", "ends_at", may_be_one=False)
        return attrs


class RoadSeasonRecord(Record):
    """While it lasts, no heavier truck goes to the site, or from the plant."""

    limit = QuantityField(
        Dimension.MASS, source="limit_kg", least=1000, most=200_000,
        help_text="Most a loaded truck may weigh while it lasts.",
    )  # fmt: skip

    class Meta:
        model = RoadSeason
        fields = ["id", "site", "plant", "first_on", "last_on", "limit"]

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if said(self, attrs, "site") is None and said(self, attrs, "plant") is None:
            told = "Name the site or the plant whose road it is."
            raise serializers.ValidationError({"site": told}, code="invalid")
        in_order(self, attrs, "first_on", "last_on", may_be_one=True)
        return attrs


class JobRecord(Record):
    notes = TextField(required=False, allow_blank=True, max_length=MOST_TEXT)

    class Meta:
        model = Job
        fields = ["id", "name", "site", "customer_name", "customer_phone", "notes"]


class CrewRecord(MeantRate, Record):
    RATE = ("rate_factor", "rate_factor")

    straightedge = QuantityField(
        Dimension.LENGTH,
        source="straightedge_m",
        least=0.3,
        most=12,
        required=False,
        help_text="Length of the straightedge they strike off with.",
    )
    rate_factor = NumberField(
        min_value=0.05,
        max_value=5,
        required=False,
        help_text="How fast they place against the default rates: 1.1 is a tenth faster.",
    )

    class Meta:
        model = Crew
        fields = ["id", "name", "lead", "straightedge", "rate_factor", "confirm_rate", "active"]


class PersonRecord(Record):
    """Somebody who works with a crew."""

    class Meta:
        model = Worker
        fields = [
            "id", "name", "crew", "user", "phone", "places", "finishes", "saws", "pumps", "drives",
            "heat_from_on", "heat_before", "active",
        ]  # fmt: skip


class EquipmentRecord(Record):
    class Meta:
        model = EquipmentUnit
        fields = ["id", "name", "kind", "crew", "in_service"]


class UserRecord(Record):
    """Somebody who signs in or gets texts; the office adds them in the admin."""

    class Meta:
        model = User
        fields = ["id", "username", "first_name", "last_name", "role", "phone", "language", "is_active"]
        read_only_fields = fields
