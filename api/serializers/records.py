"""What the company keeps about itself and its customers: sites, jobs, crews, people, equipment."""

from typing import Any

from rest_framework import serializers

from api.fields import NumberField, QuantityField, TextField
from api.serializers.base import Record
from scheduling.models import Crew, EquipmentUnit, Job, Site, User, Worker
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


class JobRecord(Record):
    notes = TextField(required=False, allow_blank=True, max_length=MOST_TEXT)

    class Meta:
        model = Job
        fields = ["id", "name", "site", "customer_name", "customer_phone", "notes"]


class CrewRecord(Record):
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
        fields = ["id", "name", "lead", "straightedge", "rate_factor", "active"]


class PersonRecord(Record):
    """Somebody who works with a crew."""

    class Meta:
        model = Worker
        fields = [
            "id", "name", "crew", "user", "phone", "places", "finishes", "saws", "heat_from_on",
            "heat_before", "active",
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
