"""Stored values written for people and programs, and read back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.quantities import (
    UNITS,
    Dimension,
    UnitSystem,
    display_unit,
    fact_dimension,
    format_fact,
    format_length_feet_inches,
    format_quantity,
    parse,
    parse_object,
    to_unit,
)

D = Dimension
US, METRIC = UnitSystem.US, UnitSystem.METRIC
FT, IN = 0.3048, 0.0254
YD3 = 0.9144**3

# The most a stored value may move by being rounded for people.
ROUNDING = {
    (D.LENGTH, US): IN / 32,
    (D.LENGTH, METRIC): 0.005,
    (D.DEPTH, US): IN / 32,
    (D.DEPTH, METRIC): 0.0005,
    (D.AREA, US): 0.5 * FT**2,
    (D.AREA, METRIC): 0.05,
    (D.VOLUME, US): 0.005 * YD3,
    (D.VOLUME, METRIC): 0.005,
    (D.TEMPERATURE, US): 0.5 / 1.8,
    (D.TEMPERATURE, METRIC): 0.5,
    (D.TEMPERATURE_DIFFERENCE, US): 0.5 / 1.8,
    (D.TEMPERATURE_DIFFERENCE, METRIC): 0.5,
    (D.SPEED, US): 0.5 * 0.44704,
    (D.SPEED, METRIC): 0.5 / 3.6,
    (D.MASS, US): 0.5 * 0.45359237,
    (D.MASS, METRIC): 0.5,
    (D.DENSITY, US): 0.5 * 16.0185,
    (D.DENSITY, METRIC): 0.5,
    (D.EVAPORATION, US): 0.005 * 4.88243,
    (D.EVAPORATION, METRIC): 0.005,
    (D.VOLUME_RATE, US): 0.05 * YD3,
    (D.VOLUME_RATE, METRIC): 0.05,
    (D.AREA_RATE, US): 0.5 * FT**2,
    (D.AREA_RATE, METRIC): 0.5,
    (D.STRENGTH, US): 0.5 * 0.00689476,
    (D.STRENGTH, METRIC): 0.05,
    (D.AGGREGATE, US): 25.4 / 32,
    (D.AGGREGATE, METRIC): 0.5,
    (D.RAIN, US): 0.005 * 25.4,
    (D.RAIN, METRIC): 0.05,
    (D.MINUTES, US): 0.5,
    (D.MINUTES, METRIC): 0.5,
    (D.HOURS, US): 0.05,
    (D.HOURS, METRIC): 0.05,
    (D.PERCENT, US): 0.05,
    (D.PERCENT, METRIC): 0.05,
    (D.FRACTION, US): 0.005,
    (D.FRACTION, METRIC): 0.005,
    (D.SLUMP, US): 25.4 / 32,
    (D.SLUMP, METRIC): 0.5,
    (D.SLOPE, US): 1 / 16 / 12 / 2,
    (D.SLOPE, METRIC): 0.0005,
    (D.MINUTES_A_VOLUME, US): 0.05 / YD3,
    (D.MINUTES_A_VOLUME, METRIC): 0.05,
}


# --- for people -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stored", "dimension", "us", "metric"),
    [
        (52 * FT, D.LENGTH, "52' 0\"", "15.85 m"),
        (30.5 * FT + IN / 2, D.LENGTH, "30' 6 1/2\"", "9.31 m"),
        (11.99 * IN, D.LENGTH, "1' 0\"", "0.3 m"),
        (IN / 2, D.LENGTH, "0' 1/2\"", "0.01 m"),
        (4.5 * IN, D.DEPTH, "4 1/2 in", "114 mm"),
        (4 * IN, D.DEPTH, "4 in", "102 mm"),
        (0.375 * IN, D.DEPTH, "3/8 in", "10 mm"),
        (0.0, D.DEPTH, "0 in", "0 mm"),
        (60_000 * FT**2, D.AREA, "60,000 ft2", "5,574.2 m2"),
        (40.25 * YD3, D.VOLUME, "40.25 yd3", "30.77 m3"),
        (18 * YD3, D.VOLUME, "18 yd3", "13.76 m3"),
        (200 * YD3, D.VOLUME, "200 yd3", "152.91 m3"),
        (18.3333, D.TEMPERATURE, "65 °F", "18 °C"),
        (-0.2, D.TEMPERATURE, "32 °F", "0 °C"),
        (10, D.TEMPERATURE_DIFFERENCE, "18 °F", "10 °C"),
        (4.4704, D.SPEED, "10 mph", "16 km/h"),
        (29_937, D.MASS, "66,000 lb", "29,937 kg"),
        (2400, D.DENSITY, "150 lb/ft3", "2,400 kg/m3"),
        (0.586, D.EVAPORATION, "0.12 lb/ft2/h", "0.59 kg/m2/h"),
        (40 * YD3, D.VOLUME_RATE, "40 yd3/h", "30.6 m3/h"),
        (139.4, D.AREA_RATE, "1,500 ft2/h", "139 m2/h"),
        (27.579, D.STRENGTH, "4,000 psi", "27.6 MPa"),
        (19.05, D.AGGREGATE, "3/4 in", "19 mm"),
        (2.54, D.RAIN, "0.1 in", "2.5 mm"),
        (90, D.MINUTES, "90 min", "90 min"),
        (8.5, D.HOURS, "8.5 h", "8.5 h"),
        (5, D.PERCENT, "5%", "5%"),
        (0.45, D.FRACTION, "45%", "45%"),
        (101.6, D.SLUMP, "4 in", "102 mm"),
        (1 / 48, D.SLOPE, "1/4 in per ft", "2.1%"),
        (0.02, D.SLOPE, "1/4 in per ft", "2%"),
        (7 / YD3, D.MINUTES_A_VOLUME, "7 min/yd3", "9.2 min/m3"),
    ],
)
def test_people_read_their_own_units(stored, dimension, us, metric):
    assert (format_quantity(stored, dimension, US), format_quantity(stored, dimension, METRIC)) == (
        us,
        metric,
    )


def test_feet_and_inches_are_to_the_part_asked_for():
    assert format_length_feet_inches(30 * FT + 6.3 * IN, denominator=8) == "30' 6 1/4\""
    assert format_length_feet_inches(30 * FT + 6.3 * IN) == "30' 6 5/16\""


def test_a_fall_of_the_ground_keeps_its_sign():
    assert format_length_feet_inches(-14 * IN) == "-1' 2\""
    assert format_quantity(-1.5 * IN, D.DEPTH, US) == "-1 1/2 in"


@given(st.integers(0, 16 * 12 * 1000))
def test_feet_and_inches_to_a_sixteenth_come_back_exactly(sixteenths):
    stored = parse(format_length_feet_inches(sixteenths * IN / 16), D.LENGTH)
    assert stored == pytest.approx(sixteenths * IN / 16, rel=1e-12)
    assert format_length_feet_inches(stored) == format_length_feet_inches(sixteenths * IN / 16)


@given(st.floats(0, 5000), st.sampled_from(sorted(ROUNDING)))
def test_what_people_read_can_be_typed_back(stored, case):
    dimension, system = case
    written = format_quantity(stored, dimension, system)
    back = parse(written, dimension)
    assert back == pytest.approx(stored, abs=ROUNDING[case] * 1.0001)
    assert format_quantity(back, dimension, system) == written


def test_every_dimension_has_its_rounding_in_both_systems():
    assert set(ROUNDING) == {(dimension, system) for dimension in Dimension for system in UnitSystem}


# --- for programs -----------------------------------------------------------------------------


def test_a_program_reads_a_number_and_a_plain_unit():
    assert to_unit(18 * YD3, D.VOLUME, US) == {"value": 18.0, "unit": "yd3"}
    assert to_unit(20, D.TEMPERATURE, US) == {"value": 68.0, "unit": "F"}
    assert to_unit(30.5 * FT, D.LENGTH, US) == {"value": 30.5, "unit": "ft"}
    assert to_unit(0.1, D.DEPTH, METRIC) == {"value": 100.0, "unit": "mm"}


@pytest.mark.parametrize("dimension", list(Dimension))
def test_units_are_plain_ascii_and_the_answers_unit_is_one_that_is_taken(dimension):
    assert all(unit.isascii() for unit in UNITS[dimension])
    assert {display_unit(dimension, US), display_unit(dimension, METRIC)} <= set(UNITS[dimension])


@given(st.floats(0, 5000), st.sampled_from(Dimension), st.sampled_from(UnitSystem))
def test_what_a_program_reads_it_can_send_back(stored, dimension, system):
    sent = to_unit(stored, dimension, system)
    assert parse_object(sent, dimension) == pytest.approx(stored, rel=1e-6, abs=1e-4)
    assert to_unit(parse_object(sent, dimension), dimension, system) == sent


# --- facts of the engine ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value", "us", "metric"),
    [
        ("peak_kg_m2_h", 0.976, "0.2 lb/ft2/h", "0.98 kg/m2/h"),
        ("net_m3", 40.25 * YD3, "40.25 yd3", "30.77 m3"),
        ("area_m2", 80.0, "861 ft2", "80 m2"),
        ("air_c", 32.2222, "90 °F", "32 °C"),
        ("difference_c", 10, "18 °F", "10 °C"),
        ("wind_m_s", 4.4704, "10 mph", "16 km/h"),
        ("depth_m", 4.5 * IN, "4 1/2 in", "114 mm"),
        ("least_depth_m", 4 * IN, "4 in", "102 mm"),
        ("thickness_m", 6 * IN, "6 in", "152 mm"),
        ("fall_m", 2 * IN, "2 in", "51 mm"),
        ("reach_m", 18 * FT, "18' 0\"", "5.49 m"),
        ("spacing_m", 12.5 * FT, "12' 6\"", "3.81 m"),
        ("age_min", 105.0, "105 min", "105 min"),
        ("window_h", 4.5, "4.5 h", "4.5 h"),
        ("rate_m3_h", 40 * YD3, "40 yd3/h", "30.6 m3/h"),
        ("coverage_m2_h", 139.4, "1,500 ft2/h", "139 m2/h"),
        ("density_kg_m3", 2400, "150 lb/ft3", "2,400 kg/m3"),
        ("road_limit_kg", 29_937, "66,000 lb", "29,937 kg"),
        ("strength_mpa", 28, "4,061 psi", "28 MPa"),
        ("total_mm", 2.54, "0.1 in", "2.5 mm"),
        ("aggregate_mm", 19.05, "3/4 in", "19 mm"),
        ("percent", 2.273, "2.3%", "2.3%"),
        ("short_percent", 29.2, "29.2%", "29.2%"),
        ("humidity", 0.45, "45%", "45%"),
        ("highest_chance", 0.6, "60%", "60%"),
        ("uncertainty_fraction", 0.4, "40%", "40%"),
        ("load", 3, "3", "3"),
        ("match_factor", 1.25, "1.25", "1.25"),
    ],
)
def test_a_fact_is_written_by_the_unit_its_name_ends_in(name, value, us, metric):
    assert (format_fact(name, value, US), format_fact(name, value, METRIC)) == (us, metric)


def test_a_fact_without_a_unit_is_of_nothing():
    assert fact_dimension("people_needed") is None
    assert fact_dimension("peak_kg_m2_h") is D.EVAPORATION
