"""Not to go, not to pour, and word to dispatch: such texts go first, and nothing holds them."""

from datetime import timedelta

import pytest

from scheduling.models import Message, MessageKind, MessageState, PourState
from scheduling.roles import Role
from scheduling.services import booking, forecasts, morning, outbox, reminders
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = pytest.mark.django_db

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
POUR_AT = STARTS_AT + 3 * HOUR  # ten on the site's clock
TEXT_AT = STARTS_AT - 90 * MINUTE  # half past five there
NIGHT = STARTS_AT - 9 * HOUR  # ten in the evening there, in the quiet hours
EVENING = STARTS_AT - timedelta(hours=14, minutes=30)


class Recorder:
    """A gateway that keeps what it is given, in order."""

    def __init__(self):
        self.bodies = []

    def send(self, *, phone, body, key, text, again):
        self.bodies.append(body)
        return f"recorded-{len(self.bodies)}"


@pytest.fixture
def gateway(monkeypatch):
    recorder = Recorder()
    monkeypatch.setattr(outbox, "gateway_named", lambda name: recorder)
    monkeypatch.setattr(outbox.Sweep, "seconds", lambda sweep: 0.0)
    return recorder


@pytest.fixture
def lead():
    return factories.user(Role.CREW_LEAD)


def queued(recipient, body, kind=MessageKind.REMINDER, due_at=NOW, **how):
    return outbox.queue_message(
        key=body,
        kind=kind,
        recipient=recipient,
        body=body,
        due_at=due_at,
        useful_until=NOW + 9 * HOUR,
        pours=(),
        now=NOW,
        **how,
    )


# --- in the outbox ----------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [MessageKind.CALL_OFF, MessageKind.DISPATCH])
def test_a_call_off_and_word_to_dispatch_are_urgent_by_their_kind(lead, kind):
    assert queued(lead, "do not go", kind).is_urgent
    assert not queued(lead, "cut from 1pm").is_urgent


def test_an_urgent_text_goes_before_all_that_is_due_longer(lead, gateway):
    for number in range(5):
        queued(lead, f"text {number}", due_at=NOW - HOUR)
    queued(lead, "do not go", MessageKind.CALL_OFF)
    assert outbox.send_due(now=NOW, limit=1) == 1
    assert gateway.bodies == ["do not go"]


def test_the_brake_on_one_person_holds_no_urgent_text(lead, gateway, settings):
    settings.TEXTS_A_PERSON_AN_HOUR = 2
    for number in range(4):
        queued(lead, f"text {number}")
    outbox.send_due(now=NOW)
    queued(lead, "do not go", MessageKind.CALL_OFF)
    queued(lead, "stop the pour", is_urgent=True)
    assert outbox.send_due(now=NOW + MINUTE) == 2
    assert gateway.bodies == ["text 0", "text 1", "do not go", "stop the pour"]


def test_the_brake_on_all_holds_no_urgent_text(lead, gateway, settings):
    settings.TEXTS_A_MINUTE = 3
    for number in range(5):
        queued(factories.user(), f"text {number}")
    now = NOW.replace(second=1)
    assert outbox.send_due(now=now) == 3
    for number in range(4):
        queued(lead, f"do not go {number}", MessageKind.CALL_OFF)
    assert outbox.send_due(now=now) == 4
    assert gateway.bodies[3:] == [f"do not go {number}" for number in range(4)]
    # The others wait for the next minute as before.
    assert Message.objects.filter(state=MessageState.QUEUED).count() == 2
    assert outbox.send_due(now=now + MINUTE) == 2


def test_urgent_texts_count_against_the_minute_for_the_others(lead, gateway, settings):
    settings.TEXTS_A_MINUTE = 3
    for number in range(2):
        queued(lead, f"do not go {number}", MessageKind.CALL_OFF)
    for number in range(3):
        queued(factories.user(), f"text {number}")
    outbox.send_due(now=NOW.replace(second=1))
    assert gateway.bodies == ["do not go 0", "do not go 1", "text 0"]


# --- which are written as such ----------------------------------------------------------------


def planned(**columns):
    factories.company()
    site = factories.site(name="Mill Rd garage")
    factories.forecast(site)
    made = factories.pour(site=site, crew=factories.crew(), starts_at=POUR_AT, **columns)
    factories.plan(made)
    return made


@pytest.mark.parametrize(
    ("columns", "is_urgent"),
    [({}, False), ({"state": PourState.ON_HOLD}, True), ({"base_c": -1.0}, True)],
)
def test_a_morning_text_is_urgent_where_its_crew_must_not_go_or_not_pour(columns, is_urgent):
    planned(**columns)
    assert morning.write_due(now=TEXT_AT) == 1
    text = Message.objects.get(kind=MessageKind.MORNING)
    assert text.is_urgent is is_urgent
    assert ("do not go" in text.body or "STOP" in text.body) is is_urgent


