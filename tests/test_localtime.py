"""Clock times in the gap and the overlap of a clock change. Dates from the IANA tz database."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from scheduling.errors import Refusal
from scheduling.localtime import moment_of

NEW_YORK = ZoneInfo("America/New_York")


def test_an_ordinary_time_is_that_moment():
    assert moment_of(datetime(2026, 6, 10, 7), NEW_YORK) == datetime(2026, 6, 10, 11, tzinfo=UTC)


def test_a_time_the_clock_jumps_over_is_refused_by_field():
    with pytest.raises(Refusal) as refused:
        moment_of(datetime(2026, 3, 8, 2, 30), NEW_YORK, field="starts_at")
    assert (refused.value.code, refused.value.field) == ("skipped_time", "starts_at")


def test_a_time_that_comes_twice_is_refused_without_an_offset():
    with pytest.raises(Refusal) as refused:
        moment_of(datetime(2026, 11, 1, 1, 30), NEW_YORK)
    assert refused.value.code == "doubled_time"


def test_an_offset_says_which_of_the_two_is_meant():
    wall = datetime.fromisoformat("2026-11-01T01:30:00-05:00")
    assert moment_of(wall, NEW_YORK) == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)
