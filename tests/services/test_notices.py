"""A person changes a booking: who is told what at once, and who is not."""

from datetime import timedelta

import pytest

from scheduling.models import Message, MessageKind, MessageState
from scheduling.services import booking, morning, outbox
from scheduling.texting.segments import segments
from tests import factories
from tests.factories import STARTS_AT

pytestmark = pytest.mark.django_db

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
POUR_AT = STARTS_AT + 3 * HOUR  # ten on the site's clock
TEXT_AT = STARTS_AT - 90 * MINUTE  # half past five there
LATER = TEXT_AT + 30 * MINUTE


@pytest.fixture
def by():
    factories.company()
    return factories.user()


@pytest.fixture
def pour(by):
    site = factories.site(name="Mill Rd garage", address="14 Mill Rd, Olathe")
    factories.forecast(site)
    return book(by, factories.crew(), site=site)


def book(by, crew, *, site=None, starts_at=POUR_AT, plant="Hilltop"):
    mix = factories.mix(code="4000AE", plant=factories.plant(name=plant))
    return booking.book_pour(
        job=factories.job(site=site),
        sections=[factories.SECTION],
        starts_at=starts_at,
        plant=mix.plant,
        mix=mix,
        crew=crew,
        by=by,
        now=TEXT_AT - HOUR,
        accept_clashes=True,
    )


def morning_texts(send=True):
    morning.write_due(now=TEXT_AT)
    if send:
        outbox.send_due(now=TEXT_AT)


def change(pour, by, now=LATER, **fields):
    pour.refresh_from_db()
    return booking.change_pour(pour=pour, version=pour.version, by=by, now=now, accept_clashes=True, **fields)


def turn(verb, pour, by, now=LATER, **said):
    pour.refresh_from_db()
    return verb(pour=pour, version=pour.version, by=by, now=now, **said)


def told():
    """What was written after the morning texts, sent off so that the next counts from it."""
    texts = Message.objects.exclude(
        kind__in=(MessageKind.MORNING, MessageKind.REMINDER, MessageKind.DISPATCH)
    )
    bodies = [text.body for text in texts.filter(state=MessageState.QUEUED).order_by("pk")]
    outbox.send_due(now=LATER)
    assert not texts.filter(state=MessageState.EXPIRED).exists()
    return bodies


def test_a_lead_who_has_the_morning_text_hears_of_a_new_start_and_of_nothing_that_stayed(pour, by):
    morning_texts()
    change(pour, by, starts_at=POUR_AT + 2 * HOUR)
    (body,) = told()
    assert body.startswith("CHANGE Fri Aug 28, Mill Rd garage: Be there 11am (was 9am). ")
    assert "from noon" in body or "at noon" in body
    assert "Order" not in body
    assert segments(body) <= 3


def test_a_lead_who_was_told_nothing_yet_is_told_by_the_morning_text_alone(pour, by):
    change(pour, by, starts_at=POUR_AT + 2 * HOUR, now=TEXT_AT - 30 * MINUTE)
    turn(booking.hold_pour, pour, by, now=TEXT_AT - 20 * MINUTE, reason="no permit")
    assert told() == []


def test_a_morning_text_that_still_waits_is_written_anew_instead(pour, by):
    morning_texts(send=False)
    change(pour, by, starts_at=POUR_AT + 2 * HOUR)
    assert Message.objects.filter(kind=MessageKind.CHANGE).count() == 0
    assert morning.write_due(now=LATER) == 1


@pytest.mark.parametrize("fields", [{"notes": "call the neighbour"}, {"title": "north half"}])
def test_what_a_crew_need_not_know_makes_no_text(pour, by, fields):
    morning_texts()
    change(pour, by, **fields)
    assert told() == []


def test_after_a_change_that_made_no_text_the_next_is_still_weighed_against_what_was_told(pour, by):
    morning_texts()
    change(pour, by, notes="call the neighbour")
    change(pour, by, starts_at=POUR_AT + HOUR)
    (body,) = told()
    assert "Be there 10am (was 9am)." in body


