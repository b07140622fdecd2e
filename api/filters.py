"""What lists may be narrowed to."""

from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django_filters import rest_framework as filters
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field

from api.fields import read_day, read_moment
from scheduling.localtime import moment_of
from scheduling.models import Message, MessageState, OrderState, PlantOrder, Pour, PourState
from scheduling.queries.week import office_zone

MOST = 2**63 - 1


class IdInput(forms.IntegerField):
    """A whole number in plain digits; Django's own takes "1_000" and the digits of any script."""

    def to_python(self, value: Any) -> int | None:
        if value and not (value.isascii() and value.isdigit()):
            raise forms.ValidationError("Give an id, a whole number.", code="invalid")
        return super().to_python(value)


@extend_schema_field(OpenApiTypes.INT)
class IdFilter(filters.Filter):
    """Rows that belong to the row with this id; one that is not there has none, like one nobody may see."""

    field_class = IdInput

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **{"max_value": MOST, **settings})


def read_bound(given: str, zone: ZoneInfo, *, end: bool) -> datetime:
    """A moment from a moment or a day: the day's midnight, or with `end` the midnight that ends it.

    Raises
    ------
    ValueError
        Where it is neither.
    Refusal
        Where the clock skips it or shows it twice.
    """
    try:
        day = read_day(given) + timedelta(days=1 if end else 0)
    except ValueError:
        # A plus that nobody escaped arrives as a space.
        return moment_of(read_moment(given.replace(" ", "+") if given[10:11] == "T" else given), zone)
    return datetime.combine(day, time(), zone)


class BoundInput(forms.Field):
    """A day or a moment on the office's clock."""

    end = False

    def to_python(self, value: Any) -> datetime | None:
        try:
            return read_bound(value, office_zone(), end=self.end) if value else None
        except ValueError as wrong:
            raise forms.ValidationError(
                "Give a day as YYYY-MM-DD or a moment as YYYY-MM-DDTHH:MM, on the office's clock or with an "
                "offset.",
                code="invalid",
            ) from wrong


class EndInput(BoundInput):
    end = True


@extend_schema_field(OpenApiTypes.STR)
class FromFilter(filters.Filter):
    field_class = BoundInput


@extend_schema_field(OpenApiTypes.STR)
class ToFilter(filters.Filter):
    field_class = EndInput


class PourFilter(filters.FilterSet):
    crew = IdFilter(field_name="crew_id")
    plant = IdFilter(field_name="plant_id")
    job = IdFilter(field_name="job_id")
    site = IdFilter(field_name="job__site_id")
    state = filters.MultipleChoiceFilter(choices=PourState.choices)

    class Meta:
        model = Pour
        fields: list[str] = []


# “from” is no name a class body can hold.
PourFilter.base_filters |= {
    "from": FromFilter(field_name="starts_at", lookup_expr="gte", help_text="Starts then or later."),
    "to": ToFilter(
        field_name="starts_at",
        lookup_expr="lt",
        help_text="Starts before that moment, or on that day at last.",
    ),
}


class OrderFilter(filters.FilterSet):
    pour = IdFilter(field_name="pour_id")
    plant = IdFilter(field_name="plant_id")
    state = filters.MultipleChoiceFilter(choices=OrderState.choices)

    class Meta:
        model = PlantOrder
        fields: list[str] = []


class MessageFilter(filters.FilterSet):
    pour = IdFilter(field_name="about__pour_id")
    state = filters.MultipleChoiceFilter(choices=MessageState.choices)

    class Meta:
        model = Message
        fields: list[str] = []


class MixFilter(filters.FilterSet):
    plant = IdFilter(field_name="plant_id")


class JobFilter(filters.FilterSet):
    site = IdFilter(field_name="site_id")


class CrewMemberFilter(filters.FilterSet):
    crew = IdFilter(field_name="crew_id")
