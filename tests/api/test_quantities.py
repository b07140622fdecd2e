"""Quantities at this door: with their unit both ways, and nothing else."""

import pytest

from scheduling.models import Site
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("length", "metres"),
    [
        ({"value": 52, "unit": "ft"}, 15.8496),
        ({"value": 15.85, "unit": "m"}, 15.85),
        ("52 ft", 15.8496),
        ("52'", 15.8496),
        ("30' 6 1/2\"", 9.3091),
        ("1585 cm", 15.85),
    ],
)
def test_a_quantity_is_taken_apart_or_as_one_text(office, booking, slab, length, metres):
    section = {**slab, "length": length}
    answer = office.post("pours/?units=metric", {**booking, "sections": [section]})
    assert answer.json()["sections"][0]["length"] == {"value": pytest.approx(metres, abs=1e-4), "unit": "m"}


@pytest.mark.parametrize(
    ("length", "code"),
    [
        (52, "wrong_type"),
        (52.0, "wrong_type"),
        (True, "wrong_type"),
        ([], "wrong_type"),
        ("52", "unit_missing"),
        ("", "empty"),
        ("fifty feet", "not_understood"),
        ("52 yd3", "wrong_dimension"),
        ("52 furlongs", "unknown_unit"),
        ("5_2 ft", "unknown_unit"),
        ("٥٢ ft", "not_understood"),
        ("1e400 ft", "unknown_unit"),
        ("9" * 70 + " ft", "too_long"),
        ({"value": "52", "unit": "ft"}, "not_a_number"),
        ({"value": True, "unit": "ft"}, "not_a_number"),
        ({"value": None, "unit": "ft"}, "not_a_number"),
        ({"value": 52, "unit": "yd3"}, "wrong_dimension"),
        ({"value": 52, "unit": "furlong"}, "unknown_unit"),
        ({"value": 52, "unit": 1}, "unknown_unit"),
        ({"value": 52}, "wrong_keys"),
        ({"value": 52, "unit": "ft", "more": 1}, "wrong_keys"),
        ({"value": 10**400, "unit": "ft"}, "not_finite"),
        ({"value": -1, "unit": "ft"}, "negative"),
        ({"value": 0, "unit": "ft"}, "out_of_range"),
        ("9000 ft", "out_of_range"),
    ],
)
def test_anything_else_is_refused_with_the_units_it_takes(office, booking, slab, length, code):
    answer = office.post("pours/", {**booking, "sections": [{**slab, "length": length}]})
    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert (error["field"], error["code"]) == ("sections[0].length", code)
    assert "ft" in error["message"] or code == "out_of_range"


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400"])
def test_numbers_that_are_none_are_refused(office, number):
    body = f'{{"name": "A", "address": "B", "road_limit": {{"value": {number}, "unit": "lb"}}}}'
    answer = office.generic("POST", "sites/", body, content_type="application/json")
    assert answer.status_code == 400
    assert not Site.objects.exists()


@pytest.mark.parametrize(("units", "told"), [("us", "at most 6561' 8"), ("metric", "2,000 m")])
def test_a_limit_is_told_in_the_callers_units(office, booking, slab, units, told):
    body = {**booking, "sections": [{**slab, "length": "9000 ft"}]}
    assert told in office.post(f"pours/?units={units}", body).json()["detail"]


def test_answers_are_in_the_companys_units_or_those_asked_for(office, company):
    plant = factories.plant()
    assert office.get(f"plants/{plant.pk}/").json()["truck"] == {"value": 10.0, "unit": "yd3"}
    asked = office.get(f"plants/{plant.pk}/", {"units": "metric"}).json()["truck"]
    assert asked == {"value": pytest.approx(7.645549), "unit": "m3"}
    company.units = "metric"
    company.save()
    assert office.get(f"plants/{plant.pk}/").json()["truck"]["unit"] == "m3"


def test_findings_are_worded_in_the_units_asked_for(office, booking):
    booked = office.post("pours/?units=metric", booking).json()
    text = next(f["text"] for f in booked["plan"]["findings"] if f["code"] == "hold_last_load")
    assert "m3" in text
    assert "yd3" not in text


@pytest.mark.parametrize("units", ["imperial", "", "US", "us,metric"])
def test_units_that_are_none_are_refused(office, units):
    answer = office.get("plants/", {"units": units})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == "units"


def test_a_fact_of_a_finding_carries_its_unit(office, booking):
    booked = office.post("pours/", booking).json()
    held = next(f for f in booked["plan"]["findings"] if f["code"] == "hold_last_load")
    assert held["facts"]["remaining"] == {"value": 2.25, "unit": "yd3"}
    assert held["source"] == "NRMCA CIP 8"
