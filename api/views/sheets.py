"""Pours as a sheet of separated values."""

from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import renderers, serializers
from rest_framework.request import Request

from api.serializers.base import Closed
from api.views.base import Door
from scheduling.queries.pourfiles import pours_between
from scheduling.roles import Right
from scheduling.services.sheets import pours_sheet

LONGEST = timedelta(days=366)


class SheetRenderer(renderers.JSONRenderer):
    """Lets callers ask for text/csv; what goes wrong is told in JSON all the same."""

    media_type = "text/csv"
    format = "csv"


class Days(Closed):
    first = serializers.DateField(help_text="The first day, by each site's own calendar.")
    last = serializers.DateField(help_text="The last day, with its pours; at most a year after the first.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if not attrs["first"] <= attrs["last"] <= attrs["first"] + LONGEST:
            told = "The last day is not before the first, and at most a year after it."
            raise serializers.ValidationError({"last": told}, code="range")
        return attrs


class PourSheetDoor(Door):
    """Pours as a sheet that reads in again."""

    renderer_classes = [renderers.JSONRenderer, SheetRenderer]
    read_right = Right.SEE_WEEK
    parameters = frozenset({"first", "last"})
    serializer_class = Days
    pagination_class = None

    @extend_schema(
        operation_id="pour_sheet",
        parameters=[
            OpenApiParameter(name, OpenApiTypes.DATE, required=True, description=str(field.help_text))
            for name, field in Days().fields.items()
        ],
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    def retrieve(self, request: Request) -> HttpResponse:
        """The pours of some days that one may see, one line a slab; those cancelled are not among them."""
        asked = Days(data={name: request.query_params.get(name) for name in self.parameters})
        asked.is_valid(raise_exception=True)
        pours = pours_between(self.person, **asked.validated_data)
        body = pours_sheet(pours, self.company).encode("utf-8-sig")
        return HttpResponse(body, content_type="text/csv; charset=utf-8")
