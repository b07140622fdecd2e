"""The queue of files that a bare clone runs on, made safe against messages that are only half written."""

import os
import time
import uuid
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.transport import filesystem
from kombu.utils.json import dumps


class Channel(filesystem.Channel):
    def _put(self, queue: str, payload: dict[str, Any], **_: Any) -> None:  # type: ignore[override]
        """Write the message aside and rename it: kombu's own would let a worker read it half written."""
        name = f"{time.time_ns()}_{uuid.uuid4()}.{queue}.msg"
        aside = Path(self.data_folder_out, f"{name}.part")
        aside.write_text(dumps(payload), encoding="utf-8")
        aside.replace(Path(self.data_folder_out, name))

    def _get(self, queue: str, timeout: float | None = None) -> dict[str, Any]:
        """Drop what cannot be read, as after a power cut, instead of stopping the worker over it."""
        try:
            return super()._get(queue)
        except ValueError as unreadable:
            raise Empty from unreadable


class Transport(filesystem.Transport):
    Channel = Channel


def folder_options(folder: Path) -> dict[str, Any]:
    """The transport's options for a queue kept below the folder, which is made if need be."""
    messages, control = folder / "messages", folder / "control"
    for made in (messages, control):
        made.mkdir(parents=True, exist_ok=True)
    return {
        "data_folder_in": os.fspath(messages),
        "data_folder_out": os.fspath(messages),
        "control_folder": os.fspath(control),
        "store_processed": False,
        # A look costs microseconds, and whoever is nudged to help with a second's work should not come late.
        "polling_interval": 0.2,
    }
