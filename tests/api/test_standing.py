"""How a pour under way stands, for programs: its strips, what is left and by when, who sees to alarms."""

from datetime import datetime, timedelta

import pytest
import time_machine

from scheduling.models import Alarm
from scheduling.services import alarms, live
from tests import factories

pytestmark = [pytest.mark.django_db]

MINUTE = timedelta(minutes=1)
START = factories.STARTS_AT


@pytest.fixture
def pour(company):
    """Planned for Friday, its first load out by twenty past."""
    sections = [{"length_m": 16.0, "width_m": 12.0, "depth_m": 0.125}]
    made = factories.pour(crew=factories.crew(people=5), people=5, sections=sections)
    factories.plan(made)
    for kind, minute in (("truck_arrived", 0), ("truck_started", 2), ("truck_empty", 20)):
        batched = {"batch_at": START - 30 * MINUTE} if kind == "truck_arrived" else {}
        happened_at = START + minute * MINUTE
        factories.site_note(made, kind=kind, load=1, key=kind, happened_at=happened_at, **batched)
    return made


@pytest.fixture
def standing(office, pour):
    def _standing(minute):
        with time_machine.travel(START + minute * MINUTE, tick=False):
            answer = office.get(f"pours/{pour.pk}/standing/")
        assert answer.status_code == 200, answer.json()
        return answer.json()

    return _standing


def test_the_slab_stands_there_strip_by_strip_by_its_actual_placing(standing, office, pour):
    slab = standing(21)["slab"]
    first = slab["strips"][0]
    assert first["loads"][0] == 1
    assert first["area"]["unit"] == "ft2"
    order = ("placed_at", "ready_early_at", "ready_at", "hard_at", "cut_opens_at", "cut_last_call_at")
    moments = [datetime.fromisoformat(first[name]) for name in order]
    assert moments == sorted(moments)
    with time_machine.travel(START + 200 * MINUTE, tick=False):
        said = {"key": "s", "kind": "ready_to_finish", "strip": 1}
        assert office.post(f"pours/{pour.pk}/notes/", said).status_code == 201
    assert [strip["found_ready"] for strip in standing(201)["slab"]["strips"]][:2] == [True, False]


def test_before_concrete_and_before_a_measure_there_is_neither(office, company):
    pour = factories.pour()
    factories.plan(pour)
    told = office.get(f"pours/{pour.pk}/standing/").json()
    assert (told["slab"], told["balance"], told["alarms"]) == (None, None, [])


def test_a_measure_says_what_to_order_in_which_load_and_by_when(standing, office, pour):
    with time_machine.travel(START + 21 * MINUTE, tick=False):
        said = {"key": "m", "kind": "measured", "amount": "27 yd3"}
        assert office.post(f"pours/{pour.pk}/notes/", said).status_code == 201
    told, last = standing(22)["balance"], pour.plan.result["delivery"]["loads"][-1]
    assert told["left"] == {"value": 27, "unit": "yd3"}
    assert told["load"] == last["number"]
    assert datetime.fromisoformat(told["by_at"]) == datetime.fromisoformat(last["batch_at"])
    assert told["is_short"]
    assert 4 * told["order"]["value"] % 1 == 0  # in the plant's quarter yards
    share = 1 + pour.plan.result["quantity"]["allowance_m3"] / pour.plan.result["quantity"]["net_m3"]
    short = 27 * share - told["coming"]["value"]
    assert short <= told["order"]["value"] < short + 0.26
    assert (told["step"], told["asked"]) == (None, None)
    with time_machine.travel(START + 23 * MINUTE, tick=False):
        asked = {"key": "b", "kind": "balance_asked", "amount": told["order"]}
        assert office.post(f"pours/{pour.pk}/notes/", asked).status_code == 201
    told = standing(24)["balance"]
    assert (told["step"], told["is_short"]) == ("balance_asked", False)


def test_an_alarm_says_who_sees_to_it(standing, dispatcher, pour):
    live.watch(now=START + 60 * MINUTE)
    told = standing(61)["alarms"]
    assert {"truck_missing"} <= {one["finding"]["code"] for one in told}
    assert all(one["seen_by"] is None for one in told)
    for alarm in Alarm.objects.all():
        alarms.acknowledge(alarm=alarm, by=dispatcher.user, now=START + 62 * MINUTE)
    seen = standing(63)["alarms"]
    assert {one["seen_by"]["id"] for one in seen} == {dispatcher.user.pk}
    assert seen[0]["finding"]["text"]
