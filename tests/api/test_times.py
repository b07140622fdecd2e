"""Clock times: read on the site's clock, answered with its offset, refused where they are no one moment."""

import pytest

from scheduling.models import Pour
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def eastern(booking) -> dict:
    job = factories.job(site=factories.site(time_zone="America/New_York"))
    return {**booking, "job": job.pk}


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("2026-09-01T07:00", "2026-09-01T07:00:00-04:00"),
        ("2026-09-01 07:00:30", "2026-09-01T07:00:30-04:00"),
        ("2026-09-01T07:00:00-05:00", "2026-09-01T08:00:00-04:00"),
        ("2026-09-01T11:00Z", "2026-09-01T07:00:00-04:00"),
        ("2026-11-02T07:00", "2026-11-02T07:00:00-05:00"),
    ],
)
def test_a_start_is_read_on_the_sites_clock(office, eastern, said, kept):
    answer = office.post("pours/", {**eastern, "starts_at": said})
    assert answer.json()["starts_at"] == kept


@pytest.mark.parametrize(
    ("said", "code"),
    [("2027-03-14T02:30", "skipped_time"), ("2026-11-01T01:30", "doubled_time")],
)
def test_a_start_that_is_no_moment_or_two_is_refused(office, eastern, said, code):
    answer = office.post("pours/", {**eastern, "starts_at": said})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == "starts_at"
    assert answer.json()["code"] == code


@pytest.mark.parametrize("offset", ["-04:00", "-05:00"])
def test_an_offset_says_which_of_two_is_meant(office, eastern, offset):
    said = f"2026-11-01T01:30:00{offset}"
    assert office.post("pours/", {**eastern, "starts_at": said}).json()["starts_at"] == said


def test_a_move_is_read_on_the_sites_clock_too(office, eastern):
    pour = office.post("pours/", eastern).json()
    move = {"version": 1, "starts_at": "2026-11-01T01:30"}
    answer = office.post(f"pours/{pour['id']}/move/", move)
    assert (answer.status_code, answer.json()["errors"][0]["field"]) == (400, "starts_at")


def test_a_change_of_job_reads_the_start_on_the_new_sites_clock(office, booking, eastern):
    pour = office.post("pours/", booking).json()
    change = {"version": 1, "job": eastern["job"], "starts_at": "2026-08-28T07:00"}
    changed = office.patch(f"pours/{pour['id']}/", change).json()
    assert changed["starts_at"] == "2026-08-28T07:00:00-04:00"


def test_every_moment_of_a_plan_is_on_the_sites_clock(office, eastern):
    plan = office.post("pours/", eastern).json()["plan"]

    def moments(value):
        if isinstance(value, dict):
            for name, inner in value.items():
                if name.endswith("_at") and inner:
                    yield inner
                yield from moments(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from moments(inner)

    found = list(moments(plan))
    assert len(found) > 20
    assert all(moment.endswith("-04:00") for moment in found)


def test_an_orders_cut_off_is_on_the_plants_clock(office, eastern):
    office.post("pours/", eastern)
    order = office.get("orders/").json()["results"][0]
    assert order["first_on_site_at"] == "2026-08-28T07:00:00-04:00"
    assert order["order_by"] == "2026-08-27T15:00:00-05:00"


@pytest.mark.parametrize(
    "said",
    [
        "tomorrow",
        "2026-08-28",
        "2026-08-28T25:00",
        "2026-02-30T07:00",
        "2026-8-28T07:00",
        "٢٠٢٦-08-28T07:00",
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-12:00",
        "2026-08-28T07:00:00+99:00",
        1788000000,
        True,
        None,
        {},
    ],
)
def test_what_is_no_moment_is_refused(office, booking, said):
    answer = office.post("pours/", {**booking, "starts_at": said})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == "starts_at"
    assert not Pour.objects.exists()
