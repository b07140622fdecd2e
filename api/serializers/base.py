"""What every serializer here stands on."""

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from django.db import models
from phonenumber_field.modelfields import PhoneNumberField
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.fields import empty

from api import fields


class Closed(serializers.Serializer):
    """Refuses names it does not know, so that a slip of the pen is told instead of passed over."""

    def to_internal_value(self, data: Any) -> Any:
        unknown = self._unknown(data) if isinstance(data, Mapping) else {}
        try:
            taken = super().to_internal_value(data)
        except serializers.ValidationError as wrong:
            told: Any = wrong.detail
            raise serializers.ValidationError({**unknown, **told}) from wrong
        if unknown:
            raise serializers.ValidationError(unknown)
        return taken

    def _unknown(self, data: Mapping[str, Any]) -> dict[str, ErrorDetail]:
        taken = [name for name, field in self.fields.items() if not field.read_only]
        return {name: self._why_not(name, taken) for name in data if name not in taken}

    def _why_not(self, name: str, taken: list[str]) -> ErrorDetail:
        if name in self.fields:
            return ErrorDetail("This cannot be set here.", code="read_only")
        meant = "".join(f" Did you mean “{near}”?" for near in get_close_matches(name, taken, n=1))
        return ErrorDetail(f"There is no such field here.{meant}", code="unknown_field")


class Record(Closed, serializers.ModelSerializer):
    """A row the company keeps, given and taken with strict fields."""

    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.CharField: fields.TextField,
        models.TextField: fields.TextField,
        models.BooleanField: fields.TruthField,
        models.FloatField: fields.NumberField,
        models.IntegerField: fields.WholeField,
        models.PositiveSmallIntegerField: fields.WholeField,
        models.TimeField: fields.ClockField,
        models.DateField: fields.DayField,
        PhoneNumberField: fields.PhoneField,
    }
    serializer_related_field = fields.ReferenceField


def rows(kind: type[serializers.Serializer], **settings: Any) -> Any:
    """A list of such rows."""
    return kind(many=True, **settings)


def let_out(serializer: serializers.Serializer) -> None:
    """Let a change leave every field out. DRF's own `partial` would free those of rows within it too."""
    for field in serializer.fields.values():
        if not field.read_only:
            field.required, field.default = False, empty
