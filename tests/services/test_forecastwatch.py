"""Forecasts fetched by the clock, from a weather service on this machine."""

from datetime import timedelta
from functools import partial

import pytest

from scheduling import tasks
from scheduling.errors import NotAllowed, Refusal
from scheduling.models import ForecastWatch, PourState, SiteForecast, WeatherPage
from scheduling.roles import Role
from scheduling.services import forecastwatch
from scheduling.weather.web import Manners
from tests import factories
from tests.factories import NOW
from tests.services.weatherhouse import (  # noqa: F401 (a fixture)
    GRID,
    HOUR,
    HOURLY,
    MINUTE,
    POINTS,
    answers,
    fails,
    planned,
    weather_chosen,
)
from tests.weather.server import Reply, columns, points

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("weather_chosen")]


def test_a_site_with_a_coming_pour_gets_its_forecast_and_its_plan(service):
    pour = planned()
    answers(service)
    assert forecastwatch.fetch_due(now=NOW) == 1
    kept = SiteForecast.objects.get()
    assert (kept.site, kept.provider, kept.fetched_at) == (pour.job.site, "nws", NOW)
    pour.refresh_from_db()
    assert (pour.plan.forecast, pour.plan.made_by, pour.version) == (kept, None, 1)
    assert pour.plan.result["weather_known"] is True


def test_the_question_says_who_asks(service):
    planned()
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    assert {headers["user-agent"] for _, headers in service.asked} == {"Pourplan (office@kaw.example)"}


def test_the_other_service_is_asked_where_it_is_chosen(service, settings):
    settings.WEATHER_PROVIDER = "open_meteo"
    planned()
    service.answers("/v1/forecast", Reply(columns(NOW)))
    assert forecastwatch.fetch_due(now=NOW) == 1
    assert SiteForecast.objects.get().provider == "open_meteo"


def test_nobody_is_asked_where_no_service_is_chosen(service, settings):
    settings.WEATHER_PROVIDER = "none"
    planned()
    assert forecastwatch.fetch_due(now=NOW) == 0
    assert (service.asked, ForecastWatch.objects.count()) == ([], 0)


def test_a_site_without_coming_pours_or_without_a_place_is_not_asked_for(service):
    factories.site()
    planned(state=PourState.CANCELLED)
    planned(site=factories.site(latitude=None, longitude=None))
    assert forecastwatch.fetch_due(now=NOW) == 0
    assert service.asked == []


@pytest.mark.parametrize(("ahead", "every"), [(1, HOUR), (3, 3 * HOUR)])
def test_the_next_turn_is_sooner_where_a_pour_is_near(service, ahead, every):
    planned(starts_at=NOW + timedelta(days=ahead))
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    watch = ForecastWatch.objects.get()
    assert (watch.next_try_at, watch.claimed_at, watch.answered_at) == (NOW + every, None, NOW)
    before = len(service.asked)
    assert forecastwatch.fetch_due(now=NOW + every - MINUTE) == 0
    assert len(service.asked) == before
    assert forecastwatch.fetch_due(now=NOW + every) == 1


def test_a_site_nobody_pours_at_any_more_is_left_until_somebody_does(service):
    pour = planned()
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    type(pour).objects.update(state=PourState.CANCELLED)
    forecastwatch.fetch_due(now=NOW + HOUR)
    assert ForecastWatch.objects.get().next_try_at is None
    planned(site=pour.job.site)
    assert forecastwatch.fetch_due(now=NOW + 2 * HOUR) == 1


def test_sites_of_one_place_share_the_pages(service):
    planned(site=factories.site(latitude=38.881, longitude=-94.822))
    planned(site=factories.site(latitude=38.8834, longitude=-94.8199))
    answers(service)
    assert forecastwatch.fetch_due(now=NOW) == 2
    assert service.paths == [POINTS, GRID, HOURLY]
    assert SiteForecast.objects.count() == 2


def test_a_site_that_moves_on_the_map_is_asked_for_at_its_new_place(service):
    pour = planned()
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    type(pour.job.site).objects.update(latitude=39.5)
    service.answers("/points/39.5,-94.82", Reply(points(service.url)))
    forecastwatch.fetch_due(now=NOW + MINUTE)
    assert "/points/39.5,-94.82" in service.paths
    assert ForecastWatch.objects.get().spot == "39.5,-94.82"


