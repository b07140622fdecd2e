"""Plans asked of the engine for pours as they are kept."""

from datetime import timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.services import planning
from tests import factories

pytestmark = pytest.mark.django_db


def test_the_newest_forecast_that_speaks_of_the_moment_is_used():
    site = factories.site()
    old = factories.forecast(site, fetched_at=factories.NOW - timedelta(days=1))
    new = factories.forecast(site)
    assert planning.forecast_for(site, factories.STARTS_AT) == new
    assert planning.forecast_for(site, old.ends_at) is None
    assert planning.forecast_for(site, old.starts_at) == new


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
