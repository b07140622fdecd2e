"""What no plan can be made from is refused by its field with what to change.

What can be planned but should not be done that way comes back as a finding that says the same.
"""

import pytest

from scheduling.models import Pour
from tests import factories

pytestmark = pytest.mark.django_db


def slab(length: str, width: str = "380 ft", depth: str = "10 in") -> list[dict]:
    return [{"length": length, "width": width, "depth": depth}]


@pytest.mark.parametrize(
    ("given", "field", "change"),
    [
        ({"crew_size": 0}, "crew_size", "at least 1"),
        ({"crew_size": 61}, "crew_size", "at most 60"),
        ({"crew_size": 4.5}, "crew_size", "whole number"),
        ({"finishers": 0}, "finishers", "at least 1"),
        ({"power_trowels": -1}, "power_trowels", "at least 0"),
        ({"trucks": 0}, "trucks", "at least 1"),
        ({"reach": "-5 ft"}, "reach", "must not be negative"),
        ({"reach": "4000 ft"}, "reach", "at most"),
        ({"haul": "-5 min"}, "haul", "must not be negative"),
        ({"haul": "700 min"}, "haul", "at most"),
        ({"age_limit": "0 min"}, "age_limit", "at least"),
        ({"concrete_temperature": "140 F"}, "concrete_temperature", "at most"),
        ({"joint_spacing": "2 in"}, "joint_spacing", "at least"),
        ({"allowance": {"percent": "80 %"}}, "allowance.percent", "at most 50%"),
        ({"method": "bucket"}, "method", "not a valid choice"),
        ({"sections": []}, "sections", "empty"),
        ({"sections": slab("0 ft")}, "sections[0].length", "at least"),
        ({"sections": slab("-52 ft")}, "sections[0].length", "must not be negative"),
        # 350 x 380 ft at 10 in are 4,100 yd3: over 400 loads of 10
        ({"sections": slab("350 ft")}, "sections", "split it into several"),
        ({"sections": slab("3000 ft", "1000 ft", "2 in")}, "area", "check its sizes"),
    ],
)
def test_what_cannot_be_planned_is_refused_with_what_to_change(office, booking, given, field, change):
    answer = office.post("pours/", {**booking, **given})
    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert error["field"] == field
    assert change in error["message"]
    assert not Pour.objects.exists()


@pytest.mark.parametrize(
    ("kind", "given", "field"),
    [
        ("plants", {"rate": "0 yd3/h"}, "rate"),
        ("plants", {"trucks": 0}, "trucks"),
        ("plants", {"truck": "0 yd3"}, "truck"),
        ("plants", {"usual_haul": "-1 min"}, "usual_haul"),
        ("crews", {"rate_factor": 0}, "rate_factor"),
        ("crews", {"straightedge": "0 ft"}, "straightedge"),
    ],
)
def test_what_a_plant_or_a_crew_cannot_be_is_refused_by_name(office, kind, given, field):
    answer = office.post(f"{kind}/", {"name": "North", **given})
    assert answer.status_code == 400
    assert [error["field"] for error in answer.json()["errors"]] == [field]


@pytest.mark.parametrize(
    ("given", "code", "change"),
    [
        ({"reach": "100 ft"}, "out_of_reach", "a line pump"),
        ({"truck_sides": ["front"]}, "bay_out_of_reach", "a second place for the truck"),
        ({"haul": "100 min"}, "load_too_old", "find a nearer plant"),
        ({"method": "barrow", "carry": "190 ft", "crew_size": 3}, "load_too_old", "order loads of about"),
        ({"starts_at": "2026-08-28T05:00"}, "plant_not_open", "ask the plant to open early"),
        ({"starts_at": "2026-08-30T07:00"}, "plant_shut", "another day"),
    ],
)
def test_what_should_not_be_done_that_way_is_planned_and_stopped_with_a_cure(
    office, booking, given, code, change
):
    asked = {name: booking[name] for name in ("starts_at", "sections", "mix", "method", "crew_size")}
    plan = office.post("pour-previews/", {**asked, **given})
    assert plan.status_code == 200, plan.json()
    stops = {f["code"]: f["text"] for f in plan.json()["findings"] if f["severity"] == "stop"}
    assert change in stops[code]


def test_a_company_may_not_lose_money_by_less_than_nothing():
    with pytest.raises(Exception, match="company_costs_not_negative"):
        factories.company(crew_per_h=-1.0)
