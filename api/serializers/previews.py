"""A pour that nobody books: everything it hangs on may be given with the question, and nothing is kept."""

from typing import Any

from django.db import models
from rest_framework import serializers

from api.fields import MomentField, NumberField, ReferenceField, TextField, TruthField
from api.serializers.base import Closed, rows
from api.serializers.conflicts import ClashRow
from api.serializers.forecasts import MOST_HOURS, WeatherRow
from api.serializers.plans import PlanBody
from api.serializers.plants import MixFacts, PlantFacts
from api.serializers.pours import PourTerms, on_the_clock
from scheduling.models import Crew, Mix, Plant, Site
from scheduling.models.company import validate_time_zone


class KeptOrGiven(serializers.Field):
    """A row that is kept, by its id, or its facts, from which a row is made that is not."""

    def __init__(self, rows: models.QuerySet, facts: serializers.Serializer, **settings: Any) -> None:
        super().__init__(**settings)
        self.kept, self.facts = ReferenceField(queryset=rows), facts
        self.model = rows.model

    def bind(self, field_name: str, parent: Any) -> None:
        super().bind(field_name, parent)
        self.kept.bind(field_name, parent)
        self.facts.bind(field_name, parent)

    def to_internal_value(self, data: Any) -> models.Model:
        if isinstance(data, dict):
            return self.model(**self.facts.run_validation(data))
        return self.kept.run_validation(data)


class PlaceFacts(Closed):
    """Where it is, as far as it changes the work."""

    latitude = NumberField(min_value=-90, max_value=90, required=False, allow_null=True)
    longitude = NumberField(min_value=-180, max_value=180, required=False, allow_null=True)
    time_zone = TextField(
        max_length=64, validators=[validate_time_zone], required=False, help_text="Without it, the office's."
    )
    one_truck_at_a_time = TruthField(required=False)
    trucks_must_back = TruthField(required=False)
    power_lines = TruthField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        return {"time_zone": self.context["company"].time_zone, **attrs}


class PourPreview(PourTerms):
    """A pour as it might be."""

    starts_at = MomentField(help_text="When the first truck begins to discharge.")
    site = KeptOrGiven(
        Site.objects.all(), PlaceFacts(), required=False, help_text="Its id, or what matters of a place."
    )
    mix = KeptOrGiven(Mix.objects.select_related("plant"), MixFacts(), help_text="Its id, or what it is.")
    plant = KeptOrGiven(
        Plant.objects.prefetch_related("hours", "closures", "openings", "fees"), PlantFacts(), required=False,
        help_text="Its id, or how it supplies; without it, the plant of a kept mix.",
    )  # fmt: skip
    crew = ReferenceField(
        queryset=Crew.objects.all(), required=False, allow_null=True,
        help_text="For its straightedge and its own rate.",
    )  # fmt: skip
    weather = rows(WeatherRow, required=False, allow_null=True, max_length=MOST_HOURS,
        help_text="Hour by hour; without it, the newest forecast of a kept site.",
    )  # fmt: skip

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Read clocks on the site's, and find a plant."""
        site = attrs.setdefault("site", Site(time_zone=self.context["company"].time_zone))
        attrs["starts_at"] = on_the_clock(attrs["starts_at"], site)
        for number, hour in enumerate(attrs.get("weather") or ()):
            hour["at"] = on_the_clock(hour["at"], site, f"weather[{number}].at")
        if "plant" not in attrs:
            attrs["plant"] = attrs["mix"].plant if attrs["mix"].pk else Plant(time_zone=site.time_zone)
        return attrs


class PreviewAnswer(PlanBody):
    """The plan of a pour nobody booked, with what it would run into were it booked so."""

    clashes = ClashRow(many=True)
