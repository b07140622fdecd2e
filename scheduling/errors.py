"""Mistakes people make, in one shape: every door turns a `Refusal` into its own kind of answer."""

from collections.abc import Mapping
from typing import Any


class Refusal(Exception):
    """Something asked for that cannot be done, said in a sentence.

    `code` is a stable word for programs; `field` names the input at fault where there is one;
    `facts` are further values for programs to read.
    """

    status = 400

    def __init__(
        self, message: str, *, code: str = "refused", field: str = "", facts: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(message)
        self.message = message
        self.code = code
        self.field = field
        self.facts = dict(facts or {})


class NotAllowed(Refusal):
    """The person's role does not include this."""

    status = 403


class Clashes(Refusal):
    """It would clash with something already booked; a person may still accept that."""

    status = 409


class OutOfDate(Refusal):
    """Somebody changed it since the caller read it."""

    status = 412


class BookedAlready(Refusal):
    """The same page or program booked it before; `facts` name the pour."""

    status = 409
