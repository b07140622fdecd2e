"""What a token is given for, and how."""

from rest_framework import serializers

from api.fields import MomentField, TextField
from api.serializers.base import Closed


class SignIn(Closed):
    username = TextField(max_length=150)
    password = TextField(max_length=128, trim_whitespace=False, style={"input_type": "password"})


class TokenAnswer(serializers.Serializer):
    token = serializers.CharField()
    expires_at = MomentField(help_text="On the office's clock; each use of the token puts it off.")
