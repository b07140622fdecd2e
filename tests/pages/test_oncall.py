"""What whoever is on call sees, and what a machine that watches is told."""

from datetime import timedelta

import pytest
import time_machine
from django.db import DatabaseError
from django.test import Client

from scheduling import tasks
from scheduling.models import Consent, ConsentWay, Message, MessageState, Reminder
from scheduling.queries import oncall
from scheduling.roles import Role
from scheduling.services import heartbeat
from tests import factories
from tests.factories import NOW
from tests.pages.conftest import signed_in
from tests.pages.reading import text_of

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)


@pytest.fixture
def ticking(db):
    heartbeat.tick(now=NOW)


def watched():
    answer = Client().get("/health/")
    return answer.status_code, answer.json()


# --- health -----------------------------------------------------------------------------------


def test_all_is_well_while_the_clock_ticks_and_nothing_lies_about(ticking):
    status, told = watched()
    assert status == 200
    assert told == {
        "well": True,
        "clock": "ticking",
        "clock_ticked_s_ago": 0,
        "texts": "going",
        "oldest_due_s_ago": None,
    }


def test_the_clocks_own_task_is_its_sign_of_life(db):
    assert watched()[0] == 503
    tasks.tick()
    assert watched()[0] == 200
    tasks.tick()
    assert watched()[0] == 200


@pytest.mark.parametrize(("minutes", "status"), [(3, 200), (4, 503)])
def test_a_clock_that_stopped_shows_red_without_any_worker(ticking, minutes, status):
    with time_machine.travel(NOW + minutes * MINUTE, tick=False):
        assert watched()[0] == status


def test_a_clock_that_never_ran_is_red(db):
    status, told = watched()
    assert (status, told["clock"], told["clock_ticked_s_ago"]) == (503, "stopped", None)


# Ten minutes: our choice.
@pytest.mark.parametrize(("minutes", "status"), [(10, 200), (11, 503)])
def test_a_text_that_should_have_gone_long_ago_is_red_though_the_clock_ticks(db, minutes, status):
    factories.message(factories.user(), due_at=NOW - minutes * MINUTE)
    heartbeat.tick(now=NOW)
    assert watched()[0] == status
    assert watched()[1]["oldest_due_s_ago"] == minutes * 60


def test_a_reminder_nobody_worked_through_is_red(ticking, pour):
    Reminder.objects.update(due_at=NOW - 11 * MINUTE, useful_until=NOW + MINUTE)
    assert watched()[1]["texts"] == "stuck"


@pytest.mark.parametrize("state", ["sent", "delivered", "failed", "expired", "withheld", "unknown"])
def test_what_has_come_to_an_end_does_not_lie_about(ticking, state):
    factories.message(factories.user(), due_at=NOW - 60 * MINUTE, state=state)
    assert watched()[0] == 200


def test_a_database_that_is_away_is_red(monkeypatch):
    def away(now):
        raise DatabaseError("the server is gone")

    monkeypatch.setattr(oncall, "health", away)
    assert watched() == (503, {"well": False, "database": "away"})


def test_it_names_nobody_and_is_not_kept(ticking):
    factories.message(factories.user(first_name="Petra"), due_at=NOW - 20 * MINUTE)
    answer = Client().get("/health/")
    assert "Petra" not in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]


# --- the page ---------------------------------------------------------------------------------


def test_the_page_shows_what_waits_what_is_lost_what_comes_and_what_was_texted(page, pour, crew):
    lead = crew.lead
    factories.message(lead, body="waits", due_at=NOW - 20 * MINUTE)
    factories.message(lead, body="lost", state=MessageState.FAILED, reason="no such number")
    factories.message(lead, body="perhaps", state=MessageState.UNKNOWN, reason="perhaps sent")
    factories.reply(lead, body="gate is locked")
    text = text_of(page.get("/messages/due/"))
    assert "Something was due 20 min ago and has not gone." in text
    assert "The clock has never run" in text
    for said in ("waits", "No such number", "gate is locked", "Nothing came", "Order the concrete"):
        assert said in text


