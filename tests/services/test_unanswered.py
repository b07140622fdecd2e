"""A morning text nobody answers is told to dispatch, once, while there is time to phone."""

from datetime import timedelta

import pytest

from scheduling.models import Company, Message, MessageKind, MessageState, ReminderKind, ReminderState
from scheduling.roles import Role
from scheduling.services import inbox, morning, outbox, reminders
from tests import factories
from tests.services.conftest import LATER_CALL

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)


@pytest.fixture
def sent(pour):
    """The morning text has gone out; only the question whether it was answered is left."""
    pour.crew.lead.first_name, pour.crew.lead.last_name = "Petra", "Voss"
    pour.crew.lead.save()
    factories.user(Role.DISPATCHER)
    pour.reminders.exclude(kind=ReminderKind.UNANSWERED).delete()
    morning.write_due(now=pour.plan.call_at - 60 * MINUTE)
    outbox.send_due(now=pour.plan.call_at - 60 * MINUTE)
    return Message.objects.get(kind=MessageKind.MORNING)


def due(pour):
    return pour.reminders.get(kind=ReminderKind.UNANSWERED).due_at


def words_to_dispatch():
    return list(Message.objects.filter(kind=MessageKind.DISPATCH).values_list("body", flat=True))


def test_it_is_due_so_many_minutes_before_the_call_as_the_company_says(pour):
    assert due(pour) == pour.plan.call_at - 15 * MINUTE
    Company.objects.update(answer_lead_min=40)
    assert (
        reminders.turns(pour, pour.plan, factories.NOW)[ReminderKind.UNANSWERED].due_at
        == pour.plan.call_at - 40 * MINUTE
    )


def test_a_lead_gets_some_minutes_to_answer_in_all_the_same(pour):
    Company.objects.update(answer_lead_min=600)
    text_at = morning.text_due_at(
        pour.starts_at.date(), reminders.briefing.site_zone(pour), pour.plan.call_at, Company.objects.get()
    )
    assert (
        reminders.turns(pour, pour.plan, factories.NOW)[ReminderKind.UNANSWERED].due_at
        == text_at + 10 * MINUTE
    )


def test_dispatch_is_told_once(pour, sent):
    for minutes in range(10):
        reminders.send_due(now=due(pour) + minutes * MINUTE)
    (said,) = words_to_dispatch()
    lead = pour.crew.lead
    assert said == (
        f"Petra Voss, {pour.crew} ({lead.phone}) has not answered the morning text. "
        "Crew due 9am at Mill Rd garage. Phone now."
    )
    assert pour.reminders.get().state == ReminderState.SENT


@pytest.mark.parametrize("reply", ["yes", "no", "late 10", "gate is locked"])
def test_any_answer_will_do(pour, sent, reply):
    lead = pour.crew.lead
    inbox.take_in(gateway_key="SM1", phone=str(lead.phone), body=reply, now=sent.sent_at + MINUTE)
    before = words_to_dispatch()
    reminders.send_due(now=due(pour))
    assert words_to_dispatch() == before
    assert pour.reminders.get().state == ReminderState.NOT_NEEDED


def test_a_text_that_did_not_reach_the_lead_is_told_with_its_reason(pour, sent):
    Message.objects.filter(pk=sent.pk).update(state=MessageState.FAILED, reason="no such number")
    reminders.send_due(now=due(pour))
    assert "got no morning text (no such number). Crew due 9am" in words_to_dispatch()[0]


def test_of_two_pours_in_one_text_the_first_speaks(pour, sent):
    other = factories.pour(crew=pour.crew, job=pour.job, mix=pour.mix, starts_at=LATER_CALL + 240 * MINUTE)
    factories.plan(other)
    other.reminders.exclude(kind=ReminderKind.UNANSWERED).delete()
    sent.about.create(pour=other, pour_version=other.version)
    for moment in (due(pour), due(other)):
        reminders.send_due(now=moment)
    assert len(words_to_dispatch()) == 1
    assert other.reminders.get().state == ReminderState.NOT_NEEDED


def test_without_a_crew_lead_there_is_nobody_to_answer(office):
    made = factories.pour()
    factories.plan(made)
    assert not made.reminders.filter(kind=ReminderKind.UNANSWERED).exists()


def test_after_the_first_truck_it_is_too_late_to_tell(pour, sent, caplog):
    reminders.send_due(now=pour.plan.starts_at)
    assert words_to_dispatch() == []
    assert pour.reminders.get().state == ReminderState.MISSED
    assert "Missed: see that the morning text is answered" in caplog.text
