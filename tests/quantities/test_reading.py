"""What people type and programs send, read or refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.quantities import UNITS, Dimension, QuantityError, parse, parse_object

D = Dimension
FT, IN = 0.3048, 0.0254  # exact since the agreement of 1959
YD3 = 0.9144**3
LB = 0.45359237


def code(text, dimension, **more):
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension, **more)
    return caught.value.code


def object_code(value, dimension=D.VOLUME):
    with pytest.raises(QuantityError) as caught:
        parse_object(value, dimension)
    return caught.value.code


# --- lengths ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "30' 6 1/2\"",
        "30'6 1/2\"",
        "30' 6-1/2\"",
        "30'-6 1/2\"",
        "30' - 6-1/2\"",
        "30’ 6½”",
        "30′6½″",
        "30'6½''",
        "30' 6.5\"",
        "30' 6.5",
        "30 ft 6 1/2 in",
        "30ft6.5in",
        "30 ft. 6 1/2 in.",
        "30 Feet, 6 1/2 Inches",
        "30-6 1/2",
        "30-6-1/2",
        "30-6.5",
        "  30\u00a0ft\u20096.5 in ",
        "366.5 in",
        "366 1/2 inches",
        "30' 13/2\"",
    ],
)
def test_feet_and_inches_are_read_in_all_their_ways(text):
    assert parse(text, D.LENGTH) == pytest.approx(366.5 * IN, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("30'", 30 * FT),
        ("30 feet", 30 * FT),
        ("30.5 ft", 30.5 * FT),
        ("30.5'", 30.5 * FT),
        ("30 1/2 ft", 30.5 * FT),
        (".5 ft", 0.5 * FT),
        ("30' 6\"", 30.5 * FT),
        ("30' 0\"", 30 * FT),
        ("0' 6\"", 0.5 * FT),
        ("0 ft", 0.0),
        ("30-6", 30.5 * FT),
        ("1,200' 6\"", 1200.5 * FT),
        ("1/2'", 0.5 * FT),
        ("9.1 m", 9.1),
        ("9,100 mm", 9.1),
        ("910 cm", 9.1),
        ("9,1 m", 9.1),
        ("9 metres", 9.0),
    ],
)
def test_a_length_is_read_in_feet_or_metres(text, metres):
    assert parse(text, D.LENGTH) == pytest.approx(metres, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("4 1/2 in", 4.5),
        ("4-1/2 in", 4.5),
        ("4-½ in", 4.5),
        ('4½"', 4.5),
        ("½ in", 0.5),
        ('5"', 5),
        ("5''", 5),
        ("5”", 5),
        ("4 1/2 inches", 4.5),
        ("3/4 in", 0.75),
        ("4 3⁄8 in", 4.375),
        ("⅝ in", 0.625),
        ("1' 4\"", 16),
        ("0.33 ft", 3.96),
        ("100 mm", 100 / 25.4),
        ("10,16 cm", 4),
    ],
)
def test_a_depth_is_read_in_inches_or_millimetres(text, inches):
    assert parse(text, D.DEPTH) == pytest.approx(inches * IN, rel=1e-12)


def test_two_numbers_with_a_dash_are_feet_and_inches_only_for_a_length():
    # "4-5" of a depth is more likely a range than four feet five.
    assert parse("4-5", D.LENGTH) == pytest.approx(53 * IN)
    assert code("4-5", D.DEPTH) == "not_understood"


@pytest.mark.parametrize("text", ["30' 12\"", "30' 14\"", "30-13", "30 ft 24 in", "1' 25/2\""])
def test_twelve_inches_after_feet_are_refused(text):
    assert code(text, D.LENGTH) == "too_many_inches"


@pytest.mark.parametrize("text", ["-5 ft", "-30-6", "-30' 6\"", "−5 ft", "-1/2 in", "- 5 m"])
def test_a_negative_length_is_refused(text):
    assert code(text, D.LENGTH) == "negative"


@pytest.mark.parametrize("text", ["30.5' 6\"", "30' 6\" 2", "30 6 in", "5 x 6 ft", "30' six\"", "30'' 6'"])
def test_feet_and_inches_that_make_no_sense_are_refused(text):
    assert code(text, D.LENGTH) in {"not_understood", "unknown_unit"}


# --- everything else --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "stored"),
    [
        ("18 yd3", D.VOLUME, 18 * YD3),
        ("18 cy", D.VOLUME, 18 * YD3),
        ("18 CY", D.VOLUME, 18 * YD3),
        ("18 yd³", D.VOLUME, 18 * YD3),
        ("18yd^3", D.VOLUME, 18 * YD3),
        ("18 cu. yd.", D.VOLUME, 18 * YD3),
        ("18 cubic yards", D.VOLUME, 18 * YD3),
        ("2 1/2 yd3", D.VOLUME, 2.5 * YD3),
        ("27 cf", D.VOLUME, YD3),
        ("13.5 m3", D.VOLUME, 13.5),
        ("13,5 m3", D.VOLUME, 13.5),
        ("0,125 m3", D.VOLUME, 0.125),
        ("1,200 sf", D.AREA, 1200 * FT * FT),
        ("1,200.5 sq ft", D.AREA, 1200.5 * FT * FT),
        ("60,000 ft²", D.AREA, 60_000 * FT * FT),
        ("80 m²", D.AREA, 80),
        ("68 F", D.TEMPERATURE, 20),
        ("68°F", D.TEMPERATURE, 20),
        ("68 °f", D.TEMPERATURE, 20),
        ("68 degrees F", D.TEMPERATURE, 20),
        ("32 F", D.TEMPERATURE, 0),
        ("-40 F", D.TEMPERATURE, -40),
        ("-5 C", D.TEMPERATURE, -5),
        ("18 °C", D.TEMPERATURE, 18),
        ("18 F", D.TEMPERATURE_DIFFERENCE, 10),
        ("-9 F", D.TEMPERATURE_DIFFERENCE, -5),
        ("10 mph", D.SPEED, 4.4704),
        ("36 km/h", D.SPEED, 10),
        ("36 kph", D.SPEED, 10),
        ("5 m/s", D.SPEED, 5),
        ("66,000 lbs", D.MASS, 66_000 * LB),
        ("30 t", D.MASS, 30_000),
        ("150 pcf", D.DENSITY, 150 * LB / FT**3),
        ("4050 lb/yd3", D.DENSITY, 4050 * LB / YD3),
        ("2,400 kg/m3", D.DENSITY, 2400),
        (".2 lb/ft2/h", D.EVAPORATION, 0.2 * LB / FT**2),
        ("0.2 lb/sf/hr", D.EVAPORATION, 0.2 * LB / FT**2),
        ("1 kg/m²/h", D.EVAPORATION, 1),
        ("40 cy/hr", D.VOLUME_RATE, 40 * YD3),
        ("30 m3/h", D.VOLUME_RATE, 30),
        ("1,500 sf/h", D.AREA_RATE, 1500 * FT**2),
        ("140 m2/h", D.AREA_RATE, 140),
        ("4,000 psi", D.STRENGTH, 27.5790292),
        ("28 MPa", D.STRENGTH, 28),
        ("30 N/mm²", D.STRENGTH, 30),
        ("3/4 in", D.AGGREGATE, 19.05),
        ('1-1/2"', D.AGGREGATE, 38.1),
        ("20 mm", D.AGGREGATE, 20),
        ("0.1 in", D.RAIN, 2.54),
        ("1.5 h", D.MINUTES, 90),
        ("90 minutes", D.MINUTES, 90),
        ("90 min", D.HOURS, 1.5),
        ("5 %", D.PERCENT, 5),
        ("12.5%", D.PERCENT, 12.5),
        ("45 percent", D.FRACTION, 0.45),
    ],
)
def test_the_trades_units_are_read(text, dimension, stored):
    assert parse(text, dimension) == pytest.approx(stored, rel=1e-9)


def test_a_kilogram_on_a_square_metre_is_a_fifth_of_a_pound_on_a_square_foot():
    # Published factor for evaporation charts: 1 kg/m2/h = 0.2048 lb/ft2/h.
    assert parse("0.2048 lb/ft2/h", D.EVAPORATION) == pytest.approx(1, rel=1e-3)


def test_whole_degrees_come_out_whole():
    fahrenheit = {32: 0.0, 50: 10.0, 68: 20.0, 77: 25.0, 86: 30.0, 95: 35.0}
    assert {f: parse(f"{f} F", D.TEMPERATURE) for f in fahrenheit} == fahrenheit


@pytest.mark.parametrize("dimension", list(Dimension))
def test_every_unit_a_dimension_names_is_taken_by_it(dimension):
    for unit in UNITS[dimension]:
        assert math.isfinite(parse(f"2 {unit}", dimension))
        assert parse_object({"value": 2, "unit": unit}, dimension) == parse(f"2 {unit}", dimension)


# --- a number in a box that says its unit -----------------------------------------------------


@pytest.mark.parametrize("text", ["4.5", "4 1/2", "4½", "4-1/2", "4,5", "4.5 in", '4.5"'])
def test_a_bare_number_is_in_the_unit_beside_its_box(text):
    assert parse(text, D.DEPTH, bare_unit="in") == pytest.approx(4.5 * IN)


def test_a_unit_typed_wins_over_the_one_beside_the_box():
    assert parse("100 mm", D.DEPTH, bare_unit="in") == pytest.approx(0.1)


@pytest.mark.parametrize("text", ["18", "18.5", "1/2", "1,200"])
def test_a_bare_number_is_refused_and_the_units_named(text):
    with pytest.raises(QuantityError, match="yd3, ft3, m3") as caught:
        parse(text, D.VOLUME)
    assert caught.value.code == "unit_missing"
    assert caught.value.units == ("yd3", "ft3", "m3")


# --- refusals ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ("", D.VOLUME, "empty"),
        ("  \t ", D.VOLUME, "empty"),
        ("1" * 61, D.VOLUME, "too_long"),
        ("18 yd", D.VOLUME, "unknown_unit"),  # a yard of cloth or of concrete?
        ("18 ft2", D.VOLUME, "wrong_dimension"),
        ("30' 6\"", D.VOLUME, "unknown_unit"),
        ("65 F", D.LENGTH, "wrong_dimension"),
        ("18 furlongs", D.LENGTH, "unknown_unit"),
        ("18 m3\x00", D.VOLUME, "unknown_unit"),
        ("\x0018 m3", D.VOLUME, "not_understood"),
        ("1_000 m3", D.VOLUME, "unknown_unit"),
        ("1e3 m3", D.VOLUME, "unknown_unit"),
        ("nan m3", D.VOLUME, "not_understood"),
        ("inf m3", D.VOLUME, "not_understood"),
        ("\u0661\u0668 m3", D.VOLUME, "not_understood"),  # Arabic-Indic digits
        ("1\u0668 m3", D.VOLUME, "unknown_unit"),
        ("１８ m3", D.VOLUME, "not_understood"),  # full-width digits
        ("5² in", D.DEPTH, "unknown_unit"),
        ("1,23,456 ft2", D.AREA, "not_understood"),
        ("12345,678 m2", D.AREA, "not_understood"),  # thousands or thousandths?
        ("1.200,5 m2", D.AREA, "not_understood"),
        ("1 200 m2", D.AREA, "not_understood"),
        ("4-6 in", D.DEPTH, "not_understood"),
        ("1/0 in", D.DEPTH, "zero_denominator"),
        ("4 1/0 in", D.DEPTH, "zero_denominator"),
        ("30' 1/0\"", D.LENGTH, "zero_denominator"),
        ("30-6 1/0", D.LENGTH, "zero_denominator"),
        ("4 3/2 in", D.DEPTH, "improper_fraction"),
        ("30-6 3/2", D.LENGTH, "improper_fraction"),
        ("-1 yd3", D.VOLUME, "negative"),
        ("-1 %", D.PERCENT, "negative"),
        ("-500 F", D.TEMPERATURE, "too_cold"),
        ("in", D.DEPTH, "not_understood"),
        ("four in", D.DEPTH, "not_understood"),
        ("<b>4</b> in", D.DEPTH, "not_understood"),
    ],
)
def test_what_cannot_be_read_is_refused(text, dimension, expected):
    assert code(text, dimension) == expected


@pytest.mark.parametrize("value", [None, 18, 18.0, True, b"18 yd3", ["18 yd3"]])
def test_what_is_no_text_is_refused(value):
    assert code(value, D.VOLUME) == "wrong_type"


def test_every_refusal_names_the_units():
    for dimension in Dimension:
        with pytest.raises(QuantityError) as caught:
            parse("?", dimension)
        assert all(unit in str(caught.value) for unit in UNITS[dimension])


@given(
    st.text(max_size=70) | st.text(alphabet="0123456789 '\"/-.,½ftinyd3m", max_size=24),
    st.sampled_from(Dimension),
)
def test_any_text_is_read_as_a_finite_number_or_refused(text, dimension):
    try:
        value = parse(text, dimension)
    except QuantityError:
        return
    assert math.isfinite(value)


# --- programs ---------------------------------------------------------------------------------


def test_an_object_and_a_string_say_the_same():
    assert parse_object({"value": 18.0, "unit": "yd3"}, D.VOLUME) == pytest.approx(18 * YD3)
    assert parse_object({"value": 18, "unit": "cubic yards"}, D.VOLUME) == parse_object("18 yd3", D.VOLUME)


def test_a_number_is_taken_as_it_was_written_not_as_its_binary_neighbour():
    assert parse_object({"value": 0.1, "unit": "m3"}, D.VOLUME) == 0.1
    assert parse_object({"value": 68, "unit": "F"}, D.TEMPERATURE) == 20.0


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (18, "wrong_type"),
        (18.0, "wrong_type"),
        (True, "wrong_type"),
        (None, "wrong_type"),
        ([18, "yd3"], "wrong_type"),
        ("18", "unit_missing"),
        ({}, "wrong_keys"),
        ({"value": 18}, "wrong_keys"),
        ({"value": 18, "unit": "yd3", "note": ""}, "wrong_keys"),
        ({"value": "18", "unit": "yd3"}, "not_a_number"),
        ({"value": True, "unit": "yd3"}, "not_a_number"),
        ({"value": None, "unit": "yd3"}, "not_a_number"),
        ({"value": math.nan, "unit": "yd3"}, "not_finite"),
        ({"value": math.inf, "unit": "yd3"}, "not_finite"),
        ({"value": 10**400, "unit": "yd3"}, "not_finite"),
        ({"value": 10**5000, "unit": "yd3"}, "not_finite"),
        ({"value": -1, "unit": "yd3"}, "negative"),
        ({"value": 18, "unit": "yd"}, "unknown_unit"),
        ({"value": 18, "unit": ""}, "unknown_unit"),
        ({"value": 18, "unit": None}, "unknown_unit"),
        ({"value": 18, "unit": ["yd3"]}, "unknown_unit"),
        ({"value": 18, "unit": "yd3" * 100}, "unknown_unit"),
        ({"value": 18, "unit": "ft2"}, "wrong_dimension"),
    ],
)
def test_an_object_that_is_no_quantity_is_refused(value, expected):
    assert object_code(value) == expected


@pytest.mark.parametrize(
    "text",
    [
        "1/4 in per ft",
        "1/4 in/ft",
        '1/4" per foot',
        "¼ in per ft",
        "0.25 inches per foot",
        "2.0833333333333 %",
    ],
)
def test_a_slope_is_read_as_a_fall_over_a_foot_or_in_percent(text):
    assert parse(text, D.SLOPE) == pytest.approx(1 / 48)  # a quarter of an inch in twelve


def test_a_slope_without_its_unit_is_no_slope():
    assert code("1/4", D.SLOPE) == "unit_missing"
    assert code("1/4 in", D.SLOPE) == "wrong_dimension"


def test_free_minutes_are_read_by_the_yard():
    assert parse("7 min per yd3", D.MINUTES_A_VOLUME) == pytest.approx(7 / YD3)
    assert parse("7 min/cy", D.MINUTES_A_VOLUME) == pytest.approx(7 / YD3)
    assert parse("5 percent", D.PERCENT) == 5  # “per” is a word of its own
