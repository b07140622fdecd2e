"""Sunrise, sunset and hours outside a window."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from astral import Observer, sun
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.daylight import daylight, hours_outside, sun_elevation_deg
from scheduling.engine.inputs import BadInput, Window

PHOENIX = (33.4484, -112.0740, ZoneInfo("America/Phoenix"))
MINNEAPOLIS = (44.9778, -93.2650, ZoneInfo("America/Chicago"))
ATLANTA = (33.7490, -84.3880, ZoneInfo("America/New_York"))
ANCHORAGE = (61.2181, -149.9003, ZoneInfo("America/Anchorage"))
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
NOON = datetime(2026, 6, 10, 12, tzinfo=UTC)


def day_of(where, day):
    """Sunrise and sunset of a local day."""
    latitude, longitude, zone = where
    start = datetime.combine(day, datetime.min.time(), zone)
    (window,) = daylight(latitude, longitude, start + 12 * HOUR, start + 12 * HOUR + MINUTE)
    return window.opens_at.astimezone(zone), window.closes_at.astimezone(zone)


@pytest.mark.parametrize(
    ("where", "day", "rises", "sets"),
    [
        (PHOENIX, date(2025, 6, 21), "05:19:17", "19:41:10"),
        (PHOENIX, date(2025, 12, 21), "07:28:49", "17:24:28"),
        (PHOENIX, date(2025, 3, 20), "06:31:39", "18:40:00"),
        (MINNEAPOLIS, date(2025, 6, 21), "05:26:48", "21:03:09"),
        (MINNEAPOLIS, date(2025, 12, 21), "07:48:36", "16:34:09"),
        (ATLANTA, date(2025, 6, 21), "06:27:43", "20:51:13"),
        (MINNEAPOLIS, date(2026, 11, 1), "06:52:00", "17:01:00"),  # the day the clocks go back
    ],
)
def test_the_sun_rises_and_sets_as_the_tables_have_it(where, day, rises, sets):
    # NOAA solar equations, zenith 90.833; public sunrise tables agree within minutes
    for moment, told in zip(day_of(where, day), (rises, sets), strict=True):
        expected = datetime.combine(day, time.fromisoformat(told), where[2])
        assert abs(moment - expected) <= MINUTE


def test_june_in_anchorage_has_a_day_though_it_has_no_civil_dawn():
    rises, sets = day_of(ANCHORAGE, date(2026, 6, 21))
    assert 19 * HOUR < sets - rises < 20 * HOUR


def test_north_of_the_circle_midsummer_is_all_day_and_midwinter_all_night():
    summer = datetime(2026, 6, 21, 12, tzinfo=UTC)
    (window,) = daylight(69.65, 18.96, summer, summer + DAY)
    assert window.opens_at <= summer - DAY + MINUTE
    assert window.closes_at >= summer + 2 * DAY - MINUTE
    winter = datetime(2026, 12, 21, 12, tzinfo=UTC)
    assert daylight(69.65, 18.96, winter, winter + DAY) == ()


# The circles lie at 66.56°, but the sun's upper edge seen through the air keeps it up, near midsummer, from
# 0.83° before them on.
@given(
    latitude=st.floats(-65.5, 65.5),
    longitude=st.floats(-180, 180),
    days=st.integers(0, 730),
    hours=st.integers(0, 23),
)
def test_between_the_circles_each_day_has_one_daylight(latitude, longitude, days, hours):
    start = NOON + days * DAY + hours * HOUR
    windows = daylight(latitude, longitude, start, start + 3 * DAY)
    assert 3 <= len(windows) <= 4
    assert all(a.closes_at < b.opens_at for a, b in pairwise(windows))
    assert all(timedelta() < w.closes_at - w.opens_at < DAY for w in windows)


def test_a_sunrise_that_drifts_over_midnight_of_utc_is_not_lost():
    start = datetime(2027, 1, 19, 21, tzinfo=UTC)
    assert len(daylight(64.546, 139.756, start, start + 3 * DAY)) == 3


@given(latitude=st.floats(-90, 90), longitude=st.floats(-180, 180), days=st.integers(0, 365))
def test_no_place_and_day_is_too_far_north(latitude, longitude, days):
    start = NOON + days * DAY
    for window in daylight(latitude, longitude, start, start + DAY):
        assert window.opens_at < start + DAY
        assert window.closes_at > start


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(BadInput) as caught:
        daylight(45, -93, datetime(2026, 6, 1), NOON)
    assert caught.value.field == "start"


# --- hours outside ----------------------------------------------------------------------------


def window(opens_h, closes_h):
    return Window(NOON + opens_h * HOUR, NOON + closes_h * HOUR)


@pytest.mark.parametrize(
    ("windows", "start_h", "end_h", "outside_h"),
    [
        ([(0, 5)], 1, 4, 0),
        ([(0, 5)], -2, 4, 2),
        ([(0, 5)], 3, 8, 3),
        ([(0, 5)], 6, 8, 2),
        ([(0, 5)], -3, -1, 2),
        ([(8, 10), (0, 5)], -1, 11, 5),
        ([(0, 5), (3, 6), (4, 5)], 0, 8, 2),
        ([], 1, 4, 3),
        ([(0, 5)], 5, 5, 0),
    ],
)
def test_hours_outside_are_those_that_no_window_holds(windows, start_h, end_h, outside_h):
    outside = hours_outside([window(*w) for w in windows], NOON + start_h * HOUR, NOON + end_h * HOUR)
    assert outside == pytest.approx(outside_h)


def test_hours_are_real_ones_where_the_clocks_go_back():
    zone = ZoneInfo("America/Chicago")
    midnight, morning = datetime(2026, 11, 1, 0, tzinfo=zone), datetime(2026, 11, 1, 6, tzinfo=zone)
    assert hours_outside([], midnight, morning) == 7
    assert hours_outside([Window(midnight, morning)], midnight, morning) == 0


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(39.0, -95.7), (61.2, -149.9), (-33.9, 151.2), (0.0, 0.0)]
)
def test_the_suns_height_is_the_librarys_at_every_hour_of_some_days(latitude, longitude):
    # The astral library's elevation without the air's bending, by NOAA's equations.
    moments = [
        datetime(2026, month, 17, hour, 20, tzinfo=UTC)
        for month in (1, 4, 6, 9, 12)
        for hour in range(0, 24, 3)
    ]
    ours = sun_elevation_deg(latitude, longitude, np.array([moment.timestamp() for moment in moments]))
    observer = Observer(latitude, longitude)
    theirs = [sun.elevation(observer, moment, with_refraction=False) for moment in moments]
    assert ours == pytest.approx(theirs, abs=0.03)
