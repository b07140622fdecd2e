"""Twilio's own client against a stand-in that answers as the service does."""

import socket

import pytest
from django.urls import resolve

from scheduling.texting import twilio_sms
from scheduling.texting.handover import Fault, PerhapsSent, TextFailed
from scheduling.texting.twilio_sms import TwilioGateway

PHONE = "+19135550142"
TEXT = {"phone": PHONE, "body": "Be there 6am.", "key": "morning:3:2026-08-28:1#0", "text": 7, "again": 1}


def failure(**text):
    with pytest.raises(TextFailed) as failed:
        TwilioGateway().send(**{**TEXT, **text})
    return failed.value


def test_a_text_goes_with_its_key_and_the_address_of_its_receipts(service, desk, settings):
    settings.PUBLIC_URL = "https://pours.example"
    sid = TwilioGateway().send(**TEXT)
    taken = desk.taken[0]
    assert (taken.sid, taken.to, taken.body) == (sid, PHONE, "Be there 6am.")
    assert taken.key == "morning:3:2026-08-28:1#0"
    assert taken.callback == "https://pours.example/texts/receipts/?text=7&again=1"


def test_the_address_of_receipts_is_one_that_answers():
    assert resolve(twilio_sms.RECEIPTS_PATH).url_name == "text-receipts"


def test_a_messaging_service_may_stand_in_place_of_a_number(service, desk, settings):
    settings.TWILIO_FROM = "MG" + "a" * 32
    TwilioGateway().send(**TEXT)
    assert len(desk.taken) == 1


# Codes and statuses as Twilio's documentation of its errors gives them.
@pytest.mark.parametrize(
    ("plan", "fault", "wait_s"),
    [
        ("busy", Fault.PASSING, 120),
        ("overloaded", Fault.PASSING, 0),
        ("broken", Fault.PASSING, None),
        ("wrong token", Fault.PASSING, None),
        ("bad number", Fault.BAD_NUMBER, None),
        ("opted out", Fault.OPTED_OUT, None),
        ("empty", Fault.LASTING, None),
    ],
)
def test_every_way_to_fail_says_what_to_do_next(service, desk, plan, fault, wait_s):
    desk.plans[PHONE] = [plan]
    failed = failure()
    assert (failed.fault, failed.wait_s) == (fault, wait_s)
    assert desk.taken == []
    assert TwilioGateway().send(**TEXT) == desk.taken[0].sid


@pytest.mark.parametrize("plan", ["slow", "hang up", "bad gateway"])
def test_where_nobody_can_tell_whether_it_was_taken_it_is_perhaps_sent(service, desk, monkeypatch, plan):
    desk.plans[PHONE] = [plan]
    monkeypatch.setattr(twilio_sms, "ANSWER_S", 0.2)
    with pytest.raises(PerhapsSent):
        TwilioGateway().send(**TEXT)


def test_a_service_that_is_not_there_has_taken_nothing(service, settings):
    with socket.create_server(("127.0.0.1", 0)) as closed:
        settings.TWILIO_API_URL = f"http://127.0.0.1:{closed.getsockname()[1]}"
    failed = failure()
    assert (failed.fault, failed.message) == (Fault.PASSING, "the text service could not be reached")


def test_a_wait_longer_than_an_hour_is_an_hour():
    assert twilio_sms.asked_wait_s({"retry-after": "86400"}) == 3600
    assert twilio_sms.asked_wait_s({"Retry-After": "Wed, 21 Oct 2026 07:28:00 GMT"}) == 0


def test_no_sentence_about_a_failure_holds_the_token(service, desk):
    desk.plans[PHONE] = ["wrong token"]
    assert desk.token not in failure().message
