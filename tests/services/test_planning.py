"""Plans asked of the engine for pours as they are kept."""

from datetime import datetime, timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.models import Pour
from scheduling.services import planning
from tests import factories

pytestmark = pytest.mark.django_db


def test_a_pour_without_a_forecast_is_planned_for_a_mild_day_and_says_so():
    plan = factories.plan(factories.pour())
    assert not plan.result["weather_known"]
    assert "weather_assumed" in {finding["code"] for finding in plan.result["findings"]}


def test_starts_of_the_day_come_best_first_on_the_sites_own_day():
    factories.company()
    pour = factories.pour()
    factories.forecast(pour.job.site)
    starts = planning.better_starts(pour=pour, now=factories.NOW)
    totals = [start["total_h"] for start in starts]
    assert totals == sorted(totals)
    assert len(starts) == 29
    assert min(start["starts_at"] for start in starts) == "2026-08-28T09:00:00+00:00"  # four in the morning


def test_starts_that_are_past_are_not_offered():
    factories.company()
    pour = factories.pour()
    starts = planning.better_starts(pour=pour, now=factories.STARTS_AT)
    assert min(start["starts_at"] for start in starts) > factories.STARTS_AT.isoformat()
    with pytest.raises(Refusal) as refused:
        planning.better_starts(pour=pour, now=factories.STARTS_AT + timedelta(hours=12))
    assert refused.value.code == "day_over"


# --- a plant that loads two of our pours ------------------------------------------------------


def batches(pour):
    pour.refresh_from_db()
    return [load["batch_at"] for load in pour.plan.result["delivery"]["loads"]]


@pytest.fixture
def shared():
    """A plant that takes a quarter of an hour to load a truck, and its mix."""
    return factories.mix(plant=factories.plant(loading_min=15.0))


def test_of_two_pours_at_one_plant_the_later_planned_goes_round_the_first(shared):
    first, second = factories.pour(mix=shared), factories.pour(mix=shared)
    factories.plan(first)
    factories.plan(second)
    taken = [datetime.fromisoformat(moment) for moment in batches(first)]
    ours = [datetime.fromisoformat(moment) for moment in batches(second)]
    apart = [abs(one - other) for one in taken for other in ours]
    assert min(apart) >= timedelta(minutes=15)
    codes = {finding["code"]: finding for finding in second.plan.result["findings"]}
    assert codes["plant_loads_others"]["facts"]["other_loads"] == len(taken)
    assert "plant_loads_others" not in {finding["code"] for finding in first.plan.result["findings"]}


def test_two_pours_at_two_plants_do_not_meet():
    first, second = factories.pour(), factories.pour()
    factories.plan(first)
    factories.plan(second)
    assert batches(first) == batches(second)


def test_a_cancelled_pour_frees_the_plant(shared):
    first, second = factories.pour(mix=shared), factories.pour(mix=shared)
    factories.plan(first)
    type(first).objects.filter(pk=first.pk).update(state="cancelled")
    factories.plan(second)
    assert batches(second) == batches(first)


def test_a_pour_does_not_wait_for_its_own_earlier_plan(shared):
    pour = factories.pour(mix=shared)
    factories.plan(pour)
    once = batches(pour)
    factories.plan(pour)
    assert batches(pour) == once


def test_other_starts_are_weighed_beside_the_plants_other_pours(shared):
    factories.company()
    first, second = factories.pour(mix=shared), factories.pour(mix=shared)
    factories.plan(first)
    starts = planning.better_starts(pour=second, now=factories.NOW)
    at_once = next(start for start in starts if start["starts_at"] == "2026-08-28T12:00:00+00:00")
    assert "plant_loads_others" in {finding["code"] for finding in at_once["findings"]}


def test_a_preview_knows_of_the_plants_other_pours(shared):
    factories.plan(factories.pour(mix=shared))
    asked = Pour(job=factories.job(), mix=shared, plant=shared.plant, starts_at=factories.STARTS_AT)
    result = planning.preview_pour(pour=asked, sections=[factories.SECTION], now=factories.NOW)
    assert "plant_loads_others" in {finding["code"] for finding in result["findings"]}
