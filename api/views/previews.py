"""Plans of pours that nobody books."""

from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.examples import PREVIEWS
from api.serializers.conflicts import broken_row, clash_row
from api.serializers.plans import plan_body
from api.serializers.previews import PourPreview, PreviewAnswer
from api.views.base import Door
from scheduling.models import Job, Pour
from scheduling.queries.clashes import NOT_KEPT, clashes_of_draft
from scheduling.queries.weekrules import broken_by_draft
from scheduling.roles import Right
from scheduling.services import forecasts, planning


class PreviewDoor(Door):
    """What a pour would take and how it would go, without booking it: nothing is kept."""

    serializer_class = PreviewAnswer
    write_right = Right.BOOK
    pagination_class = None

    @extend_schema(
        operation_id="pour_previews_create",
        request=PourPreview,
        responses={200: PreviewAnswer},
        examples=PREVIEWS,
    )
    def create(self, request: Request) -> Response:
        """Plan a pour from what is given, or kept, and keep nothing."""
        given = self.checked(PourPreview)
        site, sections, weather = given.pop("site"), given.pop("sections"), given.pop("weather", None)
        hours = forecasts.weather_hours(weather, field="weather") if weather else weather
        pour = Pour(job=Job(site=site), **{"allowance_value": self.company.allowance_percent, **given})
        result = planning.preview_pour(pour=pour, sections=sections, hours=hours, now=timezone.now())
        context = {**self.get_serializer_context(), "zone": ZoneInfo(site.time_zone)}
        clashes = [clash_row(one) for one in clashes_of_draft(pour, result)]
        clashes += [broken_row(one) for one in broken_by_draft(pour, result, timezone.now())]
        for row in clashes:
            row["pours"] = [_unkept(one) for one in row["pours"]]
        return Response(PreviewAnswer({**plan_body(result), "clashes": clashes}, context=context).data)


def _unkept(pour: Pour) -> Pour:
    """The pour that is asked about has no number yet."""
    if pour.pk == NOT_KEPT:
        pour.pk = None
    return pour
