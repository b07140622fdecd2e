"""The outbox against a text service that fails in every way such services fail."""

from datetime import timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.models import Consent, ConsentKind, Message, MessageKind, MessageState, SendingMinute
from scheduling.roles import Role
from scheduling.services import outbox
from scheduling.services.outbox import queue_message, send_due
from tests import factories
from tests.factories import NOW
from tests.texting.conftest import desk, service  # noqa: F401 (fixtures)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("service")]

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def lead():
    return factories.user(Role.CREW_LEAD, first_name="Petra", last_name="Voss", phone="+19135550121")


@pytest.fixture
def dispatcher():
    return factories.user(Role.DISPATCHER)


def queued(recipient, key="one", until=NOW + 4 * HOUR, due_at=NOW):
    return queue_message(
        key=key,
        kind=MessageKind.MORNING,
        recipient=recipient,
        body=f"Be there 6am. ({key})",
        due_at=due_at,
        useful_until=until,
        pours=(),
        now=NOW,
    )


def only():
    return Message.objects.exclude(kind=MessageKind.DISPATCH).get()


def test_a_text_is_taken_once_under_its_own_key(lead, desk):  # noqa: F811
    queued(lead)
    assert [send_due(now=NOW), send_due(now=NOW)] == [1, 0]
    (taken,) = desk.taken
    assert (taken.key, taken.sid) == ("one#0", only().gateway_key)


def test_a_busy_service_is_left_alone_as_long_as_it_asked_and_the_next_text_is_not_tried(lead, desk):  # noqa: F811
    queued(lead, "first")
    queued(factories.user(), "second")
    desk.plans[str(lead.phone)] = ["busy"]
    assert send_due(now=NOW) == 0
    first, second = Message.objects.order_by("pk")
    assert first.next_try_at - NOW >= timedelta(seconds=120)
    assert (second.state, second.tries, desk.asked) == (MessageState.QUEUED, 0, 1)
    assert send_due(now=NOW + 5 * MINUTE) == 2


def test_a_server_error_is_tried_again(lead, desk):  # noqa: F811
    queued(lead)
    desk.plans[str(lead.phone)] = ["broken", "broken"]
    now, moments = NOW, []
    while not desk.taken:
        send_due(now=now)
        moments.append(now)
        now = only().next_try_at
    assert (len(moments), only().state, only().tries) == (3, MessageState.SENT, 3)


def test_waits_are_spread_and_always_the_same_for_the_same_text():
    waits = {
        key: outbox.wait_before_next_try(Message(key=key, tries=1)).total_seconds()
        for key in (f"text {number}" for number in range(200))
    }
    assert len(set(waits.values())) == 200
    assert min(waits.values()) < 32 < 43 < max(waits.values())
    assert waits["text 7"] == outbox.wait_before_next_try(Message(key="text 7", tries=1)).total_seconds()


def test_a_bad_number_flags_the_person_and_is_never_tried_again(lead, dispatcher, desk):  # noqa: F811
    queued(lead)
    desk.plans[str(lead.phone)] = ["bad number"]
    send_due(now=NOW)
    lead.refresh_from_db()
    assert (lead.phone_is_bad, lead.bad_phone_at is not None) == (True, True)
    assert only().state == MessageState.FAILED
    assert "phone Petra Voss, and correct the number" in only().reason
    told = Message.objects.get(kind=MessageKind.DISPATCH)
    assert told.recipient == dispatcher
    assert told.body.startswith("NOT TEXTED: texts do not reach +19135550121: phone Petra Voss")
    asked = desk.asked
    queued(lead, "next morning")
    send_due(now=NOW + HOUR)
    assert Message.objects.get(key="next morning").state == MessageState.WITHHELD
    assert desk.asked == asked + 1  # the word to dispatch alone


