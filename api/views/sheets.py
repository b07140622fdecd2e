"""Pours as a sheet of separated values."""

from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import renderers, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.serializers.base import Closed
from api.serializers.sheets import SheetAnswer, SheetBooked, SheetImport, SheetProblem, SheetText
from api.views.base import Door
from scheduling.queries.pourfiles import pours_between
from scheduling.queries.visible import pours_for
from scheduling.roles import Right
from scheduling.services.sheetfile import DELIMITERS, DateOrder, decoded
from scheduling.services.sheetpours import Reading
from scheduling.services.sheets import import_pours, pours_sheet, read_sheet

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


class SheetImportDoor(Door):
    """Pours out of a sheet: how it is read first, then all of it or nothing."""

    serializer_class = SheetAnswer
    write_right = Right.BOOK
    pagination_class = None

    def present_facts(self, facts: dict[str, Any]) -> dict[str, Any]:
        """What is wrong with a file, line by line."""
        if "problems" not in facts:
            return facts
        return {**facts, "problems": SheetProblem(facts["problems"], many=True).data}

    @extend_schema(operation_id="pour_sheet_preview", request=SheetText, responses={200: SheetAnswer})
    def preview(self, request: Request) -> Response:
        """Say how a sheet would be read, its dates in words; nothing is kept."""
        reading = _read(self.checked(SheetText))
        return Response(SheetAnswer(reading, context=self.get_serializer_context()).data)

    @extend_schema(operation_id="pour_sheet_import", request=SheetImport, responses={201: SheetBooked})
    def create(self, request: Request) -> Response:
        """Book every pour of a sheet that is not booked already, or none where anything is wrong."""
        given = self.checked(SheetImport)
        accept = given.pop("accept_clashes")
        booked = import_pours(reading=_read(given), by=self.person, now=timezone.now(), accept_clashes=accept)
        kept = pours_for(self.person).filter(pk__in=[pour.pk for pour in booked])
        light = kept.defer("plan__inputs", "plan__result").order_by("starts_at", "id")
        answer = SheetBooked({"pours": light}, context=self.get_serializer_context())
        return Response(answer.data, status=201)


def _read(given: dict[str, Any]) -> Reading:
    order = given.get("dates_have")
    return read_sheet(
        text=decoded(given["text"].encode()),
        delimiter=DELIMITERS.get(given.get("cells_parted_by", ""), ""),
        order=DateOrder(order) if order else None,
    )
