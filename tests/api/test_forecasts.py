"""Weather handed in through the API."""

import pytest

from scheduling.models import Pour
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
