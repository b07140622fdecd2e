"""Moments as they are said."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from scheduling.texting.clock import about, clock, day_name, zone_clock

CENTRAL = ZoneInfo("America/Chicago")


def at(hour, minute=0, day=28):
    return datetime(2026, 8, day, hour, minute, tzinfo=CENTRAL)


@pytest.mark.parametrize(
    ("moment", "said"),
    [
        (at(7), "7am"),
        (at(7, 5), "7:05am"),
        (at(13, 20), "1:20pm"),
        (at(0), "midnight"),
        (at(0, 10), "12:10am"),
        (at(12), "noon"),
        (at(12, 30), "12:30pm"),
        (at(23, 59), "11:59pm"),
    ],
)
def test_the_clock_has_twelve_hours_and_never_says_twelve_alone(moment, said):
    assert clock(moment) == said


def test_another_day_is_named():
    assert clock(at(1, day=29), at(7)) == "Sat 1am"
    assert clock(at(22), at(7)) == "10pm"


@pytest.mark.parametrize(("minute", "said"), [(0, "8am"), (4, "8am"), (5, "8:05am"), (59, "8:55am")])
def test_a_forecast_moment_is_told_to_the_five_minutes_before_it(minute, said):
    assert about(at(8, minute)) == said


def test_the_zone_follows_the_season():
    assert zone_clock(at(6)) == "6am CDT"
    assert zone_clock(datetime(2026, 12, 1, 6, tzinfo=CENTRAL)) == "6am CST"


def test_a_day_has_its_weekday_and_month():
    assert day_name(at(6)) == "Fri Aug 28"
