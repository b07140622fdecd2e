"""What every way out of the house promises, and how it says that a text did not go."""

from collections.abc import Iterator
from enum import StrEnum
from typing import Protocol


class Fault(StrEnum):
    """Why a text was not taken, as far as it says what to do next."""

    PASSING = "passing"  # trying again later may help
    LASTING = "lasting"  # this text will never go
    BAD_NUMBER = "bad_number"  # no text will ever reach this number
    OPTED_OUT = "opted_out"  # the person asked the service for no more texts


class TextFailed(Exception):
    """The gateway did not take the text; `wait_s` is how long it asked to be left alone."""

    def __init__(self, message: str, *, fault: Fault, wait_s: float | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.fault = fault
        self.wait_s = wait_s


class PerhapsSent(Exception):
    """Nobody can tell whether the gateway took the text: only a person may have it sent again."""


class Gateway(Protocol):
    @classmethod
    def wrong_settings(cls) -> Iterator[str]:
        """What keeps this gateway from working, a sentence each, without the values."""

    def send(self, *, phone: str, body: str, key: str, text: int, again: int) -> str:
        """Hand the text over and return what the gateway calls it; raises `TextFailed` or `PerhapsSent`.

        `key` is the same however often this sending is tried. `text` and `again` say which text of
        ours it is and how often a person had it sent again, for the gateway's receipt to repeat.
        """
