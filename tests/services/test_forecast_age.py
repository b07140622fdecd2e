"""Forecasts that grow old, as plans and pages take them."""

from datetime import timedelta

import pytest
from celery import current_app
from django.db import transaction

from scheduling.models import ForecastWatch
from scheduling.services import booking, forecastwatch
from tests import factories
from tests.factories import NOW
from tests.services.weatherhouse import HOUR, MINUTE, answers, codes, fails, planned, weather_chosen  # noqa: F401 (a fixture)
from tests.weather.server import Reply

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("weather_chosen")]


def test_a_plan_is_marked_when_its_forecast_is_over_six_hours_old_and_no_more_when_it_is_given_again(service):
    pour = planned(starts_at=NOW + timedelta(days=2))
    answers(service, headers={"ETag": '"v1"'})
    forecastwatch.fetch_due(now=NOW)
    assert "forecast_old" not in codes(pour)
    fails(service, Reply("", 403))
    forecastwatch.fetch_due(now=NOW + 6 * HOUR)
    assert "forecast_old" not in codes(pour)
    forecastwatch.fetch_due(now=NOW + 6 * HOUR + MINUTE)
    assert "forecast_old" in codes(pour)
    plans = pour.plans.count()
    forecastwatch.fetch_due(now=NOW + 6 * HOUR + 2 * MINUTE)
    assert pour.plans.count() == plans
    answers(service, headers={"ETag": '"v1"'})
    forecastwatch.fetch_due(now=NOW + 8 * HOUR)
    assert "forecast_old" not in codes(pour)


def test_a_plan_whose_forecast_is_over_a_day_old_rests_on_a_mild_day_and_says_so(service):
    pour = planned(starts_at=NOW + timedelta(days=2))
    answers(service)
    forecastwatch.fetch_due(now=NOW)
    fails(service)
    forecastwatch.fetch_due(now=NOW + 24 * HOUR)
    assert "weather_assumed" not in codes(pour)
    forecastwatch.fetch_due(now=NOW + 24 * HOUR + MINUTE)
    assert "weather_assumed" in codes(pour)
    assert pour.plan.forecast is None


def test_a_pour_booked_while_the_service_is_away_is_booked(service):
    """Nothing on the way of a booking asks a weather service, whatever its state."""
    fails(service, Reply("late", wait_s=1.5))
    pour = factories.pour()
    mix = pour.mix
    booked = booking.book_pour(
        job=pour.job,
        sections=[factories.SECTION],
        by=factories.user(),
        now=NOW,
        plant=mix.plant,
        mix=mix,
        starts_at=factories.STARTS_AT,
        crew=None,
        people=5,
        finishers=2,
    )
    assert booked.plan is not None
    assert service.asked == []


@pytest.mark.django_db(transaction=True)
def test_booking_at_a_new_site_asks_a_worker_for_its_weather_once_the_pour_is_kept(monkeypatch):
    asked = []
    monkeypatch.setattr(current_app, "send_task", lambda name, **_: asked.append(name))
    pour = factories.pour()
    facts = {"plant": pour.plant, "mix": pour.mix, "starts_at": factories.STARTS_AT, "crew": None}
    facts |= {"people": 5, "finishers": 2, "job": pour.job, "sections": [factories.SECTION]}
    by = factories.user()
    with transaction.atomic():
        booking.book_pour(by=by, now=NOW, **facts)
        assert asked == []
    assert "scheduling.tasks.fetch_weather" in asked
    asked.clear()
    ForecastWatch.objects.create(site=pour.job.site)
    booking.book_pour(by=by, now=NOW, **facts)
    assert "scheduling.tasks.fetch_weather" not in asked
