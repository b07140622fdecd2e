"""What is due, what needs a person, what people text back, and who may be texted."""

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.helpers import forced_singular_serializer
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.serializers.base import Closed
from api.serializers.oncall import OnCallAnswer, ReplyAnswer
from api.views.base import Door
from scheduling.models import Reply
from scheduling.queries.oncall import on_call
from scheduling.roles import Right
from scheduling.services import inbox


class OnCallDoor(Door):
    """What whoever is on call must know of texts."""

    serializer_class = OnCallAnswer
    queryset = Reply.objects.none()  # gathered from several tables
    read_right = Right.SEE_MESSAGES
    pagination_class = None

    @extend_schema(operation_id="on_call", responses=forced_singular_serializer(OnCallAnswer))
    def list(self, request: Request) -> Response:
        """Whether texts go, the oldest that is due and unsent, what comes next, and what needs a person."""
        return Response(self.get_serializer(on_call(timezone.now())).data)


class ReplyDoor(mixins.ListModelMixin, mixins.RetrieveModelMixin, Door):
    """What people texted back, the latest first."""

    serializer_class = ReplyAnswer
    queryset = Reply.objects.none()
    read_right = Right.SEE_MESSAGES
    write_right = Right.ANSWER_TEXTS

    def get_queryset(self) -> QuerySet[Reply]:
        return Reply.objects.order_by("-received_at", "-id")

    @extend_schema(operation_id="replies_seen", request=Closed, responses=ReplyAnswer)
    @action(detail=True, methods=["post"])
    def seen(self, request: Request, pk: int) -> Response:
        """Note that somebody has read it and sees to it."""
        reply = self.get_object()
        self.checked(Closed)
        inbox.mark_seen(reply=reply, by=self.person, now=timezone.now())
        return Response(self.get_serializer(self.get_queryset().get(pk=reply.pk)).data)
