"""Ways a text leaves the house."""

import sys
from typing import Protocol, TextIO
from uuid import uuid4

from scheduling.texting.segments import segments


class TextFailed(Exception):
    """The gateway did not take the text; `permanent` when trying again cannot help."""

    def __init__(self, message: str, *, permanent: bool) -> None:
        super().__init__(message)
        self.message = message
        self.permanent = permanent


class Gateway(Protocol):
    def send(self, *, phone: str, body: str) -> str:
        """Hand the text over and return what the gateway calls it; raises `TextFailed`."""


class ConsoleGateway:
    """Prints each text, for trying the service without an account anywhere."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream

    def send(self, *, phone: str, body: str) -> str:
        key = f"console-{uuid4().hex[:12]}"
        count = segments(body)
        head = f"--- text to {phone} ({count} segment{'' if count == 1 else 's'}) ---"
        stream = self._stream or sys.stdout
        # One write, so that texts sent at the same moment do not mix.
        stream.write(f"{head}\n{body}\n{'-' * len(head)}\n")
        stream.flush()
        return key


GATEWAYS: dict[str, type[Gateway]] = {"console": ConsoleGateway}


def gateway_named(name: str) -> Gateway:
    """A gateway by the name the settings give it."""
    if name not in GATEWAYS:
        raise ValueError(f"No text gateway is called {name!r}; there is: {', '.join(sorted(GATEWAYS))}.")
    return GATEWAYS[name]()