def test_another_number_is_given_its_chance(lead, desk):  # noqa: F811
    queued(lead)
    desk.plans[str(lead.phone)] = ["bad number"]
    send_due(now=NOW)
    lead.refresh_from_db()
    lead.phone = "+19135550199"
    lead.save()
    queued(lead, "second")
    send_due(now=NOW)
    assert "+19135550199" in {taken.to for taken in desk.taken}


def test_an_opt_out_told_by_the_service_holds_from_then_on(lead, dispatcher, desk):  # noqa: F811
    queued(lead)
    desk.plans[str(lead.phone)] = ["opted out"]
    send_due(now=NOW)
    lead.refresh_from_db()
    assert lead.texts_stopped_at is not None
    assert Consent.objects.get(person=lead).kind == ConsentKind.STOPPED
    assert (only().state, only().reason) == (
        MessageState.WITHHELD,
        "Petra Voss asked for no texts: phone instead",
    )
    send_due(now=NOW + MINUTE)
    assert desk.taken[-1].to == str(dispatcher.phone)
    asked = desk.asked
    for morning in range(1, 4):
        queued(lead, f"morning {morning}", due_at=NOW + morning * HOUR)
        send_due(now=NOW + morning * HOUR)
    assert desk.asked == asked
    assert not [taken for taken in desk.taken if taken.to == str(lead.phone)]


def test_somebody_who_never_agreed_gets_nothing(desk):  # noqa: F811
    person = factories.user(first_name="Ana", last_name="Ruiz", texts_agreed_at=None)
    queued(person)
    send_due(now=NOW)
    assert (only().state, desk.asked) == (MessageState.WITHHELD, 0)
    assert only().reason == "Ana Ruiz has not agreed to get texts: phone instead, and ask"


def test_no_answer_leaves_it_to_a_person(lead, desk):  # noqa: F811
    queued(lead)
    desk.plans[str(lead.phone)] = ["hang up"]
    assert send_due(now=NOW) == 0
    assert (only().state, len(desk.taken)) == (MessageState.UNKNOWN, 1)
    assert send_due(now=NOW + HOUR) == 0


def test_a_bad_answer_to_word_for_dispatch_is_not_told_to_dispatch(dispatcher, desk):  # noqa: F811
    office = factories.user(Role.OFFICE)
    other = factories.user(Role.DISPATCHER)
    desk.plans[str(dispatcher.phone)] = ["empty"]
    told = {"about": office, "now": NOW, "useful_until": NOW + HOUR}
    assert outbox.tell_dispatch(key="x", body=lambda: "hello", **told) == 2
    assert outbox.tell_dispatch(key="x", body=lambda: "hello", **told) == 0
    send_due(now=NOW)
    assert Message.objects.count() == 2
    assert [taken.to for taken in desk.taken] == [str(other.phone)]


# --- brakes -----------------------------------------------------------------------------------


def test_one_person_gets_no_more_than_so_many_texts_an_hour(lead, desk, settings):  # noqa: F811
    settings.TEXTS_A_PERSON_AN_HOUR = 3
    for number in range(5):
        queued(lead, f"text {number}")
    queued(factories.user(), "for another")
    assert send_due(now=NOW) == 4
    held = Message.objects.filter(state=MessageState.QUEUED)
    assert {message.reason for message in held} == {"too many texts to them within the hour"}
    assert [message.tries for message in held] == [0, 0]
    assert send_due(now=NOW + 30 * MINUTE) == 0
    assert send_due(now=NOW + HOUR + MINUTE) == 2


def test_no_more_than_so_many_leave_in_a_minute_by_all_workers_together(desk, settings):  # noqa: F811
    settings.TEXTS_A_MINUTE = 12
    for number in range(30):
        queued(factories.user(), f"text {number}")
    now = NOW.replace(second=1)
    assert [send_due(now=now), send_due(now=now), send_due(now=now)] == [12, 0, 0]
    assert send_due(now=now + MINUTE) == 12
    assert send_due(now=now + 2 * MINUTE) == 6
    assert SendingMinute.objects.get(starts_at=NOW.replace(second=0)).taken == 12


