"""What programs say of the placing beyond the method."""

import pytest

from scheduling.models import Pour
from tests import factories

pytestmark = pytest.mark.django_db

SAID = {
    "method": "barrow",
    "screed": "vibrating",
    "carry": {"value": 60, "unit": "ft"},
    "rise": {"value": 2, "unit": "ft"},
    "barrow": {"value": 0.2, "unit": "yd3"},
    "carts": 3,
    "line": None,
    "hose_moves": 1,
    "pump_moves": 0,
    "fibres": True,
    "slump": {"value": 5, "unit": "in"},
    "slope": {"value": 0.25, "unit": "in/ft"},
    "truck_sides": ["front", "left"],
    "trucks_on_base": True,
}


def test_what_is_said_is_kept_and_answered_in_the_same_words(office, booking):
    answer = office.post("pours/", {**booking, **SAID})
    assert answer.status_code == 201, answer.json()
    assert {name: answer.json()[name] for name in SAID} == SAID
    assert Pour.objects.get().slope == pytest.approx(0.25 / 12)


def test_what_is_left_out_is_answered_as_left_out(office, booking):
    kept = office.post("pours/", booking).json()
    assert kept["carry"] is None
    assert kept["slope"] is None
    assert (kept["screed"], kept["truck_sides"], kept["fibres"]) == ("hand", [], False)


def test_a_preview_places_slower_the_farther_barrows_go(office, booking):
    mix = booking["mix"]
    asked = {"starts_at": "2026-08-28T07:00", "sections": booking["sections"], "mix": mix, "method": "barrow"}
    near, far = (
        office.post("pour-previews/", {**asked, "carry": way}).json()["placing"]["rate"]["value"]
        for way in ("40 ft", "150 ft")
    )
    assert near > far


def test_sides_trucks_cannot_come_to_put_bays_out_of_reach(office, booking):
    asked = {"starts_at": "2026-08-28T07:00", "sections": booking["sections"], "mix": booking["mix"]}
    plan = office.post("pour-previews/", {**asked, "truck_sides": ["front"]}).json()
    stops = [f for f in plan["findings"] if f["code"] == "bay_out_of_reach"]
    assert [f["severity"] for f in stops] == ["stop"]
    both = office.post("pour-previews/", {**asked, "trucks_on_base": True}).json()
    assert "bay_out_of_reach" not in {f["code"] for f in both["findings"]}


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"screed": "plough"}, "screed"),
        ({"carry": 60}, "carry"),
        ({"carry": "-1 ft"}, "carry"),
        ({"carry": "4000 ft"}, "carry"),
        ({"rise": "200 ft"}, "rise"),
        ({"barrow": "2 yd3"}, "barrow"),
        ({"barrow": "0 ft3"}, "barrow"),
        ({"carts": 0}, "carts"),
        ({"carts": 1.5}, "carts"),
        ({"line": "600 m"}, "line"),
        ({"hose_moves": -1}, "hose_moves"),
        ({"pump_moves": 21}, "pump_moves"),
        ({"fibres": "yes"}, "fibres"),
        ({"slump": "20 in"}, "slump"),
        ({"slope": "60 %"}, "slope"),
        ({"slope": 0.02}, "slope"),
        ({"truck_sides": ["top"]}, "truck_sides[0]"),
        ({"truck_sides": ["front", "front"]}, "truck_sides"),
        ({"truck_sides": "front"}, "truck_sides"),
        ({"trucks_on_base": None}, "trucks_on_base"),
    ],
)
def test_what_cannot_be_is_refused_by_name(office, booking, given, field):
    answer = office.post("pours/", {**booking, **given})
    assert answer.status_code == 400
    assert [error["field"] for error in answer.json()["errors"]] == [field]
    assert not Pour.objects.exists()


RULE = {
    "wait_price": 130.0,
    "wait_block": {"value": 60.0, "unit": "min"},
    "wait_counted": "started",
    "wait_free": {"value": 0.0, "unit": "min"},
    "wait_free_by_volume": {"value": 7.0, "unit": "min/yd3"},
    "lateness": {"value": 12.0, "unit": "min"},
}


def test_a_plants_rule_for_waiting_trucks_is_kept(office):
    plant = office.post("plants/", {"name": "River plant", **RULE}).json()
    assert {name: plant[name] for name in RULE} == RULE


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"wait_price": -1}, "wait_price"),
        ({"wait_price": "130"}, "wait_price"),
        ({"wait_block": "0 min"}, "wait_block"),
        ({"wait_counted": "sometimes"}, "wait_counted"),
        ({"wait_free": "-5 min"}, "wait_free"),
        ({"wait_free_by_volume": "7 min"}, "wait_free_by_volume"),
        ({"lateness": "3 h"}, "lateness"),
    ],
)
def test_a_rule_that_cannot_be_is_refused_by_name(office, given, field):
    answer = office.post("plants/", {"name": "River plant", **given})
    assert [error["field"] for error in answer.json()["errors"]] == [field]


def test_a_dear_cold_joint_is_kept_from_more_than_a_cheap_one(office, booking):
    """The company's own costs weigh the arrivals: where trucks stray, dearer joints bring trucks sooner."""
    asked = {
        "starts_at": "2026-08-28T07:00",
        "sections": booking["sections"],
        "mix": booking["mix"],
        "plant": {"lateness": "25 min", "usual_haul": "25 min", "truck": "10 yd3"},
    }
    chances = []
    for cost in (0.0, 50_000.0):
        factories.company(cold_joint_cost=cost, truck_per_h=200.0, crew_per_h=0.0)
        chances.append(office.post("pour-previews/", asked).json()["arrivals"]["risk"]["cold_joint_chance"])
    assert chances[0] >= chances[1]
    assert chances[0] > 0
