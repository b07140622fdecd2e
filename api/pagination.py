"""How long lists are given out."""

from rest_framework.pagination import PageNumberPagination


class Pages(PageNumberPagination):
    """Numbered pages, whose size the caller may choose up to a limit."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200
