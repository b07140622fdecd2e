"""What whoever is on call is told by the API, and what they can say of texts."""

from datetime import timedelta

import pytest

from scheduling.models import Consent, MessageState
from scheduling.services import heartbeat
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)


def test_it_tells_the_oldest_due_and_unsent_and_what_comes_next(office):
    person = factories.user()
    heartbeat.tick(now=NOW)
    old = factories.message(person, due_at=NOW - 20 * MINUTE)
    new = factories.message(person, due_at=NOW - MINUTE)
    later = factories.message(person, due_at=NOW + MINUTE, next_try_at=NOW + MINUTE)
    factories.message(person, state=MessageState.SENT, due_at=NOW - 60 * MINUTE)
    told = office.get("on-call/").json()
    assert told["health"] == {
        "is_well": False,
        "clock_at": "2026-08-27T10:00:00-05:00",
        "clock_stopped": False,
        "oldest_due_at": "2026-08-27T09:40:00-05:00",
        "stuck": True,
    }
    assert [text["id"] for text in told["waiting"]] == [old.pk, new.pk]
    assert [one["message"]["id"] for one in told["coming"]] == [later.pk]


def test_reminders_come_too(office, company):
    pour = factories.pour(crew=factories.crew())
    factories.plan(pour)
    coming = office.get("on-call/").json()["coming"]
    assert {one["reminder"]["kind"] for one in coming} >= {"order", "finish"}
    assert [one["due_at"] for one in coming] == sorted(one["due_at"] for one in coming)


def test_a_text_nobody_knows_of_is_decided_once(office):
    text = factories.message(factories.user(), state=MessageState.UNKNOWN)
    answer = office.post(f"messages/{text.pk}/arrived/").json()
    assert (answer["state"], answer["decided_by"]["id"]) == ("delivered", office.user.pk)
    again = office.post(f"messages/{text.pk}/send-again/")
    assert (again.status_code, again.json()["code"]) == (400, "decided")


def test_a_text_is_sent_again(dispatcher):
    text = factories.message(factories.user(), state=MessageState.UNKNOWN)
    answer = dispatcher.post(f"messages/{text.pk}/send-again/").json()
    assert (answer["state"], answer["resends"]) == ("queued", 1)


def test_a_reply_is_read_and_seen_to(dispatcher):
    reply = factories.reply(factories.user())
    (listed,) = dispatcher.get("replies/").json()["results"]
    assert (listed["body"], listed["meaning"]) == ("gate is locked", "unclear")
    assert dispatcher.post(f"replies/{reply.pk}/seen/").json()["seen_by"]["id"] == dispatcher.user.pk
    assert dispatcher.post(f"replies/{reply.pk}/seen/").json()["code"] == "seen"


def test_an_agreement_is_written_down_and_a_stop_is_for_good(office):
    person = factories.user(texts_agreed_at=None)
    assert office.post(f"users/{person.pk}/texts-agreed/", {"way": "by_text"}).status_code == 400
    answer = office.post(f"users/{person.pk}/texts-agreed/", {"way": "in_person"}).json()
    assert answer["texts_agreed_at"] == "2026-08-27T10:00:00-05:00"
    assert Consent.objects.get(person=person).by == office.user
    assert office.post(f"users/{person.pk}/texts-stopped/").json()["texts_stopped_at"]
    refused = office.post(f"users/{person.pk}/texts-agreed/", {"way": "in_person"})
    assert refused.json()["code"] == "stopped"
