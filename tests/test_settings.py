"""The settings as Django and SQLite see them."""

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connections, transaction

from pourplan.settings import SQLITE

ROOT = Path(__file__).resolve().parent.parent
OURS = {
    "DATABASE_URL",
    "REDIS_URL",
    "SECRET_KEY",
    "PUBLIC_URL",
    "ALLOWED_HOSTS",
    "PROXY_COUNT",
    "TEXT_GATEWAY",
    "WEATHER_PROVIDER",
    "WEATHER_CONTACT",
    "WEATHER_TIMEOUT_S",
    "NWS_URL",
    "OPEN_METEO_URL",
    "WEEK_HANDS",
}


def started_with(var: Path, names: tuple[str, ...], /, **given: str) -> subprocess.CompletedProcess[str]:
    """Print the named settings as JSON from a fresh process whose environment holds only `given` of ours."""
    env = {name: value for name, value in os.environ.items() if name not in OURS}
    env |= {"POURPLAN_VAR": str(var), "DJANGO_SETTINGS_MODULE": "pourplan.settings", **given}
    script = (
        "import json; from django.conf import settings;"
        f"print(json.dumps({{n: getattr(settings, n) for n in {list(names)!r}}}, default=str))"
    )
    return subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=env, capture_output=True, text=True)


@pytest.fixture
def scratch(tmp_path, django_db_blocker):
    """A SQLite file of its own, opened with the settings the embedded database has."""
    connections.databases["scratch"] = {
        **settings.DATABASES["default"],
        **SQLITE,
        "NAME": tmp_path / "s.sqlite3",
    }
    with django_db_blocker.unblock():
        yield connections["scratch"]
        connections["scratch"].close()
    del connections["scratch"], connections.databases["scratch"]


def test_sqlite_waits_ten_seconds_for_a_lock_in_fact(scratch):
    with scratch.cursor() as cursor:
        assert cursor.execute("PRAGMA busy_timeout").fetchone() == (10_000,)


def test_sqlite_readers_do_not_block_writers(scratch):
    with scratch.cursor() as cursor:
        assert cursor.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert cursor.execute("PRAGMA synchronous").fetchone() == (1,)  # NORMAL


def test_a_sqlite_transaction_takes_the_write_lock_when_it_begins(scratch):
    scratch.ensure_connection()
    begun = []
    scratch.connection.set_trace_callback(begun.append)
    with transaction.atomic(using="scratch"):
        pass
    assert begun[0] == "BEGIN IMMEDIATE"


def add_one(times: int, faults: list[str]) -> None:
    """Read a number, then write one more, each time in a transaction."""
    try:
        for _ in range(times):
            with transaction.atomic(using="scratch"), connections["scratch"].cursor() as cursor:
                (number,) = cursor.execute("SELECT number FROM tally").fetchone()
                cursor.execute("UPDATE tally SET number = %s", [number + 1])
    except Exception as fault:
        faults.append(str(fault))
    finally:
        connections["scratch"].close()


