"""Orders with the plant."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import OrderFilter
from api.serializers.base import Closed
from api.serializers.orders import OrderAnswer, OrderCall, OrderConfirmation
from api.views.base import Door
from scheduling.models import PlantOrder
from scheduling.queries.visible import orders_for
from scheduling.roles import Right
from scheduling.services import ordering


class OrderDoor(mixins.ListModelMixin, mixins.RetrieveModelMixin, Door):
    """Concrete ordered from a plant. A revision takes the place of the one before, which stays to see."""

    serializer_class = OrderAnswer
    filterset_class = OrderFilter
    queryset = PlantOrder.objects.none()  # which rows, the person decides
    read_right = Right.SEE_WEEK
    write_right = Right.ORDER

    def get_queryset(self) -> QuerySet[PlantOrder]:
        orders = orders_for(self.person).select_related("pour__job__site", "mix__plant")
        return orders.order_by("-made_at", "-id")

    @extend_schema(operation_id="orders_call_in", request=OrderCall, responses=OrderAnswer)
    @action(detail=True, methods=["post"], url_path="call-in", url_name="call-in")
    def call_in(self, request: Request, pk: int) -> Response:
        """Note that the order has been called in to the plant."""
        return self._do(ordering.call_in, OrderCall)

    @extend_schema(operation_id="orders_confirm", request=OrderConfirmation, responses=OrderAnswer)
    @action(detail=True, methods=["post"])
    def confirm(self, request: Request, pk: int) -> Response:
        """Note that the plant has confirmed the order. That of a pour on hold cannot be confirmed."""
        return self._do(ordering.confirm, OrderConfirmation)

    def _do(self, service: Callable[..., Any], kind: type[Closed]) -> Response:
        order = self.get_object()
        service(order=order, by=self.person, now=timezone.now(), **self.checked(kind))
        return Response(self.get_serializer(self.get_queryset().get(pk=order.pk)).data)
