"""Receipts as the text service sends them, and as a stranger would."""

from urllib.parse import urlencode

import pytest
from django.test import Client

from scheduling.models import Message, MessageKind, MessageState
from scheduling.roles import Role
from scheduling.services import outbox
from tests import factories, smsstub
from tests.factories import NOW

pytestmark = pytest.mark.django_db

PATH = "/texts/receipts/"


@pytest.fixture(autouse=True)
def _by_twilio(settings):
    settings.TEXT_GATEWAY = "twilio"
    settings.TWILIO_AUTH_TOKEN = smsstub.TOKEN


@pytest.fixture
def message(db):
    lead = factories.user(Role.CREW_LEAD, first_name="Petra", last_name="Voss")
    return factories.message(lead, state=MessageState.SENT, gateway_key="SM1", sent_at=NOW, claimed_at=NOW)


def call(fields, *, path=PATH, signature=None, client=None, **headers):
    signed = smsstub.signature(f"http://localhost:8000{path}", fields)
    client = client or Client(enforce_csrf_checks=True)
    return client.post(
        path,
        urlencode(fields),
        content_type="application/x-www-form-urlencoded",
        headers={"X-Twilio-Signature": signed if signature is None else signature, **headers},
    )


def receipt(status, sid="SM1", code="", **more):
    fields = {"MessageSid": sid, "MessageStatus": status, "To": "+19135550142"}
    return call({**fields, **({"ErrorCode": code} if code else {})}, **more)


def state(message):
    return Message.objects.get(pk=message.pk).state


def test_a_text_is_delivered_when_the_service_says_so(message):
    assert receipt("delivered").status_code == 204
    message.refresh_from_db()
    assert (message.state, message.delivered_at) == (MessageState.DELIVERED, NOW)


def test_the_same_receipt_twice_changes_nothing_the_second_time(message):
    assert [receipt("delivered").status_code for _ in range(2)] == [204, 204]
    assert state(message) == MessageState.DELIVERED


@pytest.mark.parametrize("late", ["queued", "sending", "sent", "failed", "undelivered"])
def test_what_comes_after_delivered_changes_nothing(message, late):
    receipt("delivered")
    assert receipt(late).status_code == 204
    assert state(message) == MessageState.DELIVERED


def test_delivered_after_a_failure_is_believed(message):
    receipt("undelivered", code="30003")
    assert state(message) == MessageState.FAILED
    receipt("delivered")
    assert state(message) == MessageState.DELIVERED


def test_a_receipt_for_nobodys_text_is_taken_and_changes_nothing(message, caplog):
    assert receipt("delivered", sid="SM-of-somebody-else").status_code == 204
    assert state(message) == MessageState.SENT
    assert "no text of ours" in caplog.text


@pytest.mark.parametrize("before", [MessageState.UNKNOWN, MessageState.SENDING])
@pytest.mark.parametrize(
    ("status", "after"), [("sent", MessageState.SENT), ("delivered", MessageState.DELIVERED)]
)
def test_a_receipt_settles_a_text_whose_worker_died_before_noting_its_name(message, before, status, after):
    Message.objects.update(state=before, gateway_key="", sent_at=None)
    receipt(status, sid="SM9", path=f"{PATH}?text={message.pk}&again=0")
    message.refresh_from_db()
    assert (message.state, message.gateway_key, message.sent_at) == (after, "SM9", NOW)


def test_a_text_that_arrived_after_all_is_not_sent_again(message):
    Message.objects.update(state=MessageState.UNKNOWN, gateway_key="")
    by = factories.user()
    outbox.send_again(message=message, by=by, now=NOW)
    receipt("delivered", sid="SM9", path=f"{PATH}?text={message.pk}&again=0")
    assert state(message) == MessageState.DELIVERED
    assert outbox.send_due(now=NOW) == 0


def test_a_failure_of_an_earlier_sending_does_not_touch_the_later_one(message):
    Message.objects.update(resends=1, gateway_key="SM2")
    receipt("failed", sid="SM1", code="30003", path=f"{PATH}?text={message.pk}&again=0")
    assert state(message) == MessageState.SENT


# Codes as Twilio's documentation gives them: 30006 a landline, 21610 opted out, 30003 switched off.
def test_a_landline_flags_the_person_and_dispatch_is_told_once(message):
    factories.user(Role.DISPATCHER)
    for _ in range(3):
        receipt("undelivered", code="30006")
    message.refresh_from_db()
    assert message.state == MessageState.FAILED
    assert message.recipient.phone_is_bad
    told = Message.objects.get(kind=MessageKind.DISPATCH)
    assert "phone Petra Voss" in told.body


def test_an_opt_out_told_by_a_receipt_is_honoured(message):
    receipt("failed", code="21610")
    message.refresh_from_db()
    assert (message.state, message.recipient.texts_stopped_at) == (MessageState.WITHHELD, NOW)


def test_a_phone_that_is_off_is_not_flagged(message):
    receipt("undelivered", code="30003")
    message.refresh_from_db()
    assert (message.state, message.reason) == (MessageState.FAILED, "not delivered, error 30003")
    assert not message.recipient.phone_is_bad


# --- strangers --------------------------------------------------------------------------------


@pytest.mark.parametrize("signature", ["", "x", smsstub.signature("http://localhost:8000/", {})])
def test_without_the_right_signature_nothing_happens(message, signature):
    assert receipt("delivered", signature=signature).status_code == 403
    assert state(message) == MessageState.SENT


def test_a_signature_holds_for_its_own_fields_and_address_only(message):
    fields = {"MessageSid": "SM1", "MessageStatus": "sent"}
    good = smsstub.signature(f"http://localhost:8000{PATH}", fields)
    assert call({**fields, "MessageStatus": "delivered"}, signature=good).status_code == 403
    assert call(fields, path=f"{PATH}?text=1", signature=good).status_code == 403
    other = smsstub.signature(f"http://localhost:8000{PATH}", fields, token="another")
    assert call(fields, signature=other).status_code == 403


def test_it_cannot_be_asked_by_a_link():
    assert Client().get(PATH).status_code == 405


def test_where_no_service_calls_back_there_is_nothing_here(message, settings):
    settings.TEXT_GATEWAY = "console"
    assert receipt("delivered").status_code == 404


def test_a_stranger_who_keeps_trying_is_not_even_looked_at(message):
    client = Client()
    answers = [receipt("delivered", signature="x", client=client).status_code for _ in range(25)]
    assert answers == [403] * 20 + [429] * 5


def test_the_service_itself_is_never_slowed_down(message):
    assert {receipt("sent").status_code for _ in range(60)} == {204}


def test_a_call_of_a_huge_size_is_refused(message):
    assert receipt("x" * 20_000).status_code == 413


@pytest.mark.parametrize("query", ["?text=x", "?text=-1", "?text=9&again=x", f"?text={'9' * 400}", "?text=²"])
def test_nonsense_in_a_signed_address_is_no_crash(message, query):
    assert receipt("delivered", sid="SM7", path=PATH + query.replace("²", "%C2%B2")).status_code == 204
    assert state(message) == MessageState.SENT
