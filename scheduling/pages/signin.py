"""Signing in and out."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView


class SignInForm(AuthenticationForm):
    """Name and password, refused in words that do not tell which of them was wrong."""

    error_messages = {
        "invalid_login": "That name and password do not belong together. Both mind capital letters.",
        "inactive": "That name and password do not belong together. Both mind capital letters.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        username, password = self.fields["username"], self.fields["password"]
        username.label, username.error_messages["required"] = "Name", "Type your name."
        password.label, password.error_messages["required"] = "Password", "Type your password."
        username.widget = forms.TextInput(
            attrs={"autofocus": True, "autocomplete": "username", "autocapitalize": "none"}
        )


class SignIn(LoginView):
    """Django's own, which follows `?next=` only within this site."""

    template_name = "pages/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class SignOut(LogoutView):
    http_method_names = ["post", "options"]
