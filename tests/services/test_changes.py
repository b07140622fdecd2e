"""New weather that changes a plan: who is told what, and who is not."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import EventKind, Message, MessageKind, MessageState, PourState
from scheduling.services import booking, changes, forecasts, morning, outbox
from tests import factories
from tests.factories import STARTS_AT

pytestmark = pytest.mark.django_db

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
POUR_AT = STARTS_AT + 3 * HOUR  # ten on the site's clock
TEXT_AT = STARTS_AT - 90 * MINUTE  # half past five there
LATER = TEXT_AT + 30 * MINUTE


@pytest.fixture
def pour():
    factories.company()
    site = factories.site(name="Mill Rd garage")
    weather(site, TEXT_AT - HOUR, 20.0)
    made = factories.pour(site=site, crew=factories.crew(), starts_at=POUR_AT)
    factories.plan(made, now=TEXT_AT - HOUR)
    return made


def weather(site, at, air_c=20.0, **told):
    kept = factories.forecast(site, factories.mild_hours(air_c=air_c, **told), fetched_at=at)
    kept.provider = "nws"
    kept.save()


def morning_text(pour, send=True):
    assert morning.write_due(now=TEXT_AT) == 1
    if send:
        assert outbox.send_due(now=TEXT_AT) == 1


def new_weather(pour, air_c, at=LATER, **told):
    weather(pour.job.site, at, air_c, **told)
    assert forecasts.plan_with_newest(now=at) == 1
    pour.refresh_from_db()


def changed_texts():
    return list(Message.objects.filter(kind=MessageKind.CHANGE).order_by("pk"))


def noted(pour):
    return list(pour.events.filter(kind=EventKind.WEATHER_CHANGED))


def test_a_lead_who_has_the_morning_text_is_told_what_changed(pour):
    morning_text(pour)
    new_weather(pour, 33.0)
    (text,) = changed_texts()
    assert text.recipient == pour.crew.lead
    assert text.body.startswith("Mill Rd garage: new weather.")
    assert "Trowel from " in text.body
    assert "(was " in text.body
    assert "Be there" not in text.body
    assert (text.state, text.due_at) == (MessageState.QUEUED, LATER)
    assert outbox.send_due(now=LATER) == 1


def test_the_version_of_the_pour_stays_so_that_no_text_about_it_is_dropped(pour):
    morning_text(pour, send=False)
    new_weather(pour, 33.0)
    assert pour.version == 1
    assert outbox.send_due(now=LATER) == 2


def test_the_office_sees_the_change_in_the_pours_record(pour):
    new_weather(pour, 33.0)
    (event,) = noted(pour)
    assert (event.by, event.at, event.facts["plan"]) == (None, LATER, pour.plan.number)
    assert "Trowel from " in event.facts["reason"]


def test_a_lead_who_has_no_text_yet_gets_none_about_a_change(pour):
    new_weather(pour, 33.0, at=TEXT_AT - 30 * MINUTE)
    assert changed_texts() == []
    assert noted(pour)


def test_a_small_change_is_planned_silently(pour):
    morning_text(pour)
    number = pour.plan.number
    new_weather(pour, 20.5)
    assert pour.plan.number == number + 1
    assert changed_texts() == []
    assert noted(pour) == []


def test_many_small_changes_in_a_row_are_told_once_they_come_to_something(pour):
    morning_text(pour)
    airs = [19.0, 18.0, 17.0, 16.0, 15.0, 14.0]
    told_at = []
    for n, air_c in enumerate(airs):
        new_weather(pour, air_c, at=LATER + n * MINUTE)
        outbox.send_due(now=LATER + n * MINUTE)
        told_at += [air_c] * (len(changed_texts()) - len(told_at))
    assert told_at[0] == 18.0
    assert len(told_at) < len(airs) / 2 + 1


def test_the_same_weather_again_is_not_told_again(pour):
    morning_text(pour)
    new_weather(pour, 33.0)
    outbox.send_due(now=LATER)
    new_weather(pour, 33.0, at=LATER + HOUR)
    assert len(changed_texts()) == 1


def test_a_change_not_sent_yet_gives_way_to_a_newer_one(pour):
    morning_text(pour)
    new_weather(pour, 33.0)
    new_weather(pour, 8.0, at=LATER + MINUTE)
    first, second = changed_texts()
    assert (first.state, second.state) == (MessageState.EXPIRED, MessageState.QUEUED)
    assert first.reason == "the weather changed again before it was sent"


def test_a_change_not_sent_yet_is_taken_back_when_the_weather_turns_back(pour):
    morning_text(pour)
    new_weather(pour, 33.0)
    new_weather(pour, 20.0, at=LATER + MINUTE)
    (text,) = changed_texts()
    assert text.state == MessageState.EXPIRED


def test_rain_that_comes_up_is_told_and_so_is_rain_that_goes(pour):
    morning_text(pour)
    new_weather(pour, 20.0, rain_chance=0.8, rain_mm=2.0)
    outbox.send_due(now=LATER)
    new_weather(pour, 20.0, at=LATER + HOUR)
    up, gone = changed_texts()
    assert "Rain " in up.body
    assert "No longer: rain" in gone.body


@pytest.mark.parametrize("state", [MessageState.FAILED, MessageState.WITHHELD, MessageState.EXPIRED])
def test_a_lead_the_morning_text_never_reached_holds_no_numbers(pour, state):
    morning_text(pour, send=False)
    Message.objects.update(state=state)
    new_weather(pour, 33.0)
    assert changed_texts() == []


def test_a_pour_on_hold_makes_no_text(pour):
    morning_text(pour)
    type(pour).objects.update(state=PourState.ON_HOLD)
    new_weather(pour, 33.0)
    assert changed_texts() == []


def test_a_lead_whose_text_was_written_while_the_plan_changed_is_told_at_the_next_turn(pour):
    new_weather(pour, 33.0, at=TEXT_AT - MINUTE)
    old = pour.plans.order_by("number").first()
    morning_text(pour)
    text = Message.objects.get()
    text.about.update(plan=old)
    assert changes.tell_late(now=LATER) == 1
    assert changes.tell_late(now=LATER) == 0
    assert len(changed_texts()) == 1


def test_weather_handed_in_by_a_person_is_told_too(pour):
    morning_text(pour)
    weather(pour.job.site, LATER, 33.0)
    booking.replan_pour(pour=pour, version=1, by=factories.user(), now=LATER)
    assert len(changed_texts()) == 1
    assert noted(pour)[0].by is not None


def test_a_plan_of_an_older_program_that_cannot_be_compared_does_not_hold_up_the_new_one(pour, caplog):
    morning_text(pour)
    type(pour.plan).objects.filter(pk=pour.plan_id).update(result={"findings": []})
    new_weather(pour, 33.0)
    assert pour.plan.number == 2
    assert changed_texts() == []
    assert "cannot be compared" in caplog.text


@pytest.mark.parametrize(
    ("hours_ahead", "by_min", "is_told"),
    [(2, 29, False), (2, 30, True), (2, -30, True), (5, 30, True), (10, 59, False), (10, 60, True)],
)
def test_half_an_hour_is_worth_telling_and_of_what_is_far_off_a_tenth_of_the_way(
    hours_ahead, by_min, is_told
):
    # Our choice.
    was = POUR_AT + hours_ahead * HOUR
    assert changes._moved(was, was + by_min * MINUTE, POUR_AT) is is_told


def test_an_hour_that_comes_twice_on_the_sites_clock_is_an_hour_all_the_same():
    # New York, 2026-11-01: after 1:59 in summer time comes 1:00 in standard time (tz database).
    zone = ZoneInfo("America/New_York")
    start = datetime(2026, 10, 31, 23, 0, tzinfo=zone)
    was, is_now = (datetime(2026, 11, 1, 1, 30, tzinfo=zone, fold=fold) for fold in (0, 1))
    assert changes._moved(was, is_now, start)
    assert not changes._moved(was, was, start)