# --- the same weather again -------------------------------------------------------------------


def test_a_forecast_that_did_not_change_only_counts_as_newer(service):
    pour = planned()
    answers(service, headers={"ETag": '"v1"', "Cache-Control": "max-age=60"})
    forecastwatch.fetch_due(now=NOW)
    for path in (GRID, HOURLY):
        service.answers(path, Reply("", 304))
    assert forecastwatch.fetch_due(now=NOW + HOUR) == 1
    assert SiteForecast.objects.get().fetched_at == NOW + HOUR
    assert {headers.get("if-none-match") for path, headers in service.asked if path == GRID} == {None, '"v1"'}
    assert pour.plans.count() == 2


def test_a_page_the_service_calls_fresh_makes_no_forecast_newer(service):
    planned()
    answers(service, headers={"Cache-Control": "max-age=7200"})
    forecastwatch.fetch_due(now=NOW)
    asked = len(service.asked)
    forecastwatch.fetch_due(now=NOW + HOUR)
    assert service.paths[asked:] == [POINTS]
    assert SiteForecast.objects.get().fetched_at == NOW


def test_other_hours_are_a_forecast_of_their_own(service):
    pour = planned()
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    answers(service, NOW + HOUR, air_c=28.0)
    forecastwatch.fetch_due(now=NOW + HOUR)
    pour.refresh_from_db()
    assert SiteForecast.objects.count() == 2
    assert pour.plan.forecast.fetched_at == NOW + HOUR
    assert (pour.plan.number, pour.version) == (3, 1)


def test_what_nobody_will_look_at_again_is_thrown_away(service):
    pour = planned(starts_at=NOW + timedelta(days=7))
    site = pour.job.site
    long_ago = factories.forecast(site, fetched_at=NOW - timedelta(days=8))
    long_ago.provider = "nws"
    long_ago.save()
    WeatherPage.objects.create(url="http://x", body="", checked_at=long_ago.fetched_at, fresh_until=NOW)
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    assert long_ago not in SiteForecast.objects.all()
    assert set(WeatherPage.objects.values_list("url", flat=True)) == {
        service.url + path for path in (POINTS, GRID, HOURLY)
    }


# --- when it goes wrong -----------------------------------------------------------------------


def test_a_failure_is_noted_with_its_time_and_the_last_good_forecast_stays(service):
    pour = planned()
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    fails(service)
    later = NOW + HOUR
    assert forecastwatch.fetch_due(now=later) == 0
    watch = ForecastWatch.objects.get()
    assert (watch.failures, watch.failed_at, watch.answered_at) == (1, later, NOW)
    assert watch.failure == "The weather service refuses us with 403."
    pour.refresh_from_db()
    assert pour.plan.forecast == SiteForecast.objects.get()
    assert pour.plan.result["weather_known"] is True


def test_each_failure_waits_longer_up_to_an_hour_and_a_good_answer_ends_it(service):
    planned(starts_at=NOW + timedelta(days=1))
    fails(service)
    now, waits = NOW, []
    for _ in range(6):
        forecastwatch.fetch_due(now=now)
        waits.append((ForecastWatch.objects.get().next_try_at - now) / MINUTE)
        now = ForecastWatch.objects.get().next_try_at
    assert waits == [5, 10, 20, 40, 60, 60]
    answers(service, now)
    forecastwatch.fetch_due(now=now)
    watch = ForecastWatch.objects.get()
    assert (watch.failures, watch.failure) == (0, "")


def test_a_service_that_asks_for_a_rest_is_left_alone_so_long(service):
    planned()
    fails(service, Reply("", 503, {"Retry-After": "7200"}))
    forecastwatch.fetch_due(now=NOW)
    assert ForecastWatch.objects.get().next_try_at == NOW + 2 * HOUR
    assert len(service.asked) == 1


def test_a_place_the_service_does_not_know_is_asked_for_once_a_day(service):
    planned(site=factories.site(latitude=51.5, longitude=-0.12), starts_at=NOW + timedelta(days=3))
    forecastwatch.fetch_due(now=NOW)
    watch = ForecastWatch.objects.get()
    assert watch.failure == "The weather service knows no forecast for this place."
    assert watch.next_try_at == NOW + timedelta(days=1)


