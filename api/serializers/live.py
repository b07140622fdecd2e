"""What is noted on site, and how a pour under way stands."""

from typing import Any

from rest_framework import serializers

from api.choices import BALANCE_STEP, LOAD_STAND, NOTE_KIND
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


class LiveStrip(serializers.Serializer):
    """A strip of the slab by its actual placing, in the latest weather and in the rain people noted."""

    number = serializers.IntegerField()
    loads = serializers.ListField(child=serializers.IntegerField(), help_text="Whose concrete lies in it.")
    area = quantity(Dimension.AREA, "area_m2")
    placed_at = MomentField()
    ready_early_at = MomentField(help_text="The soonest that it may take a trowel.")
    ready_at = MomentField(help_text="The likely moment, or when it was found ready.")
    found_ready = serializers.BooleanField()
    hard_at = MomentField(help_text="Past finishing from then on.")
    lost = serializers.BooleanField(help_text="Whether it is hard before the party gets to it.")
    finished_at = MomentField()
    cut_opens_at = MomentField(allow_null=True, help_text="Null where nothing is cut.")
    cut_last_call_at = MomentField(allow_null=True)


class LiveSlab(serializers.Serializer):
    """When the slab wants what, once its first concrete is out."""

    strips = LiveStrip(many=True)
    placed_at = MomentField(help_text="When the last load is out.")
    finished_at = MomentField()
    cure_at = MomentField()
    rain_waits = minutes("rain_waits_min", help_text="How much later than without rain finishing ends.")
    weather_known = serializers.BooleanField()


class LiveBalance(serializers.Serializer):
    """What is left to place, what to order for it, and how far a balance load has got."""

    measured_at = MomentField(allow_null=True)
    left = volume("need.left_m3", allow_null=True, help_text="As measured last; null where nobody did.")
    coming = volume("need.coming_m3", allow_null=True, help_text="Of that, what was still to come out.")
    order = volume("need.order_m3", allow_null=True, help_text="With the plan's allowance, in steps.")
    loads = serializers.IntegerField(source="need.loads", allow_null=True, help_text="Trucks it takes.")
    load = serializers.IntegerField(
        source="need.load", allow_null=True, help_text="The load held back that brings it; null: one more."
    )
    by_at = MomentField(
        source="need.by_at", allow_null=True, help_text="The plant's last batch, or that load's own."
    )
    is_short = serializers.BooleanField(help_text="Whether somebody should call the plant now.")
    step = serializers.ChoiceField(choices=BALANCE_STEP, allow_null=True)
    asked = volume("asked_m3", allow_null=True, help_text="What is asked for and was not cancelled.")


class LiveAlarm(serializers.Serializer):
    """A trouble that stands now, and who sees to it; untaken for five minutes it is told to others."""

    id = serializers.IntegerField(source="alarm.pk")
    raised_at = MomentField(source="alarm.raised_at")
    passed_on_at = MomentField(source="alarm.passed_on_at", allow_null=True)
    seen_at = MomentField(source="alarm.acknowledged_at", allow_null=True)
    seen_by = ReferenceField(source="alarm.acknowledged_by", read_only=True, allow_null=True)
    finding = FindingRow()


class LiveAnswer(serializers.Serializer):
    """How a pour under way stands."""

    loads = LiveLoad(many=True)
    ends_at = MomentField()
    rate = quantity(Dimension.VOLUME_RATE, "rate_m3_h", help_text="By the loads emptied so far.")
    hold = LiveHold(allow_null=True)
    slab = LiveSlab(allow_null=True)
    balance = LiveBalance(allow_null=True)
    alarms = LiveAlarm(many=True)
    findings = FindingRow(many=True)
