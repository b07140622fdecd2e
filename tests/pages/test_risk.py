from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Units
from scheduling.pages.risk import ask, chance, risk_words
from scheduling.pages.wording import Words
from scheduling.services import planning
from tests.pages.reading import html_of, text_of

ZONE = ZoneInfo("America/Chicago")
WORDS = Words(Units.US, ZONE)


def sayable(together, after, every):
    return {"first_together": together, "next_after_min": after, "interval_min": every}


def best(**said):
    """Four trucks on days that may come."""
    return {
        "sayable": sayable(1, 18, 24),
        "asked_min": [0.0, 18.0, 42.0, 66.0],
        "plain_interval_min": 22,
        "loss_percent": 2.4,
        "saved_percent": 12.6,
        "fragile": False,
        "risk": {
            "truck_wait_mean_min": 5.9,
            "truck_wait_p90_min": 17.9,
            "crew_wait_mean_min": 13.4,
            "crew_wait_p90_min": 24.0,
            "any_dead_chance": 0.034,
            "cold_joint_chance": 0.0,
            "finish_mean_min": 80.0,
            "finish_p05_min": 70.0,
            "finish_p95_min": 95.0,
        },
        "fleet": {"enough": 3, "crew_wait_min": [164.7, 44.2, 13.6]},
        **said,
    }


def told(**said):
    return risk_words(best(**said), datetime(2026, 9, 3, 12, tzinfo=UTC), ZONE, WORDS)


@pytest.mark.parametrize(
    ("plan", "loads", "said"),
    [
        (sayable(1, 0, 0), 1, "Ask for the one truck at 7:00 am."),
        (sayable(2, 0, 0), 2, "Ask for the first two trucks at 7:00 am."),
        (sayable(1, 25, 25), 2, "Ask for the first truck at 7:00 am and the last 25 minutes later."),
        (sayable(1, 25, 25), 5, "Ask for the first truck at 7:00 am, then one every 25 minutes."),
        (
            sayable(2, 35, 20),
            6,
            "Ask for the first two trucks at 7:00 am, the next 35 minutes later, then one every 20 minutes.",
        ),
    ],
)
def test_the_plan_is_one_sentence_for_the_telephone(plan, loads, said):
    assert ask(plan, loads, "7:00 am") == said


def test_waits_chances_and_the_finish_are_told_with_their_spread():
    values = {time.label: (time.value, time.note) for time in told().times}
    assert values["A truck waits"] == ("6 min", "on average; nine in ten wait 18 min or less")
    assert values["The crew waits"][0] == "13 min"
    assert values["A load gets too old"][0] == "3%"
    assert values["A cold joint"][0] == "under 1%"
    assert values["Last truck empty"] == ("8:20 am", "on nine days in ten 8:10–8:35 am")
    assert values["Keeps the crew fed"] == (
        "3 trucks",
        "with one fewer the crew waits 44 min in all, not 14 min",
    )


def test_one_truck_that_is_enough_has_no_fewer():
    times = {time.label: time for time in told(fleet={"enough": 1, "crew_wait_min": [5.0]}).times}
    assert times["Keeps the crew fed"].value == "1 truck"
    assert "fewer" not in times["Keeps the crew fed"].note


def test_the_plan_is_weighed_against_the_best_and_the_plainest():
    lost, saved = told().worth
    assert "costs 2% more" in lost
    assert "costs 13% less than a truck every 22 minutes" in saved
    lost, saved = told(loss_percent=0.2, saved_percent=0.3).worth
    assert "less than 1%" in lost
    assert "about as much as a truck every 22 minutes" in saved
    assert told(asked_min=[0.0], sayable=sayable(1, 0, 0)).worth == ()


@pytest.mark.parametrize(
    ("share", "said"), [(0.0, "under 1%"), (0.0099, "under 1%"), (0.25, "25%"), (0.999, "over 99%")]
)
def test_a_chance_is_never_nothing_or_certain(share, said):
    assert chance(share) == said


def test_the_page_works_out_what_the_trucks_may_come_to(page, pour):
    text = text_of(page.get(f"/pours/{pour.pk}/trucks/"))
    assert "Ask for the first truck" in text
    assert "A load gets too old" in text
    assert "What the trucks may come to" in html_of(page.get(f"/pours/{pour.pk}/"))


@pytest.mark.parametrize(("fragile", "said"), [(True, "Fragile: trucks"), (False, "It holds up with trucks")])
def test_the_page_says_whether_the_plan_is_fragile(page, pour, monkeypatch, fragile, said):
    monkeypatch.setattr(planning, "truck_outlook", lambda *, pour: best(fragile=fragile))
    text = text_of(page.get(f"/pours/{pour.pk}/trucks/"))
    assert said in text
    assert "then one every 24 minutes." in text


def test_what_cannot_be_weighed_is_said_on_the_page(page, pour):
    pour.sections.update(depth_m=1e-9)
    answer = page.get(f"/pours/{pour.pk}/trucks/")
    assert answer.status_code == 400
    assert "concrete" in text_of(answer)
    assert "Ask for" not in text_of(answer)
