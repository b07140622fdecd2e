"""Plans of pours that nobody books."""

from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.examples import PREVIEWS
from api.serializers.plans import PlanBody, plan_body
from api.serializers.previews import PourPreview
from api.views.base import Door
from scheduling.models import Job, Pour
from scheduling.roles import Right
from scheduling.services import forecasts, planning


class PreviewDoor(Door):
    """What a pour would take and how it would go, without booking it: nothing is kept."""

    serializer_class = PlanBody
    write_right = Right.BOOK
    pagination_class = None

    @extend_schema(
        operation_id="pour_previews_create",
        request=PourPreview,
        responses={200: PlanBody},
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
        return Response(PlanBody(plan_body(result), context=context).data)
