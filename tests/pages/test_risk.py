import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Plan, Units
from scheduling.pages.risk import chance, risk_words
from scheduling.pages.wording import Words
from tests.pages.conftest import THURSDAY
from tests.pages.reading import text_of

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


def test_the_pour_page_tells_what_the_trucks_may_come_to(page, pour):
    text = text_of(page.get(f"/pours/{pour.pk}/"))
    assert "What the trucks may come to" in text
    assert "A load gets too old" in text


@pytest.mark.parametrize(("fragile", "said"), [(True, "Fragile: trucks"), (False, "It holds up with trucks")])
def test_the_page_says_whether_the_plan_is_fragile(page, pour, fragile, said):
    result = pour.plan.result
    result["arrivals"]["fragile"] = fragile
    Plan.objects.filter(pk=pour.plan_id).update(result=result)
    assert said in text_of(page.get(f"/pours/{pour.pk}/"))


def test_a_plan_from_before_arrivals_were_weighed_is_still_shown(page, pour):
    result = pour.plan.result
    del result["arrivals"]
    Plan.objects.filter(pk=pour.plan_id).update(result=result)
    text = text_of(page.get(f"/pours/{pour.pk}/"))
    assert "then one every" in text
    assert "What the trucks may come to" not in text


def test_the_plants_charge_is_told_on_average_and_as_asked():
    risk = {**best()["risk"], "wait_fees_mean": 1237.6}
    fees = {time.label: (time.value, time.note) for time in told_with_fees(risk, (0.0, 12.5, 30.0))}
    assert fees["The plant charges"] == (
        "$1,238",
        "on average, for trucks kept beyond their free minutes; $42 if all goes as asked",
    )
    quiet = {time.label: time.note for time in told_with_fees(risk, (0.0, 0.0))}
    assert quiet["The plant charges"].endswith("nothing if all goes as asked")


def test_a_plan_from_before_fees_were_worked_out_tells_none():
    assert "The plant charges" not in {time.label for time in told().times}


def told_with_fees(risk, fees):
    return risk_words(best(risk=risk), datetime(2026, 9, 3, 12, tzinfo=UTC), ZONE, WORDS, fees).times


def test_a_dearer_rule_of_the_plant_shows_on_the_pours_page(page, book, mix):
    mix.plant.wait_price, mix.plant.wait_block_min = 0.0, 1.0
    mix.plant.save()
    assert "The plant charges $0" in text_of(page.get(f"/pours/{book().pk}/"))
    mix.plant.wait_price = 9.0
    mix.plant.save()
    charged = book(starts_at=THURSDAY + timedelta(days=1))
    text = text_of(page.get(f"/pours/{charged.pk}/"))
    assert int(re.search(r"The plant charges \$([\d,]+)", text)[1].replace(",", "")) > 100
