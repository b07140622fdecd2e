"""Several people at the same second: each in a thread with a connection of its own."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any, TypeVar

from django.db import connection, connections

T = TypeVar("T")


def at_once(folder: Path, *tasks: Callable[[], T]) -> list[T | Exception]:
    """Do the tasks at once; what each gives, or why it was refused.

    On SQLite the rows of a test lie in memory and lock as a whole, so the tasks work on a copy in the folder:
    look at what became of it in a later task. Rows must be committed before.
    """
    copy = _copied(folder) if connection.vendor == "sqlite" else None
    ready = Barrier(len(tasks))

    def go(task: Callable[[], T]) -> T | Exception:
        own = connections.create_connection("default")
        if copy:
            own.settings_dict = {**own.settings_dict, "NAME": str(copy)}
        connections["default"] = own
        try:
            ready.wait()
            return task()
        except Exception as refused:
            return refused
        finally:
            own.close()

    with ThreadPoolExecutor(len(tasks)) as people:
        return list(people.map(go, tasks))


def _copied(folder: Path) -> Path:
    copy = folder / "copy.sqlite3"
    if not copy.exists():
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(copy)])
    return copy


def alone(folder: Path, task: Callable[[], T]) -> Any:
    """What a task sees after several were done at once."""
    (seen,) = at_once(folder, task)
    return seen
