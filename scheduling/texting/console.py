"""Prints each text, for trying the service without an account anywhere."""

import sys
from collections.abc import Iterator
from typing import TextIO
from uuid import uuid4

from scheduling.texting.segments import segments


class ConsoleGateway:
    """Writes texts where the worker's output goes, or to the stream it is given."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream

    @classmethod
    def wrong_settings(cls) -> Iterator[str]:
        """It needs none."""
        return iter(())

    def send(self, *, phone: str, body: str, key: str, text: int, again: int) -> str:
        count = segments(body)
        head = f"--- text to {phone} ({count} segment{'' if count == 1 else 's'}) ---"
        stream = self._stream or sys.stdout
        # One write, so that texts sent at the same moment do not mix.
        stream.write(f"{head}\n{body}\n{'-' * len(head)}\n")
        stream.flush()
        return f"console-{uuid4().hex[:12]}"
