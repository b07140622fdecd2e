"""What Gunicorn is started with (`-c python:pourplan.webserver`): no address in its log opens anything."""

from typing import Any

from gunicorn.glogging import Logger

from pourplan.logs import masked


class MaskedLog(Logger):
    def atoms(self, *about: Any) -> dict[str, Any]:
        """What a line of the access log is made of."""
        told = super().atoms(*about)
        return {name: masked(said) if isinstance(said, str) else said for name, said in told.items()}


logger_class = MaskedLog
