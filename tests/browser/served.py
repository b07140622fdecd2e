"""The made-up company in a file of its own, served by this process with all that comes before its pages."""

import fcntl
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import time_machine
from django.core.management import call_command
from django.db import connection
from django.test.testcases import LiveServerThread

from scheduling.management.demo import company

# A Thursday morning in Kansas City; the company's week begins on the Monday after, the 31st.
NOW = datetime(2026, 8, 27, 15, 0, tzinfo=UTC)
MONDAY = "2026-08-31"


@contextmanager
def rows_in(file: Path) -> Iterator[None]:
    """Django's rows are in this file: those who connect in the meantime, server threads too, go there."""
    usual, opened = connection.settings_dict["NAME"], connection.connection
    connection.connection = (
        None  # put aside, not closed: with the last one a database in memory would be gone
    )
    connection.settings_dict["NAME"] = str(file)
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"], connection.connection = usual, opened


def company_file(folder: Path) -> Path:
    """The company's rows, made once by whichever of several test processes asks first."""
    kept = folder / "company.sqlite3"
    with (folder / "company.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            begun = folder / "begun.sqlite3"
            with rows_in(begun), time_machine.travel(NOW):
                call_command("migrate", verbosity=0)
                company.make_company(NOW)
            shutil.move(begun, kept)
    return kept


@contextmanager
def server() -> Iterator[str]:
    """Its address. Files come through the middleware, as they do behind gunicorn."""
    thread = LiveServerThread("localhost", static_handler=lambda application: application)
    thread.daemon = True
    thread.start()
    thread.is_ready.wait()
    if thread.error:
        raise thread.error
    try:
        yield f"http://localhost:{thread.port}"
    finally:
        thread.terminate()
