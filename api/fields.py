"""Fields that take just what the schema says: DRF's own take true for 1, "1_000" for 1000, "yes" for true."""

import math
import re
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from phonenumber_field import serializerfields
from rest_framework import serializers
from rest_framework.fields import get_attribute

from scheduling.quantities import (
    Dimension,
    QuantityError,
    UnitSystem,
    UnitValue,
    format_quantity,
    parse_object,
    to_unit,
)

MOMENT = re.compile(
    r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:?\d\d)?", re.ASCII | re.IGNORECASE
)
DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
CLOCK = re.compile(r"\d\d:\d\d(:\d\d)?", re.ASCII)
YEARS = range(2000, 2200)  # nobody pours outside them, and no zone's offset leads past the calendar's ends


class TextField(serializers.CharField):
    """Text; a number is not text."""

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class WholeField(serializers.IntegerField):
    """A whole number."""

    default_error_messages = {
        "invalid": "Give a whole number.",
        "min_value": "Give at least {min_value}.",
        "max_value": "Give at most {max_value}.",
    }

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, float) and data.is_integer():
            data = int(data)
        if not isinstance(data, int) or isinstance(data, bool):
            self.fail("invalid")
        return data


class NumberField(serializers.FloatField):
    """A finite number without a unit."""

    default_error_messages = {
        "invalid": "Give a number, without a unit.",
        "min_value": "Give at least {min_value}.",
        "max_value": "Give at most {max_value}.",
    }

    def to_internal_value(self, data: Any) -> float:
        if not isinstance(data, int | float) or isinstance(data, bool):
            self.fail("invalid")
        return super().to_internal_value(data)


class TruthField(serializers.BooleanField):
    """True or false."""

    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            self.fail("invalid", input=data)
        return data


class PhoneField(serializerfields.PhoneNumberField):
    """A phone number, best in its international form."""

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class QuantityField(serializers.Field):
    """A quantity: taken as `{"value": 18.0, "unit": "yd3"}` or `"18 yd3"`, given in the caller's units.

    Inside it is a number in the dimension's storage unit, in which `least` and `most` are given too; with
    `whole` it is kept as a whole number of them.
    """

    def __init__(
        self,
        dimension: Dimension,
        *,
        least: float = -math.inf,
        most: float = math.inf,
        whole: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self.dimension, self.least, self.most, self.whole = dimension, least, most, whole

    def to_internal_value(self, data: Any) -> float:
        try:
            stored = parse_object(data, self.dimension)
        except QuantityError as wrong:
            raise serializers.ValidationError(str(wrong), code=wrong.code) from wrong
        stored = round(stored) if self.whole else stored
        if not self.least <= stored <= self.most:
            raise serializers.ValidationError(self._limits(), code="out_of_range")
        return stored

    def to_representation(self, value: float) -> UnitValue:
        return to_unit(value, self.dimension, self.context["units"])

    def _limits(self) -> str:
        bounds = (("at least", self.least), ("at most", self.most))
        said = [f"{words} {self._worded(limit)}" for words, limit in bounds if math.isfinite(limit)]
        return f"This must be {' and '.join(said)}."

    def _worded(self, limit: float) -> str:
        return format_quantity(limit, self.dimension, self.context.get("units", UnitSystem.US))


class ReferenceField(serializers.PrimaryKeyRelatedField):
    """Another row: taken by its id, given with its name.

    One that is not there and one that the caller may not see read alike.
    """

    default_error_messages = {
        "does_not_exist": "Not found.",
        "incorrect_type": "Give its id, a whole number.",
    }

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, int) or isinstance(data, bool):
            self.fail("incorrect_type")
        return super().to_internal_value(data)

    def use_pk_only_optimization(self) -> bool:
        return False

    def to_representation(self, value: Any) -> dict[str, Any]:
        return {"id": value.pk, "name": str(value)}


@extend_schema_field(OpenApiTypes.DATE)
class DayField(serializers.Field):
    """A calendar day."""

    default_error_messages = {"invalid": "Give a day as YYYY-MM-DD."}

    def to_internal_value(self, data: Any) -> date:
        try:
            return read_day(data)
        except ValueError:
            self.fail("invalid")

    def to_representation(self, value: date) -> str:
        return value.isoformat()


@extend_schema_field(
    {"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$", "example": "06:00"}
)
class ClockField(serializers.Field):
    """A time of day on a clock on the wall."""

    default_error_messages = {"invalid": "Give a time of day as HH:MM."}

    def to_internal_value(self, data: Any) -> time:
        try:
            return time.fromisoformat(_matching(CLOCK, data))
        except ValueError:
            self.fail("invalid")

    def to_representation(self, value: time) -> str:
        return f"{value:%H:%M}"


@extend_schema_field(OpenApiTypes.DATETIME)
class MomentField(serializers.Field):
    """A moment. One given without an offset is read on the site's clock; answers carry the site's offset.

    `zone_from` leads from the row to the name of its zone; without it the zone is in the context.
    """

    default_error_messages = {
        "invalid": "Give a moment as YYYY-MM-DDTHH:MM, on the site's clock or with an offset such as -05:00."
    }

    def __init__(self, *, zone_from: str = "", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.zone_from = zone_from.split(".") if zone_from else []

    def to_internal_value(self, data: Any) -> datetime:
        try:
            return read_moment(data)
        except ValueError:
            self.fail("invalid")

    def get_attribute(self, instance: Any) -> datetime | None:
        moment = super().get_attribute(instance)
        if moment is None:
            return None
        name = get_attribute(instance, self.zone_from) if self.zone_from else ""
        return in_zone(moment, ZoneInfo(name) if name else self.context["zone"])

    def to_representation(self, value: datetime) -> str:
        return value.isoformat(timespec="seconds")


def in_zone(moment: datetime | str, zone: ZoneInfo) -> datetime:
    """A moment, or its text in a plan's JSON, on the clock of the zone."""
    if isinstance(moment, str):
        moment = datetime.fromisoformat(moment)
    return moment.astimezone(zone)


def read_moment(given: Any) -> datetime:
    """A moment or a clock time without an offset; raises `ValueError` where it is neither."""
    moment = datetime.fromisoformat(_matching(MOMENT, given).upper())
    if moment.year not in YEARS:
        raise ValueError("No year to pour in.")
    # An offset of seconds or of a whole day is no place's offset.
    return moment if moment.tzinfo is None else moment.astimezone(UTC)


def read_day(given: Any) -> date:
    """A calendar day; raises `ValueError` where it is none."""
    day = date.fromisoformat(_matching(DAY, given))
    if day.year not in YEARS:
        raise ValueError("No year to pour in.")
    return day


def _matching(shape: re.Pattern[str], given: Any) -> str:
    """The text, if it has the shape: `fromisoformat` alone takes more than we say we do."""
    if not isinstance(given, str) or not shape.fullmatch(given):
        raise ValueError("Not of the shape asked for.")
    return given


# --- quantities that are only given -----------------------------------------------------------


def quantity(dimension: Dimension, source: str, **settings: Any) -> QuantityField:
    return QuantityField(dimension, source=source, read_only=True, **settings)


def volume(source: str, **settings: Any) -> QuantityField:
    return quantity(Dimension.VOLUME, source, **settings)


def minutes(source: str, **settings: Any) -> QuantityField:
    return quantity(Dimension.MINUTES, source, **settings)
