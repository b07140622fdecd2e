"""Lists: each row once, in an order that holds, with as many queries for many rows as for few."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.request import Request
from rest_framework.test import APIRequestFactory

from api.pagination import Pages
from scheduling.models import Pour
from tests import factories

pytestmark = pytest.mark.django_db

LISTS = [
    "pours/",
    "orders/",
    "messages/",
    "sites/",
    "jobs/",
    "crews/",
    "people/",
    "equipment/",
    "plants/",
    "mixes/",
    "users/",
    "conflicts/?from=2026-08-01&to=2026-09-30",
]


def fill(count: int) -> None:
    """So many of everything, all alike where that is allowed: only ids tell the order."""
    for n in range(count):
        crew = factories.crew(people=1)
        pour = factories.pour(crew=crew, title="same")
        factories.plan(pour)
        factories.message(recipient=crew.lead)
        factories.equipment(crew=crew, name=f"Saw {n} of {count}")


def queries_for(caller, path: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        answer = caller.get(path)
    assert answer.status_code == 200, answer.content
    return len(captured)


@pytest.mark.slow
def test_many_rows_take_as_many_queries_as_few(office):
    fill(10)
    few = {path: queries_for(office, path) for path in LISTS}
    assert office.get("pours/").json()["count"] == 10
    fill(30)
    many = {path: queries_for(office, path) for path in LISTS}
    assert office.get("pours/").json()["count"] == 40
    assert many == few
    rules = many.pop(next(path for path in many if path.startswith("conflicts/")))
    assert max(many.values()) <= 12
    assert rules <= 25  # one for each kind of row that a rule of the week goes by


def test_pages_hold_every_row_once_while_one_is_added(office):
    pours = [factories.pour() for _ in range(25)]
    seen = []
    for page in (1, 2, 3):
        answer = office.get("pours/", {"page": page, "page_size": 10}).json()
        seen += [row["id"] for row in answer["results"]]
        factories.pour()
    assert seen[:25] == [pour.pk for pour in pours]
    assert len(seen) == len(set(seen))


def test_rows_in_no_certain_order_are_not_given_out():
    """Rows that start in the same minute could stand on two pages or on none."""
    request = Request(APIRequestFactory().get("/"))
    with pytest.raises(AssertionError, match="by id at last"):
        Pages().paginate_queryset(Pour.objects.order_by("starts_at"), request)
    assert Pages().paginate_queryset(Pour.objects.order_by("starts_at", "id"), request) == []


def test_a_page_is_no_larger_than_the_limit(office):
    for _ in range(3):
        factories.site()
    assert len(office.get("sites/", {"page_size": 2}).json()["results"]) == 2
    answer = office.get("sites/", {"page_size": 10**6}).json()
    assert answer["count"] == len(answer["results"]) == 3


def test_the_next_page_can_be_followed(office):
    for _ in range(3):
        factories.site()
    first = office.get("sites/", {"page_size": 2}).json()
    assert first["previous"] is None
    rest = office.get(first["next"].removeprefix("http://testserver")).json()
    assert (len(rest["results"]), rest["next"]) == (1, None)
