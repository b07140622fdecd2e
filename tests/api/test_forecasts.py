"""Weather handed in through the API."""

from datetime import timedelta

import pytest
from django.db.models import F

from scheduling.models import ForecastWatch, Pour, SiteForecast
from tests import factories
from tests.services.test_forecasts import hourly_file

pytestmark = pytest.mark.django_db


def test_a_document_is_taken_in_and_the_pours_it_covers_are_planned_afresh(office, booking):
    booked = office.post("pours/", booking).json()
    site = Pour.objects.get().job.site_id
    answer = office.post(f"sites/{site}/forecasts/", {"text": hourly_file()})
    assert answer.status_code == 201
    assert answer.json()["starts_at"] == "2026-08-28T00:00:00-05:00"
    planned = office.get(f"pours/{booked['id']}/").json()
    assert planned["plan"]["weather_known"] is True
    assert planned["plan"]["forecast"]["id"] == answer.json()["id"]
    assert office.get(f"sites/{site}/forecasts/").json()["results"] == [answer.json()]


def test_the_columns_may_be_told_beside_it(office):
    text = "when,t\n2026-08-28 07:00,20\n2026-08-28 08:00,21"
    body = {"text": text, "columns": {"when": "time", "t": "air_c:degC"}}
    assert office.post(f"sites/{factories.site().pk}/forecasts/", body).status_code == 201


def test_every_fault_is_told_with_its_line(office):
    text = "time,air [F]\n2026-08-28 07:00,72\n2026-08-28 08:00,warm\n2026-08-28 09:00,hot"
    answer = office.post(f"sites/{factories.site().pk}/forecasts/", {"text": text})
    assert (answer.status_code, answer.json()["code"]) == (400, "weather_unreadable")
    assert [problem.split(":")[0] for problem in answer.json()["problems"]] == ["Line 3", "Line 4"]


@pytest.mark.parametrize("body", [{}, {"text": ""}, {"text": 5}, {"text": "x", "columns": []}, {"file": "x"}])
def test_a_body_without_a_document_is_refused(office, body):
    assert office.post(f"sites/{factories.site().pk}/forecasts/", body).status_code == 400


def test_a_document_for_a_site_that_is_not_there_is_not_found(office):
    assert office.post("sites/987654/forecasts/", {"text": hourly_file()}).status_code == 404


# --- from the web -----------------------------------------------------------------------------


def test_how_it_stands_with_a_sites_weather_is_told(office):
    site = factories.site()
    nothing = {"age": None, "fetched_at": None, "provider": "", "next_try_at": None}
    trouble = {"failures": 0, "failed_at": None, "failure": ""}
    assert office.get(f"sites/{site.pk}/weather/").json() == {**nothing, **trouble}
    factories.forecast(site)
    ForecastWatch.objects.create(site=site, failures=2, failed_at=factories.NOW, failure="Away.")
    told = office.get(f"sites/{site.pk}/weather/").json()
    assert (told["age"], told["provider"], told["fetched_at"]) == (
        "fresh",
        "sample",
        "2026-08-27T10:00:00-05:00",
    )
    assert (told["failures"], told["failure"]) == (2, "Away.")


def test_a_forecast_is_asked_for_and_not_waited_for(office, settings, service):
    settings.WEATHER_PROVIDER, settings.NWS_URL = "nws", service.url
    site = factories.site()
    answer = office.post(f"sites/{site.pk}/weather/")
    assert answer.status_code == 202
    assert answer.json()["next_try_at"] is not None
    assert service.asked == []


def test_without_a_service_or_a_place_asking_is_refused_with_a_reason(office, settings):
    answer = office.post(f"sites/{factories.site().pk}/weather/")
    assert (answer.status_code, answer.json()["code"]) == (400, "no_weather_service")
    settings.WEATHER_PROVIDER = "nws"
    answer = office.post(f"sites/{factories.site(latitude=None).pk}/weather/")
    assert (answer.status_code, answer.json()["code"]) == (400, "no_place")


@pytest.mark.parametrize(("hours_ago", "age"), [(5, "fresh"), (7, "old"), (25, "useless")])
def test_a_forecast_says_how_old_it_is_beside_its_plan_too(office, booking, hours_ago, age):
    booked = office.post("pours/", booking).json()
    site = Pour.objects.get().job.site_id
    office.post(f"sites/{site}/forecasts/", {"text": hourly_file()})
    SiteForecast.objects.update(fetched_at=F("fetched_at") - timedelta(hours=hours_ago))
    (kept,) = office.get(f"sites/{site}/forecasts/").json()["results"]
    assert kept["age"] == age
    assert office.get(f"pours/{booked['id']}/").json()["plan"]["forecast"]["age"] == age
