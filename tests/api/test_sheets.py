"""Pours as a sheet, for programs."""

import csv
import io

import pytest

from tests import factories

pytestmark = pytest.mark.django_db

DAYS = {"first": "2026-08-28", "last": "2026-08-28"}


def rows_of(answer):
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_pours_of_a_day_come_as_lines_with_their_sizes(office, booking):
    office.post("pours/", booking)
    for accept in ("text/csv", "application/json", "*/*"):
        (row,) = rows_of(office.get("pour-sheet/", DAYS, headers={"accept": accept}))
        assert (row["date"], row["start"]) == ("2026-08-28", "07:00")
        assert row["length"].endswith((" ft", " m"))
        assert row["depth"]


def test_a_lead_gets_the_own_crews_pours_alone(office, lead):
    mine = factories.pour(crew=lead.user.crew_led)
    factories.pour(crew=factories.crew())
    assert [row["job"] for row in rows_of(lead.get("pour-sheet/", DAYS))] == [mine.job.name]


def test_a_stranger_gets_nothing(anonymous):
    assert anonymous.get("pour-sheet/", DAYS).status_code == 401


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({}, "first"),
        ({"first": "2026-08-28"}, "last"),
        ({"first": "28/08/2026", "last": "2026-08-28"}, "first"),
        ({"first": "2026-08-29", "last": "2026-08-28"}, "last"),
        ({"first": "2026-08-28", "last": "2027-08-30"}, "last"),
        ({**DAYS, "until": "2026-08-28"}, "until"),
    ],
)
def test_days_that_are_none_are_refused_in_json(office, asked, field):
    answer = office.get("pour-sheet/", asked, headers={"accept": "text/csv"})
    assert answer.status_code == 400
    assert field in answer.content.decode()
