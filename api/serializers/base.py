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
from scheduling.errors import Refusal
from scheduling.services.ratechange import require_meant


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


class MeantRate(Closed):
    """A record with a rate, which is asked about where it becomes many times what it was."""

    RATE = ("", "")  # the field's name, and the column it is kept in

    confirm_rate = fields.TruthField(
        write_only=True,
        required=False,
        help_text="The rate is meant, though it is more than four times what it was or less than a quarter.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        name, column = self.RATE
        if not attrs.pop("confirm_rate", False) and column in attrs:
            row = self.instance or self.Meta.model()  # type: ignore[attr-defined]
            try:
                require_meant(row=row, column=column, becomes=attrs[column])
            except Refusal as refused:
                raise serializers.ValidationError({name: [refused.message]}, code=refused.code) from refused
        return attrs


def rows(kind: type[serializers.Serializer], **settings: Any) -> Any:
    """A list of such rows."""
    return kind(many=True, **settings)


def let_out(serializer: serializers.Serializer) -> None:
    """Let a change leave every field out. DRF's own `partial` would free those of rows within it too."""
    for field in serializer.fields.values():
        if not field.read_only:
            field.required, field.default = False, empty
