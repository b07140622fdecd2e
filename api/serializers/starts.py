"""When a pour could start instead, and what speaks for and against each start."""

from rest_framework import serializers

from api.fields import MomentField
from api.serializers.plans import FindingRow


class StartChoiceRow(serializers.Serializer):
    """One start of the day. The total weighs what speaks against it, in hours of the whole crew standing."""

    starts_at = MomentField()
    total = serializers.FloatField(source="total_h", help_text="Crew-hours that it is worth to avoid it.")
    costs = serializers.DictField(
        source="costs_h",
        child=serializers.FloatField(),
        help_text="The same by danger: “drying”, “rain”, “finishing_dark” and the like.",
    )
    advantages = FindingRow(many=True, help_text="What is better than at the booked start, most first.")
    appear = FindingRow(many=True, help_text="Findings the booked start does not have, or less gravely.")
    clear = FindingRow(many=True, help_text="Findings of the booked start that are gone.")
