"""Forms to be released and inspections to be passed: what waits for them, and what opens them again."""

from datetime import timedelta

import pytest

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import PaperKind, PourState, Reminder, ReminderKind
from scheduling.roles import Role
from scheduling.services import booking, morning, ordering, papers, reminders
from tests import factories
from tests.factories import NOW, SECTION, STARTS_AT

pytestmark = pytest.mark.django_db


@pytest.fixture
def office():
    factories.company()
    return factories.user()


@pytest.fixture
def pour(office):
    pour = factories.pour(crew=factories.crew())
    factories.plan(pour)
    papers.ask(pour=pour, kind=PaperKind.INSPECTION, by=office, now=NOW)
    pour.refresh_from_db()
    return pour


def text_of(pour):
    return morning.compose(lead=pour.crew.lead, day=STARTS_AT.date())


def test_an_order_is_not_confirmed_while_an_inspection_is_open(pour, office):
    with pytest.raises(Refusal) as refused:
        ordering.confirm(order=pour.orders.get(), ticket="", by=office, now=NOW)
    assert (refused.value.code, refused.value.facts["papers"]) == ("papers_open", ["inspection"])
    papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by="Lee", by=office, now=NOW)
    assert ordering.confirm(order=pour.orders.get(), ticket="7", by=office, now=NOW).state == "confirmed"


def test_the_morning_text_says_on_hold_until_it_is_released(pour, office):
    assert "ON HOLD" in text_of(pour)
    papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by="Lee", by=office, now=NOW)
    assert "ON HOLD" not in text_of(pour)


def test_the_dispatcher_is_told_the_evening_before_and_not_once_it_is_released(pour, office):
    dispatcher = factories.user(Role.DISPATCHER)
    evening = Reminder.objects.get(pour=pour, kind=ReminderKind.EVENING)
    assert evening.due_at < STARTS_AT - timedelta(hours=8)
    reminders.send_due(now=evening.due_at)
    text = dispatcher.messages.get()
    assert "still ON HOLD" in text.body


def test_no_evening_text_once_it_is_released(pour, office):
    papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by="Lee", by=office, now=NOW)
    assert Reminder.objects.get(pour=pour, kind=ReminderKind.EVENING).state == "not_needed"


def test_who_was_told_to_stay_is_told_once_it_is_released(pour, office):
    held = factories.message(pour.crew.lead, state="sent", kind="morning", made_at=NOW)
    held.about.create(pour=pour, pour_version=pour.version, pour_state=PourState.ON_HOLD, plan=pour.plan)
    papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by="Lee", by=office, now=NOW)
    assert pour.crew.lead.messages.filter(kind="change").count() == 1


def test_another_depth_opens_it_again_and_the_order_is_to_call_anew(pour, office):
    papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by="Lee", by=office, now=NOW)
    pour.refresh_from_db()
    ordering.call_in(order=pour.orders.get(), taken_by="Kay", by=office, now=NOW)
    deeper = [{**SECTION, "depth_m": 0.15}]
    booking.change_pour(pour=pour, version=pour.version, by=office, now=NOW, sections=deeper)
    assert pour.papers.get().is_open
    assert ordering.standing_order(pour).state == "to_call"
    assert "paper_reopened" in pour.events.values_list("kind", flat=True)


def test_the_same_slab_said_again_leaves_it_passed(pour, office):
    papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by="Lee", by=office, now=NOW)
    pour.refresh_from_db()
    booking.change_pour(pour=pour, version=pour.version, by=office, now=NOW, sections=[SECTION])
    assert not pour.papers.get().is_open


def test_somebody_must_be_named_and_the_pour_must_need_it(pour, office):
    with pytest.raises(Refusal, match="who"):
        papers.passed(pour=pour, kind=PaperKind.INSPECTION, passed_by=" ", by=office, now=NOW)
    with pytest.raises(Refusal, match="not need"):
        papers.passed(pour=pour, kind=PaperKind.FORMS, passed_by="Lee", by=office, now=NOW)
    with pytest.raises(NotAllowed):
        papers.ask(pour=pour, kind=PaperKind.FORMS, by=pour.crew.lead, now=NOW)
    papers.drop(pour=pour, kind=PaperKind.INSPECTION, by=office, now=NOW)
    assert not pour.papers.exists()


def test_a_promise_is_kept_with_the_pour_and_told_in_its_history(pour, office):
    day = STARTS_AT.date()
    booking.change_pour(pour=pour, version=pour.version, by=office, now=NOW, promised_by=day)
    pour.refresh_from_db()
    assert pour.promised_by == day
    assert pour.events.get(kind="changed").facts["became"]["promised_by"] == "2026-08-28"
