"""What weather documents share: values that can be, moments, order, and how faults are told."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.inputs import WeatherHour
from scheduling.weather.document import (
    Problem,
    WeatherUnreadable,
    in_order,
    moment_of,
    number_of,
    value_of,
)

START = datetime(2026, 5, 11, 11, tzinfo=UTC)


@pytest.mark.parametrize("value", [None, True, "12", float("nan"), float("inf"), 10**400, [], {}])
def test_only_finite_numbers_are_numbers(value):
    assert number_of(value) is None


def test_an_impossible_value_is_dropped_and_logged(caplog):
    assert value_of("air_c", 98, "degC") is None
    assert "air_c" in caplog.text


def test_a_little_over_full_humidity_is_full_and_a_lot_is_not():
    assert value_of("humidity", 103, "percent") == 1.0
    assert value_of("humidity", 730, "percent") is None


def test_a_sensors_night_reading_of_the_sun_is_dark():
    assert value_of("sun_w_m2", -3.8, "W/m2") == 0.0


def test_a_unit_that_is_no_text_is_unknown():
    assert value_of("air_c", 20, None) is None
    assert value_of("air_c", 20, 7) is None


def test_a_moment_is_carried_into_utc():
    assert moment_of("2026-05-11T06:00:00-05:00") == START
    assert moment_of("2026-05-11T06:00:00-05:00").tzinfo is UTC


@pytest.mark.parametrize(
    "text", ["2026-05-11T06:00:00", "soon", "", None, 7, "9999-12-31T23:00:00-05:00", "\x00"]
)
def test_what_is_no_moment_is_refused(text):
    with pytest.raises(WeatherUnreadable):
        moment_of(text)


def test_hours_are_put_in_order():
    hours = [WeatherHour(at=START + timedelta(hours=n), air_c=n) for n in (2, 0, 1)]
    assert [hour.air_c for hour in in_order(hours)] == [0, 1, 2]


@pytest.mark.parametrize("minutes", [[], [0, 0], [0, 30]])
def test_no_hours_or_overlapping_hours_are_refused(minutes):
    with pytest.raises(WeatherUnreadable):
        in_order(WeatherHour(at=START + timedelta(minutes=n)) for n in minutes)


def test_faults_are_told_with_their_lines_and_the_rest_counted():
    fault = WeatherUnreadable(*(Problem(n, f"Fault {n}.") for n in range(2, 10)))
    assert len(fault.problems) == 8
    assert str(fault).startswith("Line 2: Fault 2. Line 3: Fault 3.")
    assert str(fault).endswith("And 3 more.")
    assert isinstance(fault, ValueError)
