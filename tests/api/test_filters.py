"""Finding pours by day, crew, plant, job and state."""

from datetime import timedelta

import pytest

from scheduling.models import PourState
from tests import factories
from tests.api.conftest import Caller

pytestmark = pytest.mark.django_db


def ids(answer) -> list[int]:
    return [row["id"] for row in answer.json()["results"]]


def test_pours_are_found_by_day_crew_plant_job_and_state(office):
    friday = factories.pour(crew=factories.crew())
    saturday = factories.pour(
        starts_at=factories.STARTS_AT + timedelta(days=1), state=PourState.ON_HOLD, job=friday.job
    )
    assert ids(office.get("pours/")) == [friday.pk, saturday.pk]
    assert ids(office.get("pours/", {"from": "2026-08-29"})) == [saturday.pk]
    assert ids(office.get("pours/", {"to": "2026-08-28"})) == [friday.pk]
    assert ids(office.get("pours/", {"crew": friday.crew_id})) == [friday.pk]
    assert ids(office.get("pours/", {"plant": saturday.plant_id})) == [saturday.pk]
    assert ids(office.get("pours/", {"job": friday.job_id})) == [friday.pk, saturday.pk]
    assert ids(office.get("pours/", {"state": "on_hold"})) == [saturday.pk]
    assert ids(office.get("pours/", {"state": ["on_hold", "booked"]})) == [friday.pk, saturday.pk]


def test_a_day_begins_and_ends_at_the_offices_midnight(office):
    """Midnight in Kansas City is five o'clock in UTC."""
    first = factories.pour(starts_at=factories.STARTS_AT.replace(hour=5))
    before = factories.pour(starts_at=factories.STARTS_AT.replace(hour=4, minute=59))
    assert ids(office.get("pours/", {"from": "2026-08-28"})) == [first.pk]
    assert ids(office.get("pours/", {"to": "2026-08-27"})) == [before.pk]


@pytest.mark.parametrize("moment", ["2026-08-28T07:00", "2026-08-28T07:00-05:00", "2026-08-28T12:00:00Z"])
def test_a_moment_is_exact(office, moment):
    pour = factories.pour()
    assert ids(office.get("pours/", {"from": moment})) == [pour.pk]
    assert ids(office.get("pours/", {"to": moment})) == []


def test_a_plus_that_nobody_escaped_is_read_as_one(office):
    pour = factories.pour()
    assert ids(office.get("pours/?from=2026-08-28T12:00:00+00:00")) == [pour.pk]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("from", "tomorrow"),
        ("to", "2026-13-01"),
        ("from", "0001-01-01"),
        ("crew", "1_0"),
        ("crew", "١"),
        ("crew", "1e5"),
        ("crew", "9" * 30),
        ("state", "gone"),
        ("crews", "1"),
    ],
)
def test_a_filter_that_is_no_good_is_told_instead_of_passed_over(office, name, value):
    answer = office.get("pours/", {name: value})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == name


def test_a_crew_lead_sees_the_pours_of_their_crew_alone(lead):
    mine = factories.pour(crew=lead.user.crew_led)
    factories.pour(crew=factories.crew())
    assert ids(lead.get("pours/")) == [mine.pk]
    assert Caller(lead.user).get(f"pours/{mine.pk}/").json()["site"]["directions"] == ""
