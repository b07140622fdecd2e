"""Texts to people."""

from collections.abc import Callable

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import MessageFilter
from api.serializers.base import Closed
from api.serializers.messages import MessageAnswer
from api.views.base import Door
from scheduling.models import Message
from scheduling.queries.visible import messages_for
from scheduling.roles import Right
from scheduling.services import outbox


class MessageDoor(mixins.ListModelMixin, mixins.RetrieveModelMixin, Door):
    """Texts to people, sent and to be sent; a crew lead sees their own."""

    serializer_class = MessageAnswer
    filterset_class = MessageFilter
    queryset = Message.objects.none()  # which rows, the person decides
    read_right = Right.SEE_WEEK
    write_right = Right.ANSWER_TEXTS

    def get_queryset(self) -> QuerySet[Message]:
        return messages_for(self.person).prefetch_related("about").order_by("-due_at", "-id")

    @extend_schema(operation_id="messages_arrived", request=Closed, responses=MessageAnswer)
    @action(detail=True, methods=["post"], filterset_class=None)
    def arrived(self, request: Request, pk: int) -> Response:
        """Nobody knew what became of the text (state `unknown`); its recipient has it."""
        return self._do(outbox.say_it_arrived)

    @extend_schema(operation_id="messages_send_again", request=Closed, responses=MessageAnswer)
    @action(detail=True, methods=["post"], url_path="send-again", url_name="send-again", filterset_class=None)
    def send_again(self, request: Request, pk: int) -> Response:
        """Nobody knew what became of the text (state `unknown`); its recipient has none: once more."""
        return self._do(outbox.send_again)

    def _do(self, service: Callable[..., None]) -> Response:
        message = self.get_object()
        self.checked(Closed)
        service(message=message, by=self.person, now=timezone.now())
        return Response(self.get_serializer(self.get_queryset().get(pk=message.pk)).data)
