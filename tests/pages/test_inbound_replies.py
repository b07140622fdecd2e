"""What people text, as the text service hands it over and as a stranger would."""

from urllib.parse import urlencode

import pytest
from django.test import Client

from scheduling.models import Reply
from scheduling.roles import Role
from tests import factories, smsstub

pytestmark = pytest.mark.django_db

PATH = "/texts/replies/"
TEXT = {"MessageSid": "SM1", "From": "+19135550121", "To": "+19135550100", "Body": "STOP"}


@pytest.fixture(autouse=True)
def lead(settings, db):
    settings.TEXT_GATEWAY = "twilio"
    settings.TWILIO_AUTH_TOKEN = smsstub.TOKEN
    factories.company()
    return factories.user(Role.CREW_LEAD, phone="+19135550121")


def hand_over(fields=TEXT, signed=None):
    signature = smsstub.signature(f"http://localhost:8000{PATH}", signed or fields)
    return Client(enforce_csrf_checks=True).post(
        PATH,
        urlencode(fields),
        content_type="application/x-www-form-urlencoded",
        headers={"X-Twilio-Signature": signature},
    )


def test_a_text_is_kept_and_answered_in_the_services_markup(lead):
    answer = hand_over()
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/xml")
    said = "Kaw Flatwork: you get no more texts from us. Reply START to get them again."
    assert f"<Response><Message>{said}</Message></Response>" in answer.content.decode()
    lead.refresh_from_db()
    assert lead.texts_stopped_at is not None


def test_what_needs_no_answer_gets_an_empty_one():
    assert "<Response />" in hand_over({**TEXT, "Body": "ok"}).content.decode()


def test_a_call_that_is_played_again_changes_nothing(lead):
    first, second = hand_over(), hand_over()
    assert first.content == second.content
    assert Reply.objects.count() == 1


def test_a_stop_played_again_after_start_does_not_stop_again(lead):
    hand_over()
    hand_over({**TEXT, "MessageSid": "SM2", "Body": "START"})
    hand_over()
    lead.refresh_from_db()
    assert lead.texts_stopped_at is None


def test_words_changed_on_the_way_are_refused(lead):
    assert hand_over({**TEXT, "Body": "START"}, signed=TEXT).status_code == 403
    assert Reply.objects.count() == 0


@pytest.mark.parametrize("sender", ["", "12345", "NINEBARK", "x" * 5000, "+1", "日本"])
def test_odd_senders_are_kept_for_a_person_and_are_no_crash(sender):
    assert hand_over({**TEXT, "From": sender, "Body": "hello"}).status_code == 200
    assert Reply.objects.get().needs_a_look


def test_odd_words_are_no_crash():
    for number, body in enumerate(["", "<b>&amp;</b>", "🙂" * 800, "' OR 1=1 --", "9" * 1600]):
        assert hand_over({**TEXT, "MessageSid": f"SM{number}", "Body": body}).status_code == 200
