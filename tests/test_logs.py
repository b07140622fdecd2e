"""What the log looks like."""

import logging

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
