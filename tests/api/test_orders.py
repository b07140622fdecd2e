"""Orders with the plant, and the texts and clashes beside them."""

from datetime import timedelta

import pytest

from scheduling.models import MessageState, Site
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(office, booking) -> dict:
    office.post("pours/", booking)
    return office.get("orders/").json()["results"][0]


def test_an_order_is_called_in_and_confirmed(office, order):
    called = office.post(f"orders/{order['id']}/call-in/", {"taken_by": "Lou"}).json()
    assert (called["state"], called["taken_by"]) == ("called", "Lou")
    assert called["called_at"] == "2026-08-27T10:00:00-05:00"
    confirmed = office.post(f"orders/{order['id']}/confirm/", {"ticket": "A-17"}).json()
    assert (confirmed["state"], confirmed["ticket"]) == ("confirmed", "A-17")


def test_an_order_that_has_moved_on_is_not_called_in_again(office, order):
    office.post(f"orders/{order['id']}/confirm/", {})
    answer = office.post(f"orders/{order['id']}/call-in/", {})
    assert (answer.status_code, answer.json()["code"]) == (400, "order_moved_on")
    assert answer.json()["state"] == "confirmed"


def test_the_order_of_a_pour_on_hold_cannot_be_confirmed(office, order):
    """The forms were wrong and nobody had released the pour, yet crew and trucks came."""
    office.post(f"pours/{order['pour']['id']}/hold/", {"version": 1, "reason": "forms check is open"})
    answer = office.post(f"orders/{order['id']}/confirm/", {})
    assert (answer.status_code, answer.json()["code"]) == (400, "pour_on_hold")


def test_where_trucks_must_back_nothing_is_confirmed_without_a_spotter(office, order):
    Site.objects.update(trucks_must_back=True)
    answer = office.post(f"orders/{order['id']}/confirm/", {})
    assert (answer.status_code, answer.json()["code"]) == (400, "no_spotter")
    assert "spotter" in str(answer.json())
    named = office.patch(f"pours/{order['pour']['id']}/", {"version": 1, "spotter": "Abel"})
    assert named.json()["spotter"] == "Abel"
    said = {finding["code"]: finding["facts"] for finding in named.json()["plan"]["findings"]}
    assert said["spotter_named"]["spotter"] == "Abel"
    standing = office.get("orders/", {"pour": order["pour"]["id"]}).json()["results"][0]
    assert office.post(f"orders/{standing['id']}/confirm/", {}).json()["state"] == "confirmed"


def test_orders_are_found_by_pour_plant_and_state(office, order):
    assert office.get("orders/", {"pour": order["pour"]["id"]}).json()["count"] == 1
    assert office.get("orders/", {"plant": order["plant"]["id"]}).json()["count"] == 1
    assert office.get("orders/", {"state": "confirmed"}).json()["count"] == 0


def test_texts_are_read_with_their_state_and_reason(office):
    message = factories.message(
        recipient=factories.user(), state=MessageState.WITHHELD, reason="asked for no texts"
    )
    row = office.get(f"messages/{message.pk}/").json()
    assert (row["state"], row["reason"], row["tries"]) == ("withheld", "asked for no texts", 0)
    assert row["phone"] == str(message.phone)
    assert row["due_at"] == "2026-08-27T10:00:00-05:00"
    assert office.get("messages/", {"state": "sent"}).json()["count"] == 0


def test_a_crew_lead_reads_their_own_texts(lead):
    mine = factories.message(recipient=lead.user)
    factories.message(recipient=factories.user())
    assert [row["id"] for row in lead.get("messages/").json()["results"]] == [mine.pk]


# --- conflicts --------------------------------------------------------------------------------


@pytest.fixture
def clashing(company):
    """Two pours of one crew, half an hour apart."""
    crew = factories.crew()
    pours = [factories.pour(crew=crew), factories.pour(crew=crew)]
    pours[1].starts_at += timedelta(minutes=30)
    pours[1].save()
    for pour in pours:
        factories.plan(pour)
    return pours


@pytest.mark.parametrize(
    "span",
    [
        {"from": "2026-08-28", "to": "2026-08-28"},
        {"from": "2026-08-28T07:00", "to": "2026-08-28T09:00"},
        {"from": "2026-08-28T12:00:00Z", "to": "2026-08-28T14:00:00Z"},
    ],
)
def test_clashes_are_found_between_days_or_moments(office, clashing, span):
    rows = office.get("conflicts/", span).json()["results"]
    assert {row["code"] for row in rows} == {"two_placings", "people_short"}
    for row in rows:
        assert [pour["id"] for pour in row["pours"]] == [pour.pk for pour in clashing]
        assert row["cure"]["pour"]["id"] == clashing[1].pk
        assert row["cure"]["starts_at"] > "2026-08-28T07:30:00-05:00"
        assert row["accepted"] is False


def test_outside_the_span_there_is_no_clash(office, clashing):
    assert office.get("conflicts/", {"from": "2026-08-26", "to": "2026-08-26"}).json()["results"] == []


@pytest.mark.parametrize(
    ("span", "field"),
    [
        ({"from": "2026-08-28"}, "to"),
        ({"to": "2026-08-28"}, "from"),
        ({"from": "2026-08-28", "to": "2026-08-27"}, "to"),
        ({"from": "2026-08-28T07:00", "to": "2026-08-28T07:00"}, "to"),
        ({"from": "2026-01-01", "to": "2026-12-31"}, "to"),
        ({"from": "soon", "to": "2026-08-28"}, "from"),
    ],
)
def test_a_span_that_is_none_or_too_long_is_refused(office, span, field):
    answer = office.get("conflicts/", span)
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == field
