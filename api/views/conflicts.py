"""Where people are asked for in two places at once, and what else a week breaks."""

from datetime import datetime, timedelta

from django import forms
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import BoundInput, EndInput
from api.serializers.conflicts import ClashRow, CureRow, broken_row, clash_row
from api.views.base import Door
from scheduling.models import Pour
from scheduling.queries.clashes import clashes_between
from scheduling.queries.weekrules import broken_rules
from scheduling.roles import Right
from scheduling.services.cures import cures

LONGEST = timedelta(days=100)  # our choice: a season; each clash is found afresh
SPAN = [
    OpenApiParameter("from", str, required=True, description="A day or a moment, on the office's clock."),
    OpenApiParameter(
        "to", str, required=True, description="A day, itself included, or a moment, itself not."
    ),
]

KEY = [OpenApiParameter("key", str, required=True, description="Of a clash, as the list gives it.")]


class ConflictDoor(Door):
    """Clashes between pours and broken rules of the week, found from the current plans."""

    queryset = Pour.objects.none()  # clashes are found, not kept
    serializer_class = ClashRow
    read_right = Right.SEE_ALL_POURS
    parameters = frozenset({"from", "to", "key"})

    @extend_schema(operation_id="conflicts_list", parameters=SPAN, responses=ClashRow(many=True))
    def list(self, request: Request) -> Response:
        """Every clash that touches the span, in order of time."""
        start, end = self._bound("from", BoundInput()), self._bound("to", EndInput())
        if not timedelta() < end - start <= LONGEST:
            raise ValidationError(
                {"to": f"This must be after “from”, by at most {LONGEST.days} days."}, code="invalid"
            )
        broken = [broken_row(rule) for rule in broken_rules(start, end, timezone.now())]
        rows = [*(clash_row(clash) for clash in clashes_between(start, end)), *broken]
        return self.paged(sorted(rows, key=lambda row: (row["starts_at"], row["key"])), ClashRow)

    @extend_schema(operation_id="conflicts_cures", parameters=KEY, responses=CureRow(many=True))
    @action(detail=False)
    def cures(self, request: Request) -> Response:
        """Up to three of different kinds, each tried on the week and shown to work, or what is to be done."""
        return self.paged(cures(key=request.query_params.get("key", ""), now=timezone.now()), CureRow)

    def _bound(self, name: str, reads: BoundInput) -> datetime:
        try:
            return reads.clean(self.request.query_params.get(name, ""))
        except forms.ValidationError as wrong:
            raise ValidationError({name: wrong.messages}) from wrong