def test_a_text_that_was_held_back_too_long_is_not_sent(lead, desk, settings):  # noqa: F811
    settings.TEXTS_A_PERSON_AN_HOUR = 1
    queued(lead, "first")
    queued(lead, "second", until=NOW + HOUR / 2)
    send_due(now=NOW)
    send_due(now=NOW + 2 * HOUR)
    second = Message.objects.get(key="second")
    assert (second.state, second.reason) == (
        MessageState.EXPIRED,
        "its time has passed. too many texts to them within the hour",
    )


def test_a_second_worker_is_asked_once_where_there_is_much_and_never_by_one_that_sent_nothing(
    desk,  # noqa: F811
    settings,
    monkeypatch,
):
    asked = []
    monkeypatch.setattr(outbox, "nudge", asked.append)
    for number in range(30):
        queued(factories.user(), f"text {number}")
    settings.TEXTS_A_MINUTE = 12
    send_due(now=NOW)
    assert asked == ["scheduling.tasks.send_due_messages"]
    send_due(now=NOW)
    assert len(asked) == 1


# --- when nobody knows ------------------------------------------------------------------------


@pytest.fixture
def perhaps(lead, desk):  # noqa: F811
    """A text that was taken, though nobody here was told."""
    queued(lead)
    desk.plans[str(lead.phone)] = ["hang up"]
    send_due(now=NOW)
    return only()


def test_a_person_says_that_it_arrived(perhaps, dispatcher):
    outbox.say_it_arrived(message=perhaps, by=dispatcher, now=NOW + MINUTE)
    message = only()
    assert (message.state, message.decided_by, message.decided_at) == (
        MessageState.DELIVERED,
        dispatcher,
        NOW + MINUTE,
    )
    assert message.reason == f"{dispatcher} says it arrived"
    assert send_due(now=NOW + HOUR) == 0


def test_a_person_sends_it_again_under_a_key_of_its_own(perhaps, dispatcher, desk):  # noqa: F811
    outbox.send_again(message=perhaps, by=dispatcher, now=NOW + MINUTE)
    assert send_due(now=NOW + MINUTE) == 1
    assert [taken.key for taken in desk.taken] == ["one#0", "one#1"]
    assert (only().resends, only().decided_by) == (1, dispatcher)


def test_of_two_people_who_decide_the_second_is_told(perhaps, dispatcher):
    outbox.send_again(message=perhaps, by=dispatcher, now=NOW)
    with pytest.raises(Refusal, match="known by now"):
        outbox.say_it_arrived(message=perhaps, by=dispatcher, now=NOW)
    assert only().state == MessageState.QUEUED


def test_what_is_over_is_not_sent_again(perhaps, dispatcher):
    with pytest.raises(Refusal, match="too late"):
        outbox.send_again(message=perhaps, by=dispatcher, now=NOW + 4 * HOUR)
    assert only().state == MessageState.UNKNOWN


@pytest.mark.parametrize("state", ["queued", "sent", "delivered", "failed", "expired", "withheld"])
def test_only_a_text_that_nobody_knows_of_is_decided(lead, dispatcher, state):
    message = factories.message(lead, state=state)
    for decide in (outbox.say_it_arrived, outbox.send_again):
        with pytest.raises(Refusal):
            decide(message=message, by=dispatcher, now=NOW)
    message.refresh_from_db()
    assert message.state == state


def test_working_through_a_text_costs_few_queries(desk, django_assert_max_num_queries):  # noqa: F811
    queued(factories.user(), "first")
    send_due(now=NOW)
    for number in range(9):
        queued(factories.user(), f"text {number}")
    # Claim, read, brake of the person, note; and for all nine the list and a handful of leaves.
    with django_assert_max_num_queries(9 * 4 + 5):
        assert send_due(now=NOW) == 9
