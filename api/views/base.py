"""What every view here stands on: rights, units, and rows restricted before anything is done with them."""

from functools import cached_property
from typing import Any, cast
from zoneinfo import ZoneInfo

from django_filters.rest_framework import FilterSet
from rest_framework import mixins, serializers, viewsets
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.permissions import HasRight
from api.serializers.base import let_out
from scheduling.models import Company, User
from scheduling.quantities import UnitSystem
from scheduling.roles import Right

PARAMETERS = frozenset({"units", "page", "page_size"})


class Door(viewsets.GenericViewSet):
    """A view that names its rights and gives quantities in the units asked for."""

    permission_classes = [HasRight]
    # OPTIONS would tell what related fields may be set to.
    metadata_class = None
    read_right: Right | None = None
    write_right: Right | None = None
    lookup_value_converter = "int"
    filterset_class: type[FilterSet] | None = None
    parameters: frozenset[str] = frozenset()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        self._refuse_unknown_parameters()

    def _refuse_unknown_parameters(self) -> None:
        """A slip of the pen in a filter would otherwise give every row there is."""
        filters = self.filterset_class.base_filters if self.filterset_class else ()
        known = PARAMETERS | self.parameters | set(filters)
        unknown = [name for name in self.request.query_params if name not in known]
        if unknown:
            told = serializers.ErrorDetail("There is no such parameter here.", code="unknown_parameter")
            raise ValidationError(dict.fromkeys(unknown, told))

    @cached_property
    def company(self) -> Company:
        """The company; before the office has set it up, one with everything as it comes."""
        return Company.objects.first() or Company()

    @property
    def person(self) -> User:
        return cast(User, self.request.user)

    @property
    def units(self) -> UnitSystem:
        asked = self.request.query_params.get("units", self.company.units)
        try:
            return UnitSystem(asked)
        except ValueError as unknown:
            raise ValidationError({"units": "Ask for us or metric."}, code="invalid_choice") from unknown

    def get_serializer_context(self) -> dict[str, Any]:
        zone = ZoneInfo(self.company.time_zone)
        context = {"company": self.company, "units": self.units, "zone": zone}
        return {**super().get_serializer_context(), **context}

    def checked(self, kind: type[serializers.Serializer], changed: Any = None) -> dict[str, Any]:
        """What the body says, as that kind of request reads it; of a row to change it may say any part."""
        asked = kind(changed, data=self.request.data, context=self.get_serializer_context())
        if self.request.method == "PATCH":
            let_out(asked)
        asked.is_valid(raise_exception=True)
        return dict(asked.validated_data)

    def paged(self, rows: Any, kind: type[serializers.BaseSerializer], **context: Any) -> Response:
        """A page of rows that are not the view's own."""
        page = self.paginate_queryset(rows)
        answer = kind(page, many=True, context={**self.get_serializer_context(), **context})
        return self.get_paginated_response(answer.data)


class Records(mixins.ListModelMixin, mixins.RetrieveModelMixin, mixins.DestroyModelMixin, Door):
    """Rows of one kind to list, read, add, change and take away."""

    def create(self, request: Request) -> Response:
        asked = self.get_serializer(data=request.data)
        return self._kept(asked, status=201)

    def partial_update(self, request: Request, pk: int) -> Response:
        asked: Any = self.get_serializer(self.get_object(), data=request.data)
        let_out(asked)
        return self._kept(asked, status=200)

    def _kept(self, asked: Any, status: int) -> Response:
        asked.is_valid(raise_exception=True)
        row = self.get_queryset().get(pk=asked.save().pk)
        return Response(self.get_serializer(row).data, status=status)
