"""Concrete's temperature from its ingredients, ice and haul."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.delivered import delivered, haul_loss_k, hauled_c, mixed_c
from scheduling.engine.inputs import BadInput, Batch, Severity
from tests.planned import PLAIN

PCA = Batch(cement_kg_m3=335, water_kg_m3=123, aggregate_kg_m3=1839, cement_c=66, water_c=27, aggregate_c=27)


def c(temp_f: float) -> float:
    return (temp_f - 32) / 1.8


def test_the_worked_example_comes_to_its_temperature():
    # PCA, Design and Control, from memory: 31.8 °C; solids at 0.22 of water's heat.
    assert mixed_c(PCA) == pytest.approx(31.8, abs=0.1)


def test_ice_for_a_third_of_the_water_takes_eight_kelvin_off():
    # The same example with 44 kg of ice: 23.9 °C.
    assert mixed_c(replace(PCA, ice_kg_m3=44)) == pytest.approx(23.9, abs=0.1)


@pytest.mark.parametrize(("part", "cooler_k"), [("cement_c", 8.16), ("water_c", 4.89), ("aggregate_c", 1.49)])
def test_one_kelvin_takes_so_much_cooler_an_ingredient(part, cooler_k):
    # The same source: cement 8 K, water 5 K, aggregate 1.5 K for a kelvin of concrete.
    cooler = replace(PCA, **{part: getattr(PCA, part) - cooler_k})
    assert mixed_c(PCA) - mixed_c(cooler) == pytest.approx(1.0, abs=0.01)


def test_in_pounds_and_fahrenheit_it_is_the_same():
    # 564 lb of cement at 150 °F, 207 lb of water and 3100 lb of aggregate at 80 °F, in a cubic yard, come to
    # 88.57 °F by the same equation.
    kg_m3 = 0.45359237 / 0.764554857984
    yard = Batch(
        cement_kg_m3=564 * kg_m3,
        water_kg_m3=207 * kg_m3,
        aggregate_kg_m3=3100 * kg_m3,
        cement_c=c(150),
        water_c=c(80),
        aggregate_c=c(80),
    )
    assert mixed_c(yard) * 1.8 + 32 == pytest.approx(88.57, abs=0.01)


def test_water_on_the_stone_is_as_warm_as_the_stone():
    wet = replace(PCA, moisture_kg_m3=60, aggregate_c=40)
    assert mixed_c(wet) > mixed_c(replace(PCA, aggregate_c=40))


@pytest.mark.parametrize(("job_f", "air_f", "hours", "loss_f"), [(50, 20, 1.0, 7.5), (55, 10, 1.5, 16.9)])
def test_a_drum_loses_a_quarter_of_the_difference_an_hour(job_f, air_f, hours, loss_f):
    # ACI 306R-88, from memory.
    assert haul_loss_k(c(job_f), c(air_f), hours) * 1.8 == pytest.approx(loss_f, abs=0.05)


@given(left_c=st.floats(5, 40), air_c=st.floats(-20, 45), hours=st.floats(0, 3))
def test_what_is_lost_is_what_it_left_with_more(left_c, air_c, hours):
    came_c = hauled_c(left_c, air_c, hours)
    assert left_c - came_c == pytest.approx(haul_loss_k(came_c, air_c, hours), abs=1e-9)
    assert min(left_c, air_c) - 1e-9 <= came_c <= max(left_c, air_c) + 1e-9


def test_what_somebody_gave_goes_before_ingredients_and_these_before_the_air():
    given_c = replace(PLAIN, concrete_c=19.0, batch=PCA)
    assert delivered(given_c, 30.0, 10.0).concrete_c == 19.0
    mixed = delivered(replace(PLAIN, batch=PCA), 30.0, 10.0)
    (note,) = mixed.findings
    assert (note.code, note.severity, mixed.estimated) == ("concrete_mixed", Severity.NOTE, False)
    assert note.facts["way_min"] == pytest.approx(PLAIN.supply.haul_min + 5)
    assert mixed.concrete_c == pytest.approx(hauled_c(mixed_c(PCA), 30.0, 25 / 60))
    guessed = delivered(PLAIN, 30.0, 10.0)
    assert (guessed.estimated, guessed.findings) == (True, ())
    assert delivered(PLAIN, None, 10.0).concrete_c is None


def test_without_known_air_the_haul_changes_nothing():
    assert delivered(replace(PLAIN, batch=PCA), None, 10.0).concrete_c == pytest.approx(mixed_c(PCA))


def test_ice_for_more_than_half_of_the_water_is_doubted():
    icy = replace(PLAIN, batch=replace(PCA, ice_kg_m3=70))
    assert [finding.code for finding in delivered(icy, 30.0, 10.0).findings] == ["concrete_mixed", "much_ice"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"ice_kg_m3": 100.0},
        {"ice_kg_m3": 80.0, "moisture_kg_m3": 60.0},
        {"water_c": 95.0},
        {"aggregate_c": -30.0},
        {"cement_kg_m3": 0.0},
    ],
)
def test_a_batch_that_cannot_be_is_refused(wrong):
    with pytest.raises(BadInput):
        replace(PCA, **wrong)


def test_ingredients_that_make_no_concrete_are_refused():
    frozen = replace(PCA, aggregate_c=-20.0, cement_c=-10.0, water_c=0.0)
    with pytest.raises(BadInput):
        delivered(replace(PLAIN, batch=frozen), 0.0, 10.0)
