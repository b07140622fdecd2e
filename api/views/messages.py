"""Texts to people."""

from django.db.models import QuerySet
from rest_framework import mixins

from api.filters import MessageFilter
from api.serializers.messages import MessageAnswer
from api.views.base import Door
from scheduling.models import Message
from scheduling.queries.visible import messages_for
from scheduling.roles import Right


class MessageDoor(mixins.ListModelMixin, mixins.RetrieveModelMixin, Door):
    """Texts to people, sent and to be sent; a crew lead sees their own."""

    serializer_class = MessageAnswer
    filterset_class = MessageFilter
    queryset = Message.objects.none()  # which rows, the person decides
    read_right = Right.SEE_WEEK

    def get_queryset(self) -> QuerySet[Message]:
        return messages_for(self.person).prefetch_related("about").order_by("-due_at", "-id")
