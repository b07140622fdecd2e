"""Every text is sent at most once, only while it holds, and its end is written down."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import Message, MessageKind, MessageState, PourState
from scheduling.services import outbox
from scheduling.services.outbox import mark_lost, queue_message, send_due
from scheduling.texting.handover import Fault, TextFailed
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


class Recorder:
    """A gateway that keeps what it is given; what it is told to raise comes once for each text."""

    def __init__(self):
        self.sent = []
        self.faults = {}

    def send(self, *, phone, body, key, text, again):
        if body in self.faults:
            raise self.faults[body]
        self.sent.append((phone, body))
        return f"recorded-{len(self.sent)}"


@pytest.fixture(autouse=True)
def _clock_that_stands(monkeypatch):
    """A sweep takes no time here, so that moments can be compared."""
    monkeypatch.setattr(outbox.Sweep, "seconds", lambda sweep: 0.0)


@pytest.fixture
def gateway(monkeypatch):
    recorder = Recorder()
    monkeypatch.setattr(outbox, "gateway_named", lambda name: recorder)
    return recorder


def queued(body="Be there 6am.", *, recipient=None, pours=(), key=None, due_at=NOW, until=NOW + 4 * HOUR):
    return queue_message(
        key=key or body,
        kind=MessageKind.MORNING,
        recipient=recipient or factories.user(),
        body=body,
        due_at=due_at,
        useful_until=until,
        pours=pours,
        now=NOW,
    )


def states():
    return list(Message.objects.order_by("pk").values_list("state", flat=True))


def test_a_key_is_used_once(gateway):
    person = factories.user()
    assert queued("first", recipient=person, key="same")
    assert queued("second", recipient=person, key="same") is None
    assert [message.body for message in Message.objects.all()] == ["first"]


def test_a_text_that_another_worker_keeps_at_the_same_moment_is_not_kept_twice(monkeypatch):
    # The other worker's row appears after ours looked and before ours writes.
    person = factories.user()
    look = Message.objects.get_queryset().__class__.get
    other = []

    def too_early(self, *args, **kwargs):
        if not other:
            other.append("theirs")
            queued("theirs", recipient=person, key="same")
            raise Message.DoesNotExist
        return look(self, *args, **kwargs)

    monkeypatch.setattr(Message.objects.get_queryset().__class__, "get", too_early)
    assert queued("ours", recipient=person, key="same") is None
    assert [message.body for message in Message.objects.all()] == ["theirs"]


def test_the_table_itself_refuses_a_key_twice():
    message = queued("first", key="same")
    message.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        message.save(force_insert=True)


def test_sending_the_same_task_three_times_sends_one_text(gateway):
    queued()
    assert [send_due(now=NOW), send_due(now=NOW), send_due(now=NOW)] == [1, 0, 0]
    assert len(gateway.sent) == 1


def test_a_sent_text_carries_what_the_gateway_called_it(gateway):
    person = factories.user(phone="+19135550142")
    queued(recipient=person)
    send_due(now=NOW)
    message = Message.objects.get()
    assert gateway.sent == [("+19135550142", "Be there 6am.")]
    assert (message.state, message.gateway_key, message.sent_at) == (MessageState.SENT, "recorded-1", NOW)
    assert (str(message.phone), message.tries) == ("+19135550142", 1)


def test_a_text_is_not_sent_before_it_is_due(gateway):
    queued(due_at=NOW + HOUR)
    assert send_due(now=NOW + HOUR - timedelta(seconds=1)) == 0
    assert send_due(now=NOW + HOUR) == 1


def test_a_text_whose_time_has_passed_is_not_sent(gateway):
    queued(until=NOW + HOUR)
    send_due(now=NOW + HOUR)
    message = Message.objects.get()
    assert (message.state, gateway.sent) == (MessageState.EXPIRED, [])
    assert message.reason == "its time has passed."


def test_somebody_who_asked_for_no_texts_gets_none_and_no_attempt_is_made(gateway):
    person = factories.user(first_name="Ana", last_name="Ruiz", texts_stopped_at=NOW - HOUR)
    queued(recipient=person)
    send_due(now=NOW)
    send_due(now=NOW + HOUR)
    message = Message.objects.get()
    assert (message.state, gateway.sent) == (MessageState.WITHHELD, [])
    assert message.reason == "Ana Ruiz asked for no texts: phone instead"


def test_somebody_without_a_phone_is_named(gateway):
    person = factories.user(first_name="Ana", last_name="Ruiz", phone="")
    queued(recipient=person)
    send_due(now=NOW)
    message = Message.objects.get()
    assert (message.state, message.reason) == (MessageState.FAILED, "Ana Ruiz has no phone number")


def test_a_text_about_a_pour_that_changed_since_is_not_sent(gateway):
    pour, other = factories.pour(), factories.pour()
    queued(pours=[other, pour])
    pour.version += 1
    pour.save()
    send_due(now=NOW)
    message = Message.objects.get()
    assert (message.state, message.reason) == (MessageState.EXPIRED, "the pour changed since")
    assert gateway.sent == []


def test_a_text_about_a_cancelled_pour_is_not_sent(gateway):
    pour = factories.pour()
    queued(pours=[pour])
    pour.state = PourState.CANCELLED
    pour.save()
    send_due(now=NOW)
    assert states() == [MessageState.EXPIRED]


def test_a_text_about_a_pour_that_is_placed_meanwhile_still_goes(gateway):
    pour = factories.pour()
    queued(pours=[pour])
    pour.state = PourState.PLACED
    pour.save()
    assert send_due(now=NOW) == 1


def test_a_passing_fault_is_tried_again_later_and_later(gateway):
    queued("busy", until=NOW + 10 * HOUR)
    gateway.faults["busy"] = TextFailed("the service is busy", fault=Fault.PASSING)
    now, waits = NOW, []
    for _ in range(7):
        send_due(now=now)
        message = Message.objects.get()
        assert (message.state, message.reason) == (MessageState.QUEUED, "the service is busy")
        waits.append((message.next_try_at - now).total_seconds())
        now = message.next_try_at
    # Doubled each time up to a quarter of an hour, and up to half as much again drawn from the text's key.
    for wait, least in zip(waits, [30, 60, 120, 240, 480, 900, 900], strict=True):
        assert least <= wait <= 1.5 * least
    gateway.faults.clear()
    assert send_due(now=now) == 1
    message = Message.objects.get()
    assert (message.state, message.reason, message.tries) == (MessageState.SENT, "", 8)


def test_a_text_that_never_got_through_in_its_time_says_why(gateway):
    queued("busy", until=NOW + HOUR)
    gateway.faults["busy"] = TextFailed("the service is busy", fault=Fault.PASSING)
    send_due(now=NOW)
    send_due(now=NOW + HOUR)
    assert Message.objects.get().reason == "its time has passed. the service is busy"


def test_a_lasting_fault_is_not_tried_again(gateway):
    queued("wrong number")
    gateway.faults["wrong number"] = TextFailed("no such number" + "." * 400, fault=Fault.LASTING)
    send_due(now=NOW)
    gateway.faults.clear()
    assert send_due(now=NOW + HOUR) == 0
    message = Message.objects.get()
    assert message.state == MessageState.FAILED
    assert message.reason.startswith("no such number")
    assert len(message.reason) == 300


@pytest.mark.parametrize(
    "fault",
    [
        TextFailed("no such number", fault=Fault.LASTING),
        TextFailed("busy", fault=Fault.PASSING),
        RuntimeError("bug"),
    ],
)
def test_one_bad_text_never_stops_the_next(gateway, fault):
    for body in ("good", "bad", "good too"):
        queued(body)
    gateway.faults["bad"] = fault
    assert send_due(now=NOW) == 2
    assert [body for _, body in gateway.sent] == ["good", "good too"]


def test_a_row_that_cannot_be_worked_through_never_stops_the_next(gateway, monkeypatch):
    for body in ("good", "bad", "good too"):
        queued(body)
    check = outbox._reason_to_keep_back

    def broken(message, now):
        if message.body == "bad":
            raise RuntimeError("the row is broken")
        return check(message, now)

    monkeypatch.setattr(outbox, "_reason_to_keep_back", broken)
    assert send_due(now=NOW) == 2
    assert states() == [MessageState.SENT, MessageState.SENDING, MessageState.SENT]


def test_a_gateway_that_breaks_leaves_the_text_for_a_person_to_decide(gateway):
    queued("perhaps")
    gateway.faults["perhaps"] = ConnectionResetError("cut off while waiting for the answer")
    send_due(now=NOW)
    assert send_due(now=NOW + HOUR) == 0
    message = Message.objects.get()
    assert message.state == MessageState.UNKNOWN
    assert "cut off" in message.reason


def test_two_sweeps_of_fifty_texts_send_fifty(gateway, monkeypatch):
    """The second sweep runs whole while the first is at its first text, after it has read what is due."""
    for number in range(50):
        queued(f"text {number}")
    send_one = outbox._send
    second = []

    def interleaved(pk, sweep, **how):
        if not second:
            second.append(None)
            second[0] = send_due(now=NOW)
        return send_one(pk, sweep, **how)

    monkeypatch.setattr(outbox, "_send", interleaved)
    first = send_due(now=NOW)
    assert (first, second) == (0, [50])
    assert sorted(body for _, body in gateway.sent) == sorted(f"text {number}" for number in range(50))


def test_a_lost_claim_sends_nothing(gateway):
    message = queued()
    Message.objects.filter(pk=message.pk).update(state=MessageState.SENDING, claimed_at=NOW)
    assert outbox._send(message.pk, outbox.Sweep(gateway, NOW), is_urgent=False) is False
    assert gateway.sent == []


def test_a_sweep_is_bounded(gateway):
    for number in range(5):
        queued(f"text {number}", due_at=NOW - timedelta(minutes=5 - number))
    assert send_due(now=NOW, limit=3) == 3
    assert [body for _, body in gateway.sent] == ["text 0", "text 1", "text 2"]


def test_a_sweep_leaves_the_rest_to_the_next_when_the_gateway_is_slow(gateway, monkeypatch):
    for number in range(4):
        queued(f"text {number}")
    monkeypatch.setattr(outbox.Sweep, "seconds", lambda sweep: 30.5 * len(gateway.sent))
    assert send_due(now=NOW) == 2
    assert states() == [MessageState.SENT] * 2 + [MessageState.QUEUED] * 2


@pytest.mark.parametrize(("age_s", "state"), [(300, MessageState.SENDING), (301, MessageState.UNKNOWN)])
def test_a_text_in_sending_for_more_than_five_minutes_is_marked_unknown(age_s, state):
    message = queued()
    claimed = Message.objects.filter(pk=message.pk)
    claimed.update(state=MessageState.SENDING, claimed_at=NOW - timedelta(seconds=age_s))
    mark_lost(now=NOW)
    assert Message.objects.get().state == state


def test_a_text_that_is_perhaps_sent_is_never_sent_again(gateway):
    message = queued(until=NOW + 10 * HOUR)
    claimed = Message.objects.filter(pk=message.pk)
    claimed.update(state=MessageState.SENDING, claimed_at=NOW - HOUR)
    assert mark_lost(now=NOW) == 1
    assert send_due(now=NOW) == send_due(now=NOW + HOUR) == 0
    assert "ask before sending again" in Message.objects.get().reason


def test_a_worker_that_comes_back_late_from_the_gateway_still_notes_that_it_sent(gateway, monkeypatch):
    queued()

    class Slow(Recorder):
        def send(self, **text):
            assert mark_lost(now=NOW + timedelta(minutes=6)) == 1
            return super().send(**text)

    monkeypatch.setattr(outbox, "gateway_named", lambda name: Slow())
    assert send_due(now=NOW) == 1
    assert states() == [MessageState.SENT]


def test_a_text_sent_again_by_a_person_is_not_touched_by_the_worker_that_lost_it(gateway):
    """The person put it back into the queue while the first worker still waited for its gateway."""
    queued()

    class Slow(Recorder):
        def send(self, **text):
            Message.objects.update(state=MessageState.QUEUED, claimed_at=None)
            return super().send(**text)

    outbox._send(Message.objects.get().pk, outbox.Sweep(Slow(), NOW), is_urgent=False)
    assert states() == [MessageState.QUEUED]


def test_the_gateway_of_the_settings_is_used(capsys):
    queued("Printed on the console.")
    assert send_due(now=NOW) == 1
    assert "Printed on the console." in capsys.readouterr().out


def test_a_waiting_text_can_be_withdrawn_and_one_on_its_way_cannot(gateway):
    first, second = queued("first"), queued("second")
    Message.objects.filter(pk=second.pk).update(state=MessageState.SENDING)
    assert outbox.withdraw(message=first, reason="the day changed")
    assert not outbox.withdraw(message=second, reason="the day changed")
    assert states() == [MessageState.EXPIRED, MessageState.SENDING]
    assert send_due(now=NOW) == 0