def test_another_mix_is_told_as_the_new_order(pour, by):
    morning_texts()
    change(pour, by, mix=factories.mix(code="5000NS", plant=pour.plant))
    (body,) = told()
    assert " 5000NS, Hilltop." in body
    assert "Order now " in body


def test_another_place_is_told(pour, by):
    morning_texts()
    site = factories.site(name="Depot", address="2 Front St, Olathe")
    factories.forecast(site)
    change(pour, by, job=factories.job(site=site))
    (body,) = told()
    assert "Now at Depot, 2 Front St, Olathe." in body


def test_hold_release_and_call_off_are_each_told_once(pour, by):
    morning_texts()
    turn(booking.hold_pour, pour, by, reason="forms not passed")
    assert told() == [
        "ON HOLD Fri Aug 28 10am: Mill Rd garage, 14 Mill Rd, Olathe. Do not go, wait for the office. "
        "forms not passed"
    ]
    turn(booking.release_pour, pour, by)
    (body,) = told()
    assert body.startswith("BACK ON Fri Aug 28: Mill Rd garage, 14 Mill Rd, Olathe. Be there 9am. ")
    turn(booking.cancel_pour, pour, by, reason="")
    assert told() == ["CALLED OFF Fri Aug 28 10am: Mill Rd garage, 14 Mill Rd, Olathe. Do not go."]


def test_a_pour_called_off_from_hold_is_told_and_a_held_one_that_moves_is_not(pour, by):
    morning_texts()
    turn(booking.hold_pour, pour, by, reason="rain")
    told()
    change(pour, by, starts_at=POUR_AT + HOUR)
    assert told() == []
    turn(booking.cancel_pour, pour, by, reason="rain")
    (body,) = told()
    assert body.startswith("CALLED OFF ")


def test_a_morning_text_that_said_on_hold_is_followed_by_back_on(pour, by):
    turn(booking.hold_pour, pour, by, now=TEXT_AT - MINUTE, reason="rain")
    morning_texts()
    turn(booking.release_pour, pour, by)
    (body,) = told()
    assert body.startswith("BACK ON ")


def test_of_a_pour_given_to_another_crew_both_leads_hear(pour, by):
    other = factories.crew()
    book(by, other, starts_at=POUR_AT + 5 * HOUR, plant="Riverbend")
    morning_texts()
    first = pour.crew.lead
    change(pour, by, crew=other)
    texts = {text.recipient: text for text in Message.objects.filter(state=MessageState.QUEUED)}
    assert texts[first].body == (
        "Fri Aug 28 10am, Mill Rd garage, 14 Mill Rd, Olathe: another crew goes now. Do not go."
    )
    assert texts[first].kind == MessageKind.CALL_OFF
    assert texts[other.lead].body.startswith("ADDED Fri Aug 28: Mill Rd garage")


def test_a_lead_with_no_text_of_the_day_yet_gets_the_morning_text_and_no_addition(pour, by):
    other = factories.crew()
    morning_texts()
    change(pour, by, crew=other)
    assert not Message.objects.filter(recipient=other.lead).exists()
    morning.write_due(now=LATER)
    assert Message.objects.get(recipient=other.lead).kind == MessageKind.MORNING


def test_each_hears_in_their_own_language(pour, by):
    lead = pour.crew.lead
    lead.language = "es"
    lead.save()
    morning_texts()
    turn(booking.hold_pour, pour, by, reason="")
    (body,) = told()
    assert (
        body
        == "EN ESPERA vie 28 ago 10am: Mill Rd garage, 14 Mill Rd, Olathe. No vayan, esperen a la oficina."
    )


def test_a_text_that_never_came_told_nothing(pour, by):
    morning_texts(send=False)
    Message.objects.update(state=MessageState.WITHHELD)
    turn(booking.hold_pour, pour, by, reason="rain")
    assert told() == []


def test_of_a_pour_that_is_over_nobody_is_told(pour, by):
    morning_texts()
    pour.refresh_from_db()
    turn(booking.cancel_pour, pour, by, now=pour.plan.placed_at, reason="never poured")
    assert Message.objects.filter(kind=MessageKind.CALL_OFF).count() == 0
