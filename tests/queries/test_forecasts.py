"""Which forecast serves, and how old it may be."""

from datetime import timedelta

import pytest

from scheduling.models import ForecastWatch, PourState
from scheduling.queries.forecasts import (
    Age,
    age_of,
    forecast_for,
    site_weather,
    sites_in_need,
    watches_in_trouble,
)
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = pytest.mark.django_db

HOUR, SECOND = timedelta(hours=1), timedelta(seconds=1)


def given(site, hours_ago=0.0, provider="nws"):
    kept = factories.forecast(site, fetched_at=NOW - hours_ago * HOUR)
    kept.provider = provider
    kept.save()
    return kept


def test_the_newest_forecast_that_speaks_of_the_moment_serves():
    site = factories.site()
    old = given(site, 20)
    new = given(site)
    assert forecast_for(site, STARTS_AT, NOW) == new
    assert forecast_for(site, old.ends_at, NOW) is None
    assert forecast_for(site, old.starts_at, NOW) == new


def test_a_forecast_of_over_a_day_ago_is_none():
    # Our choice of limits: marked over 6 hours, none over 24.
    site = factories.site()
    kept = given(site, 24)
    assert forecast_for(site, STARTS_AT, NOW) == kept
    assert forecast_for(site, STARTS_AT, NOW + SECOND) is None


@pytest.mark.parametrize(
    ("hours_ago", "age"),
    [(0, Age.FRESH), (6, Age.FRESH), (6.001, Age.OLD), (24, Age.OLD), (24.001, Age.USELESS)],
)
def test_six_hours_and_a_day_are_where_a_forecast_changes(hours_ago, age):
    assert age_of(given(factories.site(), hours_ago), NOW) is age


def test_the_demos_weather_does_not_age():
    site = factories.site()
    kept = given(site, 24 * 30, provider="sample")
    assert forecast_for(site, STARTS_AT, NOW) == kept
    assert age_of(kept, NOW) is Age.FRESH


def test_a_site_is_told_of_with_its_forecast_and_its_last_failure():
    site = factories.site()
    given(site, 7)
    ForecastWatch.objects.create(
        site=site, failures=3, failed_at=NOW, failure="Away.", next_try_at=NOW + HOUR
    )
    told = site_weather(site, NOW)
    assert (told.age, told.fetched_at, told.provider) == (Age.OLD, NOW - 7 * HOUR, "nws")
    assert (told.failures, told.failed_at, told.failure) == (3, NOW, "Away.")
    assert told.next_try_at == NOW + HOUR


def test_a_site_nobody_asked_for_has_no_weather():
    told = site_weather(factories.site(), NOW)
    assert (told.age, told.fetched_at, told.next_try_at, told.failure) == (None, None, None, "")


@pytest.mark.parametrize(
    ("columns", "needed"),
    [
        ({}, True),
        ({"state": PourState.ON_HOLD}, True),
        ({"state": PourState.CANCELLED}, False),
        ({"state": PourState.PLACED}, False),
        ({"starts_at": NOW - SECOND}, False),
        ({"starts_at": NOW + 8 * 24 * HOUR}, False),
        ({"starts_at": NOW + 8 * 24 * HOUR - SECOND}, True),
        ({"site": {"latitude": None}}, False),
    ],
)
def test_weather_is_needed_where_a_standing_pour_comes_within_what_a_service_tells(columns, needed):
    site = factories.site(**columns.pop("site", {}))
    factories.pour(site=site, **columns)
    assert sites_in_need(NOW) == ([site] if needed else [])


def test_a_site_with_two_pours_is_needed_once():
    site = factories.site()
    factories.pour(site=site)
    factories.pour(site=site)
    assert sites_in_need(NOW) == [site]


def test_sites_in_trouble_are_those_that_are_needed_and_failed_last():
    failing, idle, well = (factories.site() for _ in range(3))
    ForecastWatch.objects.create(site=failing, failures=1, next_try_at=NOW)
    ForecastWatch.objects.create(site=idle, failures=4)
    ForecastWatch.objects.create(site=well, next_try_at=NOW)
    assert [watch.site for watch in watches_in_trouble()] == [failing]
