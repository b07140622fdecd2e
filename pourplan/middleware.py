"""Refuses what no view could keep."""

from collections.abc import Callable, Iterable

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponseBase

Answer = Callable[[HttpRequest], HttpResponseBase]


def refuse_nul(answer: Answer) -> Answer:
    """Answer 400 to a NUL character anywhere in a request: PostgreSQL cannot keep one, nobody needs one."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        if any("\0" in given for given in texts_of(request)) or nul_in_json(request):
            raise BadRequest("A request must not contain NUL characters.")
        return answer(request)

    return middleware


def texts_of(request: HttpRequest) -> Iterable[str]:
    """Every text a view might look a row up by: path, query, form fields, cookies and headers."""
    yield request.path_info
    for name, values in (*request.GET.lists(), *request.POST.lists()):
        yield name
        yield from values
    yield from request.COOKIES.values()
    yield from (value for name, value in request.META.items() if name.startswith("HTTP_"))


def nul_in_json(request: HttpRequest) -> bool:
    """Whether a JSON body spells the character as an escape; a bare one is no JSON to begin with."""
    return request.content_type == "application/json" and rb"\u0000" in request.body
