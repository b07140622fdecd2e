"""Tokens as they come in a header."""

from typing import Any

from knox import auth
from rest_framework.exceptions import AuthenticationFailed


class TokenAuthentication(auth.TokenAuthentication):
    """Knox's, which would stumble over a header that is no text."""

    def authenticate_credentials(self, token: bytes) -> Any:
        if not token.isascii():
            raise AuthenticationFailed
        return super().authenticate_credentials(token)
