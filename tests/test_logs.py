"""What the log looks like."""

import logging
from datetime import timedelta
from types import SimpleNamespace

from gunicorn.config import Config

from pourplan import webserver
from pourplan.logs import OneLine


def record(text: str, **parts: object) -> logging.LogRecord:
    made = logging.LogRecord("pourplan.test", logging.WARNING, __file__, 1, text, (), None)
    made.created = 1780999200.0  # 2026-06-09 10:00 UTC
    made.__dict__.update(parts)
    return made


def test_a_record_says_when_in_utc_how_grave_and_from_where():
    assert OneLine().format(record("late")) == "2026-06-09T10:00:00Z WARNING pourplan.test: late"


def test_text_from_outside_cannot_begin_a_line_of_its_own():
    written = OneLine().format(record("name: a\r\n2026-06-09T10:00:00Z INFO pourplan: all is well"))
    assert "\n" not in written
    assert "\r" not in written


def test_a_traceback_stays_on_the_line():
    try:
        raise ValueError("no such load")
    except ValueError as fault:
        written = OneLine().format(record("failed", exc_info=(type(fault), fault, fault.__traceback__)))
    assert "no such load" in written
    assert "\n" not in written


def test_a_link_that_opens_a_day_is_not_written():
    written = OneLine().format(record("Bad Request: /d/lmUq3TvzAfSz/1/note, /d/worker.js"))
    assert written.endswith("Bad Request: /d/.../1/note, /d/worker.js")


def test_a_calendars_secret_is_not_written():
    written = OneLine().format(record("Not Found: /calendar/2fAQ-x_9dD7hVvlmUq3TvzAf.ics, /calendar/link/"))
    assert written.endswith("Not Found: /calendar/....ics, /calendar/link/")


def test_the_web_servers_access_log_holds_no_secret_either():
    """What its lines are made of, with the settings it is started with."""
    log = webserver.logger_class(Config())
    answer = SimpleNamespace(status="200 OK", sent=9, headers=())
    asked = SimpleNamespace(headers=[("REFERER", "https://pours.example/d/lmUq3TvzAfSz")])
    environ = {"RAW_URI": "/calendar/2fAQ-x_9dD7hVvlmUq3TvzAf.ics", "REQUEST_METHOD": "GET"}
    environ |= {"SERVER_PROTOCOL": "HTTP/1.1", "PATH_INFO": environ["RAW_URI"]}
    atoms = log.atoms(answer, asked, environ, timedelta(seconds=1))
    assert atoms["r"] == "GET /calendar/....ics HTTP/1.1"
    assert not any(secret in str(atoms) for secret in ("lmUq3TvzAfSz", "2fAQ-x_9dD7hVvlmUq3TvzAf"))
