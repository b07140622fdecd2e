"""Weather: documents that are handed in, and hours given with a preview."""

from rest_framework import serializers

from api.fields import MomentField, QuantityField, TextField
from api.serializers.base import Closed
from scheduling.models import SiteForecast
from scheduling.quantities import Dimension

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


class ForecastAnswer(serializers.ModelSerializer):
    """A forecast kept for a site."""

    fetched_at = MomentField(zone_from="site.time_zone")
    starts_at = MomentField(zone_from="site.time_zone")
    ends_at = MomentField(zone_from="site.time_zone")

    class Meta:
        model = SiteForecast
        fields = ["id", "provider", "fetched_at", "starts_at", "ends_at"]


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
