"""Morning texts before they are sent, and the language somebody reads."""

from datetime import date

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.fields import read_day
from api.serializers.drafts import DraftAnswer, LanguageChoice
from api.views.base import Door
from scheduling.models import Message
from scheduling.roles import Right
from scheduling.services import drafts, people

DAY = OpenApiParameter("day", date, required=True, description="As YYYY-MM-DD, on each site's own calendar.")


class DraftDoor(Door):
    """Morning texts as they would be written now; a crew lead sees their own."""

    queryset = Message.objects.none()  # drafts are written, not kept
    serializer_class = DraftAnswer
    read_right = Right.SEE_WEEK
    parameters = frozenset({"day"})

    @extend_schema(operation_id="morning_drafts_list", parameters=[DAY], responses=DraftAnswer(many=True))
    def list(self, request: Request) -> Response:
        """The texts of one day, with what sending each would take."""
        try:
            day = read_day(request.query_params.get("day", ""))
        except ValueError as wrong:
            raise ValidationError({"day": "Give a day as YYYY-MM-DD."}, code="invalid") from wrong
        return self.paged(drafts.morning_drafts(day=day, by=self.person), DraftAnswer)


class OwnLanguageDoor(Door):
    """The language one's own texts are written in."""

    pagination_class = None
    serializer_class = LanguageChoice
    read_right = Right.SEE_WEEK
    write_right = Right.SEE_WEEK

    @extend_schema(operation_id="own_language", responses=LanguageChoice)
    def retrieve(self, request: Request) -> Response:
        """The language chosen."""
        return Response({"language": self.person.language})

    @extend_schema(operation_id="own_language_choose", request=LanguageChoice, responses=LanguageChoice)
    def update(self, request: Request) -> Response:
        """Choose a language."""
        people.choose_language(person=self.person, by=self.person, **self.checked(LanguageChoice))
        return Response({"language": self.person.language})
