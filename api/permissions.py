"""Who may come in where: each view names the rights it asks for, one class compares."""

from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request
from rest_framework.views import APIView

from scheduling.models import User


class HasRight(BasePermission):
    """Lets through whoever holds the view's `read_right`, or its `write_right` for a method that changes.

    A view without a right for a kind of method does not answer to it at all.
    """

    def has_permission(self, request: Request, view: APIView) -> bool:
        name = "read_right" if request.method in SAFE_METHODS else "write_right"
        right = getattr(view, name, None)
        user = request.user
        return isinstance(user, User) and (right is None or user.may(right))
