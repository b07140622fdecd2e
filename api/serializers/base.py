"""What every serializer here stands on."""

from collections.abc import Mapping
from typing import Any

from django.db import models
from phonenumber_field.modelfields import PhoneNumberField
from rest_framework import serializers
from rest_framework.fields import empty

from api import fields


class Closed(serializers.Serializer):
    """Refuses names it does not know, so that a slip of the pen is told instead of passed over."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            taken = {name for name, field in self.fields.items() if not field.read_only}
            unknown = [name for name in data if name not in taken]
            if unknown:
                raise serializers.ValidationError({name: self._why_not(name) for name in unknown})
        return super().to_internal_value(data)

    def _why_not(self, name: str) -> serializers.ErrorDetail:
        if name in self.fields:
            return serializers.ErrorDetail("This cannot be set here.", code="read_only")
        return serializers.ErrorDetail("There is no such field here.", code="unknown_field")


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
