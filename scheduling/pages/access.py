"""Who is let in to which page."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar, cast

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404

from scheduling.models import Pour, User
from scheduling.queries.visible import pours_for
from scheduling.roles import Right

View = TypeVar("View", bound=Callable[..., HttpResponseBase])


def person(request: HttpRequest) -> User:
    """Who is signed in; only for views that nobody else gets to."""
    return cast(User, request.user)


def needs(right: Right) -> Callable[[View], View]:
    """Let in those who hold the right; others who are signed in are refused, the rest asked to sign in."""

    def guard(view: View) -> View:
        @login_required
        @wraps(view)
        def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
            if not person(request).may(right):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return cast(View, guarded)

    return guard


def pour_or_404(request: HttpRequest, pk: int) -> Pour:
    """The pour, as long as this person may see it: one that is not theirs is not there."""
    return get_object_or_404(pours_for(person(request)), pk=pk)
