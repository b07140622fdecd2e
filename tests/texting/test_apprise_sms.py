"""A service of Apprise's against a stand-in that answers as that service does."""

import logging
import threading

import pytest

from scheduling.texting.apprise_sms import AppriseGateway, told_by_this_thread
from scheduling.texting.handover import Fault, PerhapsSent, TextFailed

PHONE = "+19135550142"
DIGITS = "19135550142"  # as this service is told
TEXT = {"phone": PHONE, "body": "Be there 6am.", "key": "morning:1#0", "text": 7, "again": 0}


@pytest.fixture
def eagle(service, settings):
    """SMSEagle, a service that stands in the office and so has an address of its own."""
    settings.TEXT_APPRISE_URL = service.replace("http://", "smseagle://a-token@") + "/{phone}"
    settings.TEXT_GATEWAY = "apprise"


def test_a_text_goes_by_the_service_its_address_names(eagle, desk):
    assert AppriseGateway().send(**TEXT).startswith("apprise-")
    (taken,) = desk.taken
    assert taken.to.lstrip("+") == DIGITS
    assert taken.body == "Be there 6am."


@pytest.mark.parametrize(
    ("plan", "fault"),
    [("busy", Fault.PASSING), ("broken", Fault.PASSING), ("bad number", Fault.LASTING)],
)
def test_a_refusal_is_tried_again_where_that_may_help(eagle, desk, plan, fault):
    desk.plans = {PHONE: [plan], DIGITS: [plan]}
    with pytest.raises(TextFailed) as failed:
        AppriseGateway().send(**TEXT)
    assert failed.value.fault == fault


@pytest.mark.parametrize("plan", ["hang up", "bad gateway"])
def test_where_nobody_can_tell_whether_it_was_taken_it_is_perhaps_sent(eagle, desk, plan):
    desk.plans = {PHONE: [plan], DIGITS: [plan]}
    with pytest.raises(PerhapsSent):
        AppriseGateway().send(**TEXT)


def test_a_number_the_service_cannot_text_is_a_lasting_fault(settings):
    settings.TEXT_APPRISE_URL = "no-such-service://{phone}"
    with pytest.raises(TextFailed) as failed:
        AppriseGateway().send(**TEXT)
    assert failed.value.fault == Fault.LASTING


def test_what_another_thread_is_told_meanwhile_is_not_taken_for_ones_own():
    other = threading.Thread(target=logging.getLogger("apprise").warning, args=("error=400",))
    with told_by_this_thread() as told:
        other.start()
        other.join()
        logging.getLogger("apprise").warning("error=503")
    assert told == ["error=503"]
