"""The evening before a day that will not work, dispatchers and the lead are told, once."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.engine.inputs import Finding, Severity
from scheduling.models import Message, PourState, ReminderKind, ReminderState
from scheduling.roles import Role
from scheduling.services import booking, evening, outbox, reminders
from scheduling.texting.segments import segments
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = pytest.mark.django_db

CHICAGO = ZoneInfo("America/Chicago")
HOUR = timedelta(hours=1)
# Half past four and nine in the evening of the Thursday, on the site's clock.
EVENING, BEDTIME = STARTS_AT - timedelta(hours=14, minutes=30), STARTS_AT - timedelta(hours=10)


def wet_hours():
    """A mild day with rain from nine to noon."""
    return tuple(
        replace(hour, rain_chance=0.8, rain_mm=2.0) if 2 <= (hour.at - STARTS_AT) / HOUR < 5 else hour
        for hour in factories.mild_hours()
    )


@pytest.fixture
def dispatcher():
    factories.company()
    factories.user(Role.OFFICE)
    return factories.user(Role.DISPATCHER)


def planned(hours, crew="Ash", **columns):
    site = factories.site(name="Mill Rd garage")
    factories.forecast(site, hours)
    made = factories.pour(site=site, crew=factories.crew(name=crew), **columns)
    factories.plan(made)
    return made


@pytest.fixture
def wet(dispatcher):
    return planned(wet_hours())


def evening_texts(now):
    """What is written at that moment about the next day."""
    before = set(Message.objects.values_list("pk", flat=True))
    reminders.send_due(now=now)
    return [text for text in Message.objects.exclude(pk__in=before) if text.body.startswith("TOMORROW")]


def test_dispatcher_and_lead_are_told_of_rain_the_evening_before(wet, dispatcher):
    row = wet.reminders.get(kind=ReminderKind.EVENING)
    assert (row.due_at, row.useful_until) == (EVENING, BEDTIME)
    to_dispatcher, to_lead = sorted(evening_texts(EVENING), key=lambda text: text.recipient_id)
    assert (to_dispatcher.recipient, to_lead.recipient) == (dispatcher, wet.crew.lead)
    assert to_dispatcher.body == (
        "TOMORROW Fri Aug 28 7am, Mill Rd garage, crew Ash: Rain 9am-noon: sheets at hand. "
        "Move it, or get ready for it."
    )
    assert to_lead.body == (
        "TOMORROW Fri Aug 28 7am, Mill Rd garage: Rain 9am-noon: sheets at hand. "
        "Load for it; call the office tonight if it should move."
    )
    assert max(segments(text.body) for text in (to_dispatcher, to_lead)) == 1


def test_they_are_told_once(wet):
    assert len(evening_texts(EVENING)) == 2
    factories.plan(wet, now=EVENING + HOUR)
    assert evening_texts(EVENING + HOUR) == []


def test_a_mild_tomorrow_is_not_worth_a_text(dispatcher):
    mild = planned(factories.mild_hours())
    assert not mild.reminders.filter(kind=ReminderKind.EVENING).exists()


def test_a_forecast_that_turns_in_the_evening_is_told_at_once_but_not_at_night(dispatcher):
    turning = planned(factories.mild_hours())
    factories.forecast(turning.job.site, wet_hours(), fetched_at=EVENING + 2 * HOUR)
    factories.plan(turning, now=EVENING + 2 * HOUR)
    assert len(evening_texts(EVENING + 2 * HOUR)) == 2
    late = planned(factories.mild_hours(), crew="Birch")
    factories.forecast(late.job.site, wet_hours(), fetched_at=BEDTIME)
    factories.plan(late, now=BEDTIME)
    assert not late.reminders.filter(kind=ReminderKind.EVENING).exists()


def test_a_forecast_that_clears_takes_the_warning_back(wet):
    factories.forecast(wet.job.site, fetched_at=NOW + HOUR)
    factories.plan(wet, now=NOW + HOUR)
    assert wet.reminders.get(kind=ReminderKind.EVENING).state == ReminderState.NOT_NEEDED
    assert evening_texts(EVENING) == []


def test_a_pour_still_on_hold_is_told_to_the_dispatcher_alone(dispatcher):
    # From a crew and a truck that came to forms nobody had released.
    held = planned(factories.mild_hours())
    booking.hold_pour(pour=held, version=held.version, by=dispatcher, now=NOW, reason="forms")
    (text,) = evening_texts(EVENING)
    assert text.recipient == dispatcher
    assert text.body == (
        "TOMORROW Fri Aug 28 7am: Mill Rd garage is still ON HOLD. Release it, or move it and tell "
        f"{held.plant.name}. Crew Ash is told not to go."
    )


def test_a_pour_released_in_time_is_not_told_of(dispatcher):
    held = planned(factories.mild_hours())
    booking.hold_pour(pour=held, version=held.version, by=dispatcher, now=NOW, reason="forms")
    held.refresh_from_db()
    booking.release_pour(pour=held, version=held.version, by=dispatcher, now=NOW + HOUR)
    assert evening_texts(EVENING) == []


def test_without_a_dispatcher_the_office_is_told():
    factories.company()
    office = factories.user(Role.OFFICE)
    planned(wet_hours())
    assert office in {text.recipient for text in evening_texts(EVENING)}


def test_a_pour_moved_after_the_warning_makes_it_stale(wet, dispatcher):
    evening_texts(EVENING)
    booking.move_pour(
        pour=wet, version=wet.version, starts_at=STARTS_AT + 26 * HOUR, by=dispatcher, now=EVENING,
        accept_clashes=True,
    )  # fmt: skip
    outbox.send_due(now=EVENING)
    assert {text.state for text in Message.objects.filter(body__startswith="TOMORROW")} == {"expired"}


def test_a_cancelled_pour_is_not_told_of(wet, dispatcher):
    booking.cancel_pour(pour=wet, version=wet.version, by=dispatcher, now=NOW, reason="rain")
    wet.refresh_from_db()
    assert wet.state == PourState.CANCELLED
    assert evening_texts(EVENING) == []


def test_what_stops_a_pour_is_grave_whatever_it_is_and_a_note_never():
    assert evening.is_grave(Finding(Severity.STOP, "plant_shut"))
    assert evening.is_grave(Finding(Severity.CAUTION, "rain"))
    assert not evening.is_grave(Finding(Severity.CAUTION, "crew_thin"))
    assert not evening.is_grave(Finding(Severity.NOTE, "heat_illness"))


def test_a_frozen_base_stops_and_is_told_the_evening_before(dispatcher):
    planned(factories.mild_hours(), base_c=-1.0)
    bodies = [text.body for text in evening_texts(EVENING)]
    assert any("STOP: base is frozen: no pour until it is thawed and read again." in body for body in bodies)
    assert any("STOP, call the office: base is frozen" in body for body in bodies)


@pytest.mark.parametrize("after_h", [20, 60])
def test_the_lead_is_told_the_afternoon_before_the_first_frost(dispatcher, after_h):
    # ACI 306R: a young slab is kept from its first freeze
    first_frost_at = STARTS_AT + timedelta(hours=after_h)
    hours = tuple(
        replace(hour, air_c=-2.0) if hour.at == first_frost_at else hour
        for hour in factories.mild_hours(hours=100)
    )
    pour = planned(hours)
    row = pour.reminders.get(kind=ReminderKind.FROST)
    assert row.useful_until == first_frost_at
    assert row.due_at.astimezone(CHICAGO).hour == 16
    assert timedelta() < first_frost_at - row.due_at <= timedelta(days=1)
    reminders.send_due(now=row.due_at)
    text = Message.objects.get(body__contains="Blankets on the whole slab today")
    assert text.recipient == pour.crew.lead
