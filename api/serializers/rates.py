"""What is learned of a crew's rates."""

from rest_framework import serializers

from api.choices import METHOD
from api.fields import MomentField, minutes, quantity, volume
from api.serializers.base import Closed
from scheduling.quantities import Dimension
from scheduling.queries.rates import CrewRate, Lesson


class RateReset(Closed):
    """Which method's rate to learn anew."""

    method = serializers.ChoiceField(choices=METHOD)


class LessonRow(serializers.Serializer[Lesson]):
    """A pour and what it taught."""

    pour = serializers.IntegerField()
    name = serializers.CharField()
    starts_at = MomentField()
    placed = volume("m3")
    crew_time = minutes("minutes", help_text="From the start of each discharge to its end.")
    rate = quantity(Dimension.VOLUME_RATE, "rate_m3_h")
    factor = serializers.FloatField(allow_null=True, help_text="Against the default rates there.")
    left_out = serializers.CharField(
        source="why_not",
        allow_null=True,
        help_text="too_short, not_the_crew, unlikely or outlier; null where it counts.",
    )


class CrewRateRow(serializers.Serializer[CrewRate]):
    """What a crew places by one method."""

    method = serializers.ChoiceField(choices=METHOD, source="method.value")
    pours = serializers.IntegerField(source="learned.pours", help_text="How many count.")
    factor = serializers.FloatField(source="learned.factor", help_text="Against the default rates.")
    low = serializers.FloatField(help_text="Eight of ten next pours lie between this factor and `high`.")
    high = serializers.FloatField()
    load_spread = serializers.FloatField(
        source="learned.unload_cv", help_text="Of one load's time: its standard deviation over its mean."
    )
    since = MomentField(allow_null=True, help_text="When it was last begun anew.")
    reset_by = serializers.CharField(allow_blank=True)
    lessons = LessonRow(many=True)
