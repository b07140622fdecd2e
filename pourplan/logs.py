"""How a log record is written."""

import logging
import re
import time

# What opens a crew's day, or a person's calendar: whoever reads a log must not be let in by it.
SECRET = re.compile(r"(?<=/d/)[A-Za-z0-9]{8,}|(?<=/calendar/)[\w-]{16,}(?=\.ics)")


def masked(text: str) -> str:
    """The text without what in an address opens something."""
    return SECRET.sub("...", text)


class OneLine(logging.Formatter):
    """Time in UTC, level, logger and text; what came from outside cannot begin a line of its own."""

    converter = staticmethod(time.gmtime)

    def __init__(self) -> None:
        super().__init__("%(asctime)sZ %(levelname)s %(name)s: %(message)s", "%Y-%m-%dT%H:%M:%S")

    def format(self, record: logging.LogRecord) -> str:
        written = super().format(record).replace("\r", "\\r").replace("\n", "\\n")
        return masked(written)