def test_a_text_is_decided_by_its_button(page, office, crew):
    message = factories.message(crew.lead, state=MessageState.UNKNOWN)
    page.post(f"/messages/{message.pk}/arrived/")
    message.refresh_from_db()
    assert (message.state, message.decided_by) == (MessageState.DELIVERED, office)
    answer = page.post(f"/messages/{message.pk}/again/", follow=True)
    assert "It is known by now what became of this text." in text_of(answer)


def test_a_text_is_sent_again_by_its_button(page, crew):
    message = factories.message(crew.lead, state=MessageState.UNKNOWN)
    assert "It goes out again now." in text_of(page.post(f"/messages/{message.pk}/again/", follow=True))
    assert Message.objects.get().state == MessageState.QUEUED


def test_a_reply_is_seen_to_and_leaves_the_page(page, office, crew):
    reply = factories.reply(crew.lead, body="gate is locked")
    answer = page.post(f"/messages/replies/{reply.pk}/seen/", follow=True)
    assert "gate is locked" not in text_of(answer)
    reply.refresh_from_db()
    assert reply.seen_by == office


def test_the_office_writes_down_who_agreed_and_how(page, office):
    person = factories.user(Role.CREW_LEAD, first_name="Ana", last_name="Ruiz", texts_agreed_at=None)
    assert "Ana Ruiz has not agreed to get texts" in text_of(page.get("/messages/due/"))
    page.post(f"/people/{person.pk}/texts-agreed/", {"way": "on_paper"})
    kept = Consent.objects.get(person=person)
    assert (kept.way, kept.by, kept.at) == (ConsentWay.ON_PAPER, office, NOW)
    assert "Ana Ruiz has not agreed" not in text_of(page.get("/messages/due/"))


def test_how_they_agreed_must_be_said(page):
    person = factories.user(texts_agreed_at=None)
    answer = page.post(f"/people/{person.pk}/texts-agreed/", {"way": "by_text"}, follow=True)
    assert "Say how they agreed." in text_of(answer)
    assert not Consent.objects.exists()


def test_who_wants_no_more_texts_cannot_be_signed_up_by_the_office(page, crew):
    page.post(f"/people/{crew.lead_id}/texts-stopped/")
    answer = page.post(f"/people/{crew.lead_id}/texts-agreed/", {"way": "in_person"}, follow=True)
    assert "by texting START" in text_of(answer)


def test_a_number_that_texts_do_not_reach_is_shown(page, crew):
    lead = crew.lead
    lead.bad_phone = lead.phone
    lead.save()
    assert f"exts do not reach {lead.phone}: phone" in text_of(page.get("/messages/due/"))


@pytest.mark.parametrize(
    ("address", "dispatcher"),
    [
        ("/messages/{text}/arrived/", 302),
        ("/messages/{text}/again/", 302),
        ("/messages/replies/{reply}/seen/", 302),
        ("/people/{person}/texts-agreed/", 403),
        ("/people/{person}/texts-stopped/", 403),
    ],
)
def test_who_may_do_what(office, crew, address, dispatcher):
    rows = {
        "text": factories.message(crew.lead, state=MessageState.UNKNOWN).pk,
        "reply": factories.reply(crew.lead).pk,
        "person": crew.lead_id,
    }
    address = address.format(**rows)
    assert Client().post(address).headers["Location"].startswith("/sign-in/")
    assert signed_in(crew.lead).post(address).status_code == 403
    assert signed_in(factories.user(Role.DISPATCHER)).post(address).status_code == dispatcher
    assert signed_in(office).get(address).status_code == 405


def test_a_lead_is_not_shown_what_others_texted(crew):
    assert signed_in(crew.lead).get("/messages/due/").status_code == 403


def test_the_page_asks_as_many_questions_of_much_as_of_little(page, crew, django_assert_max_num_queries):
    for number in range(15):
        factories.message(crew.lead, state=MessageState.FAILED, body=str(number))
        factories.reply(crew.lead)
    with django_assert_max_num_queries(16):
        page.get("/messages/due/")
