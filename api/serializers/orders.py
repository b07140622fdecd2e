"""Orders with the plant."""

from django.utils import timezone
from rest_framework import serializers

from api.fields import MomentField, QuantityField, ReferenceField, TextField
from api.serializers.base import Closed
from scheduling.models import PlantOrder
from scheduling.quantities import Dimension

SITE_ZONE = "pour.job.site.time_zone"
PLANT_ZONE = "plant.time_zone"


class OrderAnswer(serializers.ModelSerializer):
    """What the plant is asked for; its cut-off is on the plant's own clock."""

    pour = ReferenceField(read_only=True)
    plant = ReferenceField(read_only=True)
    mix = ReferenceField(read_only=True)
    quantity = QuantityField(Dimension.VOLUME, source="quantity_m3", read_only=True)
    next_after = QuantityField(Dimension.MINUTES, source="next_after_min", read_only=True)
    interval = QuantityField(Dimension.MINUTES, source="interval_min", read_only=True)
    first_on_site_at = MomentField(zone_from=SITE_ZONE)
    order_by = MomentField(zone_from=PLANT_ZONE)
    free_until = MomentField(zone_from=PLANT_ZONE, allow_null=True)
    change_fee = serializers.SerializerMethodField(help_text="What changing or cancelling it costs now.")
    made_at = MomentField(zone_from=SITE_ZONE)
    called_at = MomentField(zone_from=SITE_ZONE, allow_null=True)
    confirmed_at = MomentField(zone_from=SITE_ZONE, allow_null=True)

    class Meta:
        model = PlantOrder
        fields = [
            "id", "pour", "revision", "state", "plant", "mix", "quantity", "loads", "first_on_site_at",
            "first_together", "next_after", "interval", "order_by", "free_until", "change_fee", "made_at",
            "called_at", "confirmed_at", "taken_by", "ticket",
        ]  # fmt: skip

    def get_change_fee(self, order: PlantOrder) -> float:
        return order.change_fee(timezone.now())


class OrderCall(Closed):
    taken_by = TextField(max_length=80, allow_blank=True, default="", help_text="Who at the plant took it.")


class OrderConfirmation(Closed):
    ticket = TextField(
        max_length=40, allow_blank=True, default="", help_text="The plant's own number for the order."
    )
