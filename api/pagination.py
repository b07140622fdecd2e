"""How long lists are given out."""

from typing import Any

from django.db.models import QuerySet
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.views import APIView


class Pages(PageNumberPagination):
    """Numbered pages, whose size the caller may choose up to a limit."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200

    def paginate_queryset(
        self, queryset: Any, request: Request, view: APIView | None = None
    ) -> list[Any] | None:
        """A page. Rows alike in all they are ordered by would change places between pages."""
        if isinstance(queryset, QuerySet) and queryset.query.order_by[-1:] not in (("id",), ("-id",)):
            raise AssertionError("A list must be ordered, by id at last.")
        return super().paginate_queryset(queryset, request, view)
