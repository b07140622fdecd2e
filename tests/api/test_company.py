"""The company's settings, read and changed by programs."""

import pytest

from scheduling.models import Company
from tests import factories
from tests.pages.conftest import signed_in

pytestmark = pytest.mark.django_db


def test_every_setting_the_office_keeps_in_its_records_is_told(office):
    told = office.get("company/").json()
    kept = {field.name for field in Company._meta.concrete_fields} - {"id"}
    assert len(told) == len(kept)
    assert told["allowance"] == {"value": 5.0, "unit": "%"}
    assert told["longest_day"] == {"value": 12.0, "unit": "h"}
    assert told["unattended_every"] == {"value": 45, "unit": "min"}
    assert (told["quiet_from"], told["crew_per_h"]) == ("21:00", 250.0)


def test_settings_are_changed_from_the_version_that_was_read(office):
    read = office.get("company/")
    changed = office.patch(
        "company/",
        {"unattended_every": "30 min", "least_rest": None, "overtime_per_h": 140, "longest_day": "10.5 h"},
        headers={"If-Match": read["ETag"]},
    )
    assert changed.status_code == 200, changed.content
    company = Company.objects.get()
    assert (company.unattended_every_min, company.least_rest_h, company.longest_day_h) == (30, None, 10.5)
    assert company.overtime_per_h == 140
    assert (changed["ETag"], changed.json()["version"]) == ('"2"', 2)
    late = office.patch("company/", {"version": 1, "name": "Late"})
    assert (late.status_code, late.json()["version"]) == (412, 2)
    assert office.patch("company/", {"name": "Unread"}).status_code == 428
    assert Company.objects.get().name == company.name


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"unattended_every": "20 min"}, "unattended_every"),
        ({"longest_day": "25 h"}, "longest_day"),
        ({"crew_per_h": -1}, "crew_per_h"),
        ({"time_zone": "Kansas"}, "time_zone"),
        ({"holiday_country": "XX"}, "holiday_country"),
        ({"holiday_country": "US", "holiday_state": "ZZ"}, "holiday_state"),
        ({"allowance": 5}, "allowance"),
        ({"units": "furlongs"}, "units"),
        ({"wages": 1}, "wages"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_changes(office, said, field):
    answer = office.patch("company/", {"version": 1, **said})
    assert answer.status_code == 400, answer.content
    assert [error["field"] for error in answer.json()["errors"]] == [field]
    assert Company.objects.get().version == 1


def test_an_office_that_closes_before_it_opens_is_refused(office):
    answer = office.patch("company/", {"version": 1, "office_opens_at": "17:00", "office_closes_at": "07:00"})
    assert answer.status_code == 400
    assert "closes after it opens" in answer.json()["detail"]


def test_a_change_in_the_records_is_a_version_too(company):
    keeper = signed_in(factories.user(is_staff=True, is_superuser=True))
    page = keeper.get("/admin/scheduling/company/1/change/")
    said = {
        name: value for name, value in page.context["adminform"].form.initial.items() if value is not None
    }
    answer = keeper.post("/admin/scheduling/company/1/change/", {**said, "name": "Blue Flatwork"})
    assert answer.status_code == 302
    company.refresh_from_db()
    assert (company.name, company.version) == ("Blue Flatwork", 2)


def test_before_there_is_a_company_there_are_no_settings(office):
    Company.objects.all().delete()
    assert office.get("company/").status_code == 404
    assert office.patch("company/", {"version": 1, "name": "New"}).status_code == 400
