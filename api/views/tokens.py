"""Signing in and out with a token."""

from typing import Any

from django.contrib.auth import authenticate
from django.contrib.auth.signals import user_logged_in
from drf_spectacular.utils import extend_schema
from knox.models import AuthToken
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle

from api.errors import LockedOut, WrongPassword
from api.serializers.tokens import SignIn, TokenAnswer
from api.views.base import Door
from scheduling.models import User


class SignInThrottle(AnonRateThrottle):
    """Each try costs us a slow hash, so a caller gets fewer of them than of other requests."""

    scope = "sign-in"
    rate = "30/min"


class TokenDoor(Door):
    """A token opens this API: send it as “Authorization: Bearer …”. It lasts 30 days from its last use."""

    authentication_classes = []
    permission_classes = [AllowAny]
    throttle_classes = [SignInThrottle]
    pagination_class = None

    @extend_schema(operation_id="sign_in", request=SignIn, responses={201: TokenAnswer}, auth=[])
    def create(self, request: Request) -> Response:
        """Give a token for a name and password."""
        user = self._known(request, self.checked(SignIn))
        row, token = AuthToken.objects.create(user=user)
        user_logged_in.send(sender=User, request=request, user=user)
        answer = TokenAnswer(
            {"token": token, "expires_at": row.expiry}, context=self.get_serializer_context()
        )
        return Response(answer.data, status=201)

    def _known(self, request: Request, given: dict[str, Any]) -> User:
        user = authenticate(request, **given)
        if getattr(request, "axes_locked_out", False):
            raise LockedOut
        if not isinstance(user, User):
            raise WrongPassword
        return user


class OwnTokenDoor(Door):
    """The token of this request."""

    pagination_class = None

    @extend_schema(operation_id="sign_out", responses={204: None})
    def destroy(self, request: Request) -> Response:
        """Make the token of this request worthless."""
        if isinstance(request.auth, AuthToken):
            request.auth.delete()
        return Response(status=204)
