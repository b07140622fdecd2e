"""Pours as a sheet, for programs."""

import csv
import io

import pytest

from scheduling.models import Pour
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


# --- in ---------------------------------------------------------------------------------------

HEADER = "site,job,date,start,crew,mix,length,width,depth"
LINE = "Mill Rd,Garage,2026-09-03,7:00 am,Ash,4000-75-WR,52',38 ft,5 in"


@pytest.fixture
def kept(company):
    """What the lines speak of."""
    factories.job(name="Garage", site=factories.site(name="Mill Rd"))
    factories.crew(name="Ash")
    factories.mix(code="4000-75-WR")


def text(*lines, parted_by=","):
    return "\ufeff" + "\r\n".join([HEADER, *lines]).replace(",", parted_by)


def read(office, *lines, status=200, **said):
    answer = office.post("pour-sheet/preview/", {"text": text(*lines), **said})
    assert answer.status_code == status, answer.content
    return answer.json()


@pytest.mark.usefixtures("kept")
def test_a_sheet_is_read_with_its_dates_in_words_and_nothing_is_kept(office):
    (pour,) = read(office, LINE)["pours"]
    assert pour["starts_in_words"] == "Thursday, 3 September 2026, 07:00"
    assert pour["starts_at"] == "2026-09-03T07:00:00-05:00"
    assert (pour["lines"], pour["booked_already"], pour["crew"]["name"]) == ([2], False, "Ash")
    assert pour["sections"][0]["length"] == {"value": 52.0, "unit": "ft"}
    assert "area" not in pour["sections"][0]
    assert not Pour.objects.exists()


@pytest.mark.usefixtures("kept")
def test_dates_that_read_two_ways_are_asked_about_and_none_is_booked_unasked(office):
    unclear = LINE.replace("2026-09-03", "03/09/2026")
    assert read(office, unclear)["asks_order"]
    refused = office.post("pour-sheet/import/", {"text": text(unclear)})
    assert (refused.status_code, refused.json()["problems"][0]["column"]) == (400, "date")
    (pour,) = read(office, unclear, dates_have="day_first")["pours"]
    assert pour["starts_in_words"].startswith("Thursday, 3 September")


@pytest.mark.usefixtures("kept")
def test_all_of_a_sheet_is_booked_or_nothing_and_the_same_once_more_does_no_harm(office):
    lines = [LINE, LINE.replace("09-03", "09-04"), LINE.replace("09-03", "09-05").replace("5 in", "deep")]
    assert [one["line"] for one in read(office, *lines)["problems"]] == [4]
    refused = office.post("pour-sheet/import/", {"text": text(*lines)})
    assert refused.status_code == 400
    assert refused.json()["code"] == "sheet_wrong"
    assert [(one["line"], one["column"]) for one in refused.json()["problems"]] == [(4, "depth")]
    assert not Pour.objects.exists()
    for booked in (2, 0):
        answer = office.post("pour-sheet/import/", {"text": text(*lines[:2], parted_by=";")})
        assert (answer.status_code, len(answer.json()["pours"])) == (201, booked)
    assert Pour.objects.count() == 2
    assert [one["booked_already"] for one in read(office, *lines[:2])["pours"]] == [True, True]


@pytest.mark.usefixtures("kept")
def test_a_sheet_that_clashes_is_booked_by_who_says_so(office):
    lines = text(LINE, LINE.replace("7:00", "8:00"))
    refused = office.post("pour-sheet/import/", {"text": lines})
    assert (refused.status_code, refused.json()["code"]) == (409, "sheet_clashes")
    assert not Pour.objects.exists()
    assert office.post("pour-sheet/import/", {"text": lines, "accept_clashes": True}).status_code == 201
    assert Pour.objects.count() == 2


def test_a_text_that_is_no_sheet_is_refused(office):
    answer = office.post("pour-sheet/preview/", {"text": "Good morning"})
    assert answer.json()["problems"][0]["line"] == 0