def test_eight_writers_at_once_lose_nothing_and_none_is_locked_out(scratch):
    with scratch.cursor() as cursor:
        cursor.execute("CREATE TABLE tally (number integer)")
        cursor.execute("INSERT INTO tally VALUES (0)")
    faults: list[str] = []
    writers = [threading.Thread(target=add_one, args=(50, faults)) for _ in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    with scratch.cursor() as cursor:
        assert cursor.execute("SELECT number FROM tally").fetchone() == (400,)
    assert faults == []


def test_a_host_nobody_named_is_refused(client):
    assert client.get("/admin/login/", headers={"host": "attacker.example"}).status_code == 400
    assert client.get("/api/schema/", headers={"host": "attacker.example"}).status_code == 400


# A page, one of our own that is not there, the records' door, the API, its description, and a file.
ANSWERS = (
    "/sign-in/",
    "/nowhere/",
    "/admin/login/",
    "/api/v1/pours/",
    "/api/docs/",
    "/static/pages/site.css",
)


@pytest.mark.parametrize("address", ANSWERS)
def test_nothing_is_loaded_from_elsewhere_run_inline_framed_or_told_to_others(client, db, address):
    headers = client.get(address).headers
    if not address.startswith("/static/"):  # a file loads nothing, and whoever serves files may be another
        policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
        assert policy == {
            "default-src": "'self'",
            "script-src": "'self'",
            "style-src": "'self'",
            "img-src": "'self' data:",
            "object-src": "'none'",
            "base-uri": "'none'",
            "form-action": "'self'",
            "frame-ancestors": "'none'",
        }
        assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"


def test_a_bare_start_is_closed_and_embedded(tmp_path):
    names = ("DEBUG", "DATABASES", "CELERY_BROKER_URL", "SESSION_COOKIE_SECURE", "SECURE_PROXY_SSL_HEADER")
    given = json.loads(started_with(tmp_path, names).stdout)
    assert given["DEBUG"] is False
    assert given["DATABASES"]["default"]["NAME"] == str(tmp_path / "pourplan.sqlite3")
    assert given["CELERY_BROKER_URL"] == "filesystem://localhost"
    assert given["SESSION_COOKIE_SECURE"] is False
    assert given["SECURE_PROXY_SSL_HEADER"] is None


def test_https_in_the_public_address_closes_the_cookies_to_http(tmp_path):
    names = ("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "CSRF_TRUSTED_ORIGINS", "SECURE_HSTS_SECONDS")
    run = started_with(tmp_path, names, PUBLIC_URL="https://pours.example/", ALLOWED_HOSTS="pours.example")
    given = json.loads(run.stdout)
    assert given["SESSION_COOKIE_SECURE"] is given["CSRF_COOKIE_SECURE"] is True
    assert given["CSRF_TRUSTED_ORIGINS"] == ["https://pours.example"]
    assert given["SECURE_HSTS_SECONDS"] > 0


@pytest.mark.parametrize("shared", ["DATABASE_URL=postgres://u@h/d", "REDIS_URL=redis://h/0"])
def test_what_several_hosts_share_needs_one_secret_for_all(tmp_path, shared):
    name, url = shared.split("=", 1)
    run = started_with(tmp_path, ("DEBUG",), **{name: url})
    assert run.returncode != 0
    assert run.stderr.splitlines()[-1].endswith(
        "SECRET_KEY (or SECRET_KEY_FILE) must be given together with DATABASE_URL or REDIS_URL, "
        "the same one on every host."
    )
    assert started_with(tmp_path, ("DEBUG",), **{name: url, "SECRET_KEY": "k" * 50}).returncode == 0


@pytest.mark.parametrize("hands", ["0", "65", "two", "1.5", "-1"])
def test_a_number_of_hands_that_is_none_stops_the_start(tmp_path, hands):
    run = started_with(tmp_path, ("WEEK_HANDS",), WEEK_HANDS=hands)
    said = run.stderr.splitlines()[-1]
    assert said.endswith(f"WEEK_HANDS must be a whole number from 1 to 64, not {hands!r}.")


def test_a_wrong_value_stops_a_command_with_one_sentence(tmp_path):
    env = os.environ | {"POURPLAN_VAR": str(tmp_path), "PROXY_COUNT": "two"}
    run = subprocess.run(
        [sys.executable, "manage.py", "migrate"], cwd=ROOT, env=env, capture_output=True, text=True
    )
    assert run.returncode == 1
    assert run.stderr == "Pourplan cannot start: PROXY_COUNT must be a whole number from 0 to 9, not 'two'.\n"


def test_the_example_names_every_variable_that_is_read():
    example = (ROOT / ".env.example").read_text().splitlines()
    named = {line.split("=")[0] for line in example if line and not line.startswith("#")}
    read = set()
    for line in (ROOT / "pourplan" / "settings.py").read_text().split("env.")[1:]:
        kind, _, rest = line.partition('("')
        if kind.isidentifier() and rest:
            read.add(rest.split('"')[0])
            if kind in {"secret", "postgresql", "redis_url"}:
                read.add(rest.split('"')[0] + "_FILE")
    assert "POURPLAN_DEBUG" in read
    assert named == read
