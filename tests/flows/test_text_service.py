"""A text on its whole way: out to the service, receipts back in, the answer to it, and word to dispatch."""

import time
from datetime import timedelta

import pytest
from django.utils import timezone

from scheduling.models import Answer, Message, MessageKind, MessageState, Reply
from scheduling.roles import Role
from scheduling.services import outbox
from tests import factories, smsstub

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def service(live_server, settings):
    """A stand-in that calls back at the live server, each receipt twice and out of order."""
    desk = smsstub.Desk(receipts=("delivered", "sent", "delivered", "sent"))
    with smsstub.running(desk) as address:
        settings.PUBLIC_URL = live_server.url
        settings.TEXT_GATEWAY = "twilio"
        settings.TWILIO_ACCOUNT_SID = "AC" + "0" * 32
        settings.TWILIO_AUTH_TOKEN = desk.token
        settings.TWILIO_FROM = "+19135550100"
        settings.TWILIO_API_URL = address
        yield desk


def wait_for(state, message):
    """Receipts come when they come."""
    for _ in range(200):
        message.refresh_from_db()
        if message.state == state:
            return
        time.sleep(0.05)
    pytest.fail(f"The text stayed {message.state}.")


def test_a_text_goes_is_delivered_and_answered(service, live_server):
    factories.company()
    factories.user(Role.DISPATCHER)
    lead = factories.user(Role.CREW_LEAD, first_name="Petra", last_name="Voss")
    now = timezone.now()
    message = factories.message(
        lead, made_at=now, due_at=now, next_try_at=now, useful_until=now + timedelta(hours=2)
    )
    assert outbox.send_due(now=now) == 1
    wait_for(MessageState.DELIVERED, message)
    reply = {"MessageSid": "SM-in", "From": str(lead.phone), "Body": "Sí. Gracias"}
    assert smsstub.post_signed(f"{live_server.url}/texts/replies/", reply) == 200
    message.refresh_from_db()
    assert (message.answer, Reply.objects.get().message) == (Answer.YES, message)
    late = {**reply, "MessageSid": "SM-in-2", "Body": "20 tarde"}
    assert smsstub.post_signed(f"{live_server.url}/texts/replies/", late) == 200
    outbox.send_due(now=timezone.now())
    told = Message.objects.get(kind=MessageKind.DISPATCH)
    wait_for(MessageState.DELIVERED, told)
    assert f"Petra Voss ({lead.phone}) runs 20 min late" in {taken.body for taken in service.taken}