@pytest.mark.parametrize(
    "reply",
    [
        Reply("<html>sorry</html>"),
        Reply('{"properties": {"forecastHourly"'),
        Reply(points("http://elsewhere.example")),
        Reply("x", claims=50),
        Reply("late", wait_s=1.5),
    ],
    ids=["html", "cut short", "another host", "breaks off", "late"],
)
def test_whatever_comes_instead_of_a_forecast_is_a_failure_with_a_reason(service, reply, monkeypatch):
    monkeypatch.setattr("scheduling.services.forecastwatch.Manners", partial(Manners, tries=1))
    planned()
    service.answers(POINTS, reply)
    assert forecastwatch.fetch_due(now=NOW) == 0
    watch = ForecastWatch.objects.get()
    assert watch.failure
    assert (watch.failures, watch.claimed_at) == (1, None)
    assert not WeatherPage.objects.exists()


def test_a_site_that_fails_does_not_keep_the_next_from_its_weather(service, monkeypatch):
    bad = planned(site=factories.site(latitude=10.0, longitude=10.0))
    good = planned()
    answers(service)
    real = forecastwatch.spot_of

    def breaking(latitude, longitude):
        if latitude == 10.0 and len(service.asked) == 0:
            raise ZeroDivisionError
        return real(latitude, longitude)

    monkeypatch.setattr(forecastwatch, "spot_of", breaking)
    assert forecastwatch.fetch_due(now=NOW) == 1
    assert {row.site for row in SiteForecast.objects.all()} == {good.job.site}
    assert bad.job.site.forecasts.count() == 0


def test_a_watch_that_another_worker_holds_is_left_to_it(service):
    planned()
    answers(service)
    site = SiteForecast.site.field.related_model.objects.get()
    ForecastWatch.objects.create(site=site, next_try_at=NOW, claimed_at=NOW - 9 * MINUTE)
    assert forecastwatch.fetch_due(now=NOW) == 0
    assert forecastwatch.fetch_due(now=NOW + 2 * MINUTE) == 1


def test_a_sweep_that_takes_long_leaves_the_rest_to_the_next(service, monkeypatch):
    for n in range(3):
        planned(site=factories.site(latitude=38.88 + n, longitude=-94.82))
    monkeypatch.setattr(forecastwatch, "SWEEP_S", -1.0)
    assert forecastwatch.fetch_due(now=NOW) == 0
    assert service.asked == []
    assert ForecastWatch.objects.filter(next_try_at=NOW).count() == 3


# --- asking by hand ---------------------------------------------------------------------------


def test_the_office_may_have_a_forecast_fetched_now(service):
    pour = planned()
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    forecastwatch.ask_now(site=pour.job.site, by=factories.user(), now=NOW + 20 * MINUTE)
    assert service.paths.count(GRID) == 1
    assert forecastwatch.fetch_due(now=NOW + 20 * MINUTE) == 1
    assert service.paths.count(GRID) == 2


def test_a_site_without_pours_may_be_asked_for_once_by_hand(service):
    site = factories.site()
    answers(service)
    forecastwatch.ask_now(site=site, by=factories.user(), now=NOW)
    assert forecastwatch.fetch_due(now=NOW) == 1
    assert ForecastWatch.objects.get().next_try_at is None


def test_what_cannot_be_fetched_is_refused_with_a_reason(settings):
    site = factories.site(latitude=None, longitude=None)
    with pytest.raises(Refusal) as refused:
        forecastwatch.ask_now(site=site, by=factories.user(), now=NOW)
    assert (refused.value.code, refused.value.field) == ("no_place", "latitude")
    settings.WEATHER_PROVIDER = "none"
    with pytest.raises(Refusal) as refused:
        forecastwatch.ask_now(site=factories.site(), by=factories.user(), now=NOW)
    assert refused.value.code == "no_weather_service"
    with pytest.raises(NotAllowed):
        forecastwatch.ask_now(site=site, by=factories.user(Role.CREW_LEAD), now=NOW)


def test_the_task_fetches_what_is_due_now(monkeypatch):
    seen = []
    monkeypatch.setattr(forecastwatch, "fetch_due", lambda *, now: seen.append(now))
    tasks.fetch_weather()
    (now,) = seen
    assert now.tzinfo is not None
