# ruff: noqa: F811 (fixtures of another module)
"""Alarms that somebody must see, and slabs that nobody may leave alone."""

from datetime import timedelta

import pytest

from scheduling.errors import OutOfDate
from scheduling.models import Alarm, Company, Message, NoteKind, ReminderKind
from scheduling.roles import Role
from scheduling.services import alarms, live, reminders
from scheduling.services.slabnow import slab_now
from tests import factories
from tests.services.test_live import START, lead, note, pour, second_is_overdue, truck  # noqa: F401

pytestmark = [pytest.mark.django_db, pytest.mark.database]

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


def texts(holding, to=None):
    found = Message.objects.filter(body__contains=holding)
    return found.filter(recipient=to) if to else found


@pytest.fixture
def dispatcher():
    return factories.user(Role.DISPATCHER)


@pytest.fixture
def missing(pour, lead, dispatcher):
    """The second truck is missing since now."""
    truck(pour, lead, 1, arrived=0, started=0, empty=20)
    now = second_is_overdue(pour)
    live.watch(now=now)
    return now


# --- seen within five minutes or passed on ----------------------------------------------------


def test_an_alarm_nobody_sees_is_passed_on_after_five_minutes_and_once(pour, lead, missing):
    office = factories.user(Role.OFFICE)
    other = factories.plant(name="River plant", loading_min=5, usual_haul_min=40)
    live.watch(now=missing + 4 * MINUTE)
    assert not texts("NOBODY SEES TO IT")
    live.watch(now=missing + 5 * MINUTE)
    live.watch(now=missing + 6 * MINUTE)
    for person in (office, lead):
        told = texts("NOBODY SEES TO IT: ", to=person).filter(body__contains="Load 2").get()
        assert f"Another plant: River plant, {other.phone}, 45 min at least." in told.body
        assert "No concrete has come for" in told.body
        assert "the edge knits until" in told.body


def test_an_alarm_that_was_seen_goes_no_further(pour, dispatcher, missing):
    for alarm in Alarm.objects.filter(pour=pour):
        alarms.acknowledge(alarm=alarm, by=dispatcher, now=missing + MINUTE)
    before = set(Alarm.objects.filter(pour=pour).values_list("pk", flat=True))
    live.watch(now=missing + 6 * MINUTE)
    passed = Alarm.objects.filter(passed_on_at__isnull=False)
    assert not passed.filter(pk__in=before)


def test_of_two_who_see_it_the_second_is_told(pour, dispatcher, missing):
    alarm = Alarm.objects.filter(pour=pour).first()
    alarms.acknowledge(alarm=alarm, by=dispatcher, now=missing)
    with pytest.raises(OutOfDate):
        alarms.acknowledge(alarm=alarm, by=dispatcher, now=missing)
    alarm.refresh_from_db()
    assert (alarm.acknowledged_by, alarm.acknowledged_at) == (dispatcher, missing)


# --- people short -----------------------------------------------------------------------------


def test_people_short_are_told_five_minutes_after_the_call_and_trucks_to_hold_are_proposed(
    pour,
    lead,
    dispatcher,
):
    call_at = pour.plan.call_at
    key = {"key": "people", "kind": NoteKind.PEOPLE_THERE, "people": 2}
    live.note(pour=pour, by=lead, happened_at=call_at, now=call_at, **key)
    live.watch(now=call_at + 4 * MINUTE)
    assert not texts("2 of 5 people")
    version = pour.version
    live.watch(now=call_at + 5 * MINUTE)
    live.watch(now=call_at + 9 * MINUTE)
    assert texts("2 of 5 people", to=dispatcher).count() == 1
    assert texts("Hold load 2", to=dispatcher).count() == 1
    pour.refresh_from_db()
    assert pour.version == version  # nothing changes without a person


# --- until somebody says it is done -----------------------------------------------------------


@pytest.fixture
def placed(pour, lead, dispatcher):
    for load in pour.plan.result["delivery"]["loads"]:
        truck(pour, lead, load["number"], *(30 * load["number"] + ahead for ahead in (0, 0, 20)))
    return slab_now(pour, pour.plan, START + 10 * HOUR)


def test_a_slab_nobody_notes_as_finished_calls_its_lead_and_dispatch_until_it_is(
    pour,
    lead,
    dispatcher,
    placed,
):
    # Trade magazine: at midnight, ten hours after placing, still soft, and the crew gone home
    end = placed.finished_at
    live.watch(now=end + 44 * MINUTE)
    assert not texts("Is somebody at the slab?")
    for minutes in (45, 46, 90, 91):
        live.watch(now=end + minutes * MINUTE)
    for person in (lead, dispatcher):
        assert texts("Is somebody at the slab?", to=person).count() == 2
    live.note(
        pour=pour, kind=NoteKind.FINISHING_DONE, key="done", by=lead, happened_at=end, now=end + 95 * MINUTE
    )
    live.watch(now=end + 3 * HOUR)
    assert texts("Is somebody at the slab?").count() == 4


@pytest.mark.parametrize("hours", [9, None])
def test_relief_is_asked_for_once_when_the_hours_are_full(pour, lead, dispatcher, placed, hours):
    if hours:
        Company.objects.update(relief_after_h=hours)
    hours = hours or 14  # the default (our choice)
    full = pour.plan.call_at + hours * HOUR
    live.watch(now=full - MINUTE)
    assert not texts("Send relief")
    live.watch(now=full)
    live.watch(now=full + HOUR)
    assert texts(f"the crew has been at it {hours} h", to=dispatcher).count() == 1


def test_a_first_cut_nobody_says_anything_of_goes_to_dispatch_once_for_each_try(
    pour, lead, dispatcher, placed
):
    # Trade magazine: the crew came back next morning as always, and the slabs were cracked
    note(pour, lead, NoteKind.FINISHING_DONE, 8 * 60)
    cut = pour.reminders.get(kind=ReminderKind.FIRST_CUT)
    try_at = max(cut.due_at, placed.sawing.opens_at)
    reminders.send_due(now=try_at)
    live.watch(now=try_at + 40 * MINUTE)
    assert not texts("nobody has said how it went")
    for minutes in (50, 55):
        live.watch(now=try_at + minutes * MINUTE)
    assert texts("the first cut was to be tried from", to=dispatcher).count() == 1
    ravels = {"kind": NoteKind.RAVELS, "key": "r", "by": lead}
    live.note(pour=pour, happened_at=try_at + 56 * MINUTE, now=try_at + 56 * MINUTE, **ravels)
    again = pour.reminders.get(kind=ReminderKind.FIRST_CUT).due_at
    assert again >= try_at + 86 * MINUTE
    reminders.send_due(now=again)
    live.watch(now=again + 50 * MINUTE)
    assert texts("nobody has said how it went", to=dispatcher).count() == 2
    live.note(pour=pour, kind=NoteKind.CUT_DONE, key="c", by=lead, happened_at=again, now=again + 51 * MINUTE)
    live.watch(now=again + 2 * HOUR)
    assert texts("nobody has said how it went").count() == 2


def test_a_slab_noted_as_finished_needs_no_relief(pour, lead, dispatcher, placed):
    note(pour, lead, NoteKind.FINISHING_DONE, 8 * 60)
    live.watch(now=pour.plan.call_at + 15 * HOUR)
    assert not texts("Send relief")
