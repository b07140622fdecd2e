"""Units as services write them, and wind in words."""

import logging
import re

import pytest

from scheduling.weather.units import CHOICES, Measure, converted, wind_in_words_m_s

MPH = 0.44704


@pytest.mark.parametrize(
    "unit", ["wmoUnit:degC", "unit:degC", "uc:degC", "nwsUnit:degC", "degC", "°C", "C", " c "]
)
def test_a_celsius_degree_is_one_under_every_namespace(unit):
    assert converted(21.5, unit, Measure.TEMPERATURE) == 21.5


@pytest.mark.parametrize(
    ("value", "unit", "measure", "expected"),
    [
        (24.14, "wmoUnit:km_h-1", Measure.SPEED, 15 * MPH),
        (15, "mph", Measure.SPEED, 6.7056),
        (15, "mp/h", Measure.SPEED, 6.7056),
        (36, "km/h", Measure.SPEED, 10.0),
        (5, "wmoUnit:m_s-1", Measure.SPEED, 5.0),
        (10, "kn", Measure.SPEED, 5.1444),
        (95, "°F", Measure.TEMPERATURE, 35.0),
        (14, "degF", Measure.TEMPERATURE, -10.0),
        (273.15, "K", Measure.TEMPERATURE, 0.0),
        (73, "wmoUnit:percent", Measure.FRACTION, 0.73),
        (73, "%", Measure.FRACTION, 0.73),
        (0.1, "inch", Measure.RAIN, 2.54),
        (3, "wmoUnit:mm", Measure.RAIN, 3.0),
        (840, "W/m²", Measure.SUN, 840.0),
    ],
)
def test_units_are_carried_into_the_engines_own(value, unit, measure, expected):
    assert converted(value, unit, measure) == pytest.approx(expected, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("measure", list(Measure))
def test_every_unit_that_people_are_offered_is_known(measure):
    for unit in re.split(r", | or ", CHOICES[measure]):
        assert converted(1.0, unit, measure) is not None


@pytest.mark.parametrize(
    ("unit", "measure"),
    [
        ("furlong_d-1", Measure.SPEED),
        ("", Measure.SPEED),
        ("degC", Measure.SPEED),
        ("degR", Measure.TEMPERATURE),
    ],
)
def test_an_unknown_unit_drops_the_value_and_leaves_a_line_in_the_log(unit, measure, caplog):
    with caplog.at_level(logging.WARNING):
        assert converted(24.14, unit, measure) is None
    assert repr(unit) in caplog.text


@pytest.mark.parametrize(
    ("words", "m_s"),
    [
        ("10 mph", 10 * MPH),
        ("5 to 10 mph", 10 * MPH),
        ("around 0 mph", 0.0),
        ("Calm", 0.0),
        ("  CALM ", 0.0),
        ("up to 15 mph", 15 * MPH),
        ("18 km/h", 5.0),
        ("7.5 to 12.5 mph", 12.5 * MPH),
    ],
)
def test_wind_in_words_is_read_at_its_upper_end(words, m_s):
    assert wind_in_words_m_s(words) == pytest.approx(m_s)


@pytest.mark.parametrize(
    "words", ["Breezy", "", "10", "mph", "10 to mph", "ten mph", "10 furlongs", "5 - 10 mph"]
)
def test_wind_without_a_number_and_a_unit_is_unknown_and_logged(words, caplog):
    with caplog.at_level(logging.WARNING):
        assert wind_in_words_m_s(words) is None
    assert caplog.text
