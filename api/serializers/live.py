"""What is noted on site, and how a pour under way stands."""

from typing import Any

from rest_framework import serializers

from api.choices import LOAD_STAND, NOTE_KIND
from api.fields import (
    MomentField,
    QuantityField,
    ReferenceField,
    TextField,
    WholeField,
    minutes,
    quantity,
    volume,
)
from api.serializers.base import Closed
from api.serializers.plans import FindingRow
from api.serializers.pours import on_the_clock
from scheduling.models import SiteNote
from scheduling.quantities import Dimension

SITE_ZONE = "pour.job.site.time_zone"


class NoteGiven(Closed):
    """One thing that happened on site."""

    key = TextField(
        max_length=80,
        help_text="Made by the caller, new for each note; sent again it notes nothing new.",
    )
    kind = serializers.ChoiceField(choices=NOTE_KIND)
    load = WholeField(
        min_value=1,
        max_value=400,
        required=False,
        help_text="For what is of one load: its number in the plan.",
    )
    happened_at = MomentField(required=False, help_text="Without it, now.")
    batch_at = MomentField(required=False, help_text="For “truck_arrived” or “ticket”: the batch time on it.")
    people = WholeField(min_value=0, max_value=200, required=False, help_text="For “people_there”.")
    amount = QuantityField(
        Dimension.VOLUME,
        source="m3",
        required=False,
        least=0.0,
        most=10_000.0,
        help_text="For “measured”: what is still to place; for “balance_asked”: what was asked for.",
    )
    strip = WholeField(
        min_value=1, max_value=400, required=False, help_text="For “ready_to_finish”: which strip."
    )
    words = TextField(max_length=300, required=False, allow_blank=True)
    slump = QuantityField(Dimension.SLUMP, source="slump_mm", required=False, help_text="For “slump”.")
    temperature = QuantityField(
        Dimension.TEMPERATURE, source="concrete_c", required=False, help_text="For “temperature”."
    )
    ticket_quantity = QuantityField(
        Dimension.VOLUME, source="ticket_m3", required=False, help_text="For “ticket”: what is on the truck."
    )
    ticket_mix = TextField(max_length=60, required=False, allow_blank=True)
    ticket_address = TextField(max_length=200, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(
        required=False, help_text="Yes to more than twice what was measured, said a second time."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Read clocks on the site's."""
        pour: Any = self.instance
        moments = {name: attrs[name] for name in ("happened_at", "batch_at") if attrs.get(name)}
        site = pour.job.site
        return {**attrs, **{name: on_the_clock(at, site, name) for name, at in moments.items()}}


class NoteRow(serializers.ModelSerializer):
    """One thing as it was noted."""

    by = ReferenceField(read_only=True, allow_null=True)
    happened_at = MomentField(zone_from=SITE_ZONE)
    noted_at = MomentField(zone_from=SITE_ZONE)
    batch_at = MomentField(zone_from=SITE_ZONE, allow_null=True)
    undone_at = MomentField(zone_from=SITE_ZONE, allow_null=True)
    slump = quantity(Dimension.SLUMP, "slump_mm", allow_null=True)
    temperature = quantity(Dimension.TEMPERATURE, "concrete_c", allow_null=True)
    ticket_quantity = volume("ticket_m3", allow_null=True)
    amount = volume("m3", allow_null=True)

    class Meta:
        model = SiteNote
        fields = [
            "id", "key", "kind", "load", "happened_at", "batch_at", "people", "amount", "strip", "words",
            "slump", "temperature", "ticket_quantity", "ticket_mix", "ticket_address", "by", "noted_at",
            "undone_at",
        ]  # fmt: skip


class LiveLoad(serializers.Serializer):
    """A load as it is, and as it will be where it has not happened yet."""

    number = serializers.IntegerField()
    quantity = volume("m3")
    stand = serializers.ChoiceField(choices=LOAD_STAND)
    arrives_at = MomentField()
    starts_at = MomentField()
    ends_at = MomentField()
    age = minutes("age_min", allow_null=True, help_text="At the end of discharge; null where nobody knows.")


class LiveHold(serializers.Serializer):
    """What to ask of the plant, by a person: later arrivals for loads that are not batched yet."""

    first_load = serializers.IntegerField()
    loads = serializers.IntegerField()
    later = minutes("later_min")
    arrives_at = MomentField()
    interval = minutes("interval_min", allow_null=True)


class LiveAnswer(serializers.Serializer):
    """How a pour under way stands."""

    loads = LiveLoad(many=True)
    ends_at = MomentField()
    rate = quantity(Dimension.VOLUME_RATE, "rate_m3_h", help_text="By the loads emptied so far.")
    hold = LiveHold(allow_null=True)
    findings = FindingRow(many=True)
