"""Weather: documents that are handed in, and hours given with a preview."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.choices import FORECAST_AGE
from api.fields import MomentField, QuantityField, TextField
from api.serializers.base import Closed
from scheduling.models import SiteForecast
from scheduling.quantities import Dimension
from scheduling.queries.forecasts import age_of

LONGEST_DOCUMENT = 2_000_000
MOST_HOURS = 24 * 21


class ForecastImport(Closed):
    """A weather document as text.

    A forecast of the U.S. National Weather Service or in Open-Meteo's shape, both as JSON, or a file of
    separated values whose headers name their units, as in “time,air [F],humidity [%],wind [mph]”.
    """

    text = TextField(max_length=LONGEST_DOCUMENT, trim_whitespace=False)
    columns = serializers.DictField(
        child=TextField(max_length=60),
        required=False,
        help_text="For a file: what a header means that does not say so itself, as “time” or “field:unit”, "
        "for instance {“temp_air”: “air_c:degC”}.",
    )


@extend_schema_field(serializers.ChoiceField(choices=FORECAST_AGE))
class AgeField(serializers.Field):
    """What a forecast's age makes of it now: marked over six hours, not planned with over a day."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(source="*", read_only=True, **kwargs)

    def to_representation(self, forecast: SiteForecast) -> str:
        return age_of(forecast, timezone.now()).value


class ForecastAnswer(serializers.ModelSerializer):
    """A forecast kept for a site; `fetched_at` is when it was last given."""

    age = AgeField()
    fetched_at = MomentField(zone_from="site.time_zone")
    starts_at = MomentField(zone_from="site.time_zone")
    ends_at = MomentField(zone_from="site.time_zone")

    class Meta:
        model = SiteForecast
        fields = ["id", "provider", "fetched_at", "age", "starts_at", "ends_at"]


class SiteWeatherAnswer(serializers.Serializer):
    """How it stands with the forecasts of a site, and with the asking for them on the web."""

    age = serializers.ChoiceField(
        choices=FORECAST_AGE, allow_null=True, help_text="Of the newest forecast; null without one."
    )
    fetched_at = MomentField(allow_null=True, help_text="When the newest forecast was last given.")
    provider = serializers.CharField(help_text="Who gave it; empty without one.")
    next_try_at = MomentField(allow_null=True, help_text="Null while no pour there needs a forecast.")
    failures = serializers.IntegerField(help_text="Tries in vain since the last that went well.")
    failed_at = MomentField(allow_null=True)
    failure = serializers.CharField(help_text="Why the last try gave no forecast; empty where it did.")


def fraction() -> QuantityField:
    return QuantityField(Dimension.FRACTION, least=0, most=1, required=False, allow_null=True)


class WeatherRow(Closed):
    """The hour of weather that begins at `at`. What is left out is not known, which is never zero."""

    at = MomentField()
    air_temperature = QuantityField(
        Dimension.TEMPERATURE, source="air_c", least=-45, most=60, required=False, allow_null=True
    )
    dew_point = QuantityField(
        Dimension.TEMPERATURE, source="dew_point_c", least=-80, most=45, required=False, allow_null=True
    )
    humidity = fraction()
    wind = QuantityField(
        Dimension.SPEED, source="wind_10m_m_s", least=0, most=75, required=False, allow_null=True,
        help_text="As forecast, 10 m above the ground.",
    )  # fmt: skip
    gust = QuantityField(
        Dimension.SPEED, source="gust_10m_m_s", least=0, most=115, required=False, allow_null=True
    )
    cloud = fraction()
    rain_chance = fraction()
    rain = QuantityField(Dimension.RAIN, source="rain_mm", least=0, most=500, required=False, allow_null=True)
    thunder_chance = fraction()