def test_the_evenings_warning_of_a_stop_is_urgent_and_the_days_other_reminders_are_not():
    pour = planned(base_c=-1.0)
    factories.user(Role.DISPATCHER)
    reminders.send_due(now=EVENING)
    warnings = Message.objects.filter(reminder__kind="evening")
    assert {text.is_urgent for text in warnings} == {True}
    for due_at in pour.reminders.filter(kind__in=("finish", "cure")).values_list("due_at", flat=True):
        reminders.send_due(now=due_at)
    later = Message.objects.filter(reminder__kind__in=("finish", "cure"))
    assert {text.is_urgent for text in later} == {False}


def told_a_night_pour():
    """A pour at ten of which its lead was told in a text sent the day before."""
    pour = planned(method="boom_pump")
    with_text = outbox.queue_message(
        key="told",
        kind=MessageKind.MORNING,
        recipient=pour.crew.lead,
        body="Be there 9am.",
        due_at=NIGHT - HOUR,
        useful_until=POUR_AT,
        pours=[pour],
        now=NIGHT - HOUR,
    )
    assert with_text
    Message.objects.filter(key="told").update(state=MessageState.SENT)
    return pour


def change_by_weather(pour, **told):
    kept = factories.forecast(pour.job.site, factories.mild_hours(**told), fetched_at=NIGHT)
    kept.provider = "nws"
    kept.save()
    assert forecasts.plan_with_newest(now=NIGHT) == 1
    return Message.objects.get(kind=MessageKind.CHANGE)


def test_new_weather_in_the_night_waits_for_the_morning(gateway):
    text = change_by_weather(told_a_night_pour(), air_c=33.0)
    assert (text.is_urgent, text.due_at) == (False, STARTS_AT - 3 * HOUR)
    assert outbox.send_due(now=NIGHT) == 0
    assert outbox.send_due(now=STARTS_AT - 3 * HOUR) == 1


def test_new_weather_that_stops_a_pour_wakes_its_lead(gateway):
    # Gusts of 13 m/s are the limit of a common boom (from memory).
    text = change_by_weather(told_a_night_pour(), wind_10m_m_s=16.0, gust_10m_m_s=22.0)
    assert "STOP" in text.body
    assert (text.is_urgent, text.due_at) == (True, NIGHT)
    assert outbox.send_due(now=NIGHT) == 1


def test_a_warning_that_becomes_a_stop_is_told_as_one(gateway):
    pour = told_a_night_pour()
    change_by_weather(pour, wind_10m_m_s=8.0, gust_10m_m_s=11.0)  # over what is watched, under the limit
    Message.objects.filter(kind=MessageKind.CHANGE).update(state=MessageState.SENT)
    kept = factories.forecast(
        pour.job.site,
        factories.mild_hours(wind_10m_m_s=8.0, gust_10m_m_s=22.0),
        fetched_at=NIGHT + MINUTE,
    )
    kept.provider = "nws"
    kept.save()
    forecasts.plan_with_newest(now=NIGHT + MINUTE)
    warned, stopped = Message.objects.filter(kind=MessageKind.CHANGE).order_by("pk")
    assert not warned.is_urgent
    assert stopped.is_urgent
    assert "STOP, call the office: too windy for the boom" in stopped.body


def move(pour, starts_at, now):
    pour.refresh_from_db()
    booking.move_pour(
        pour=pour,
        version=pour.version,
        starts_at=starts_at,
        by=factories.user(),
        now=now,
        accept_clashes=True,
    )
    return Message.objects.exclude(key="told").filter(kind=MessageKind.CHANGE).order_by("pk").last()


def test_a_pour_moved_in_the_night_is_told_when_its_lead_is_up(gateway):
    text = move(told_a_night_pour(), POUR_AT + 2 * HOUR, NIGHT)
    assert text.due_at == STARTS_AT - 3 * HOUR  # four on the site's clock, the end of the quiet hours
    assert outbox.send_due(now=NIGHT) == 0


def test_a_pour_brought_forward_into_the_early_morning_is_told_at_once(gateway):
    # Called at half past four: an hour after the quiet hours end is too late.
    text = move(told_a_night_pour(), STARTS_AT - 90 * MINUTE, NIGHT)
    assert text.due_at == NIGHT
    assert outbox.send_due(now=NIGHT) == 1


def test_a_pour_moved_by_day_is_told_at_once(gateway):
    assert move(told_a_night_pour(), POUR_AT + 2 * HOUR, TEXT_AT).due_at == TEXT_AT


@pytest.mark.parametrize("verb", [booking.hold_pour, booking.cancel_pour])
def test_hold_and_call_off_wake_the_lead(gateway, verb):
    pour = told_a_night_pour()
    verb(pour=pour, version=pour.version, by=factories.user(), now=NIGHT, reason="no permit")
    text = Message.objects.get(kind=MessageKind.CALL_OFF)
    assert (text.is_urgent, text.due_at) == (True, NIGHT)
    assert outbox.send_due(now=NIGHT) == 1
