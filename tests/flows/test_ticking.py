"""What the clock sets off, run as the timetable runs it."""

from datetime import UTC, datetime

import pytest
import time_machine

from scheduling import tasks
from scheduling.models import Message, MessageState
from scheduling.services import booking
from tests import factories
from tests.factories import NOW, SECTION, STARTS_AT

pytestmark = pytest.mark.django_db

HALF_PAST_FIVE = datetime(2026, 8, 28, 10, 30, tzinfo=UTC)  # on the site's clock


@pytest.fixture
def pour():
    factories.company()
    mix = factories.mix()
    return booking.book_pour(
        job=factories.job(site=factories.site(name="Mill Rd garage")),
        sections=[SECTION],
        starts_at=STARTS_AT.replace(hour=13),
        plant=mix.plant,
        mix=mix,
        crew=factories.crew(),
        by=factories.user(),
        now=NOW,
    )


def tick():
    tasks.write_morning_texts()
    tasks.send_due_reminders()
    tasks.send_due_messages()
    tasks.mark_lost_messages()


def test_the_same_tasks_three_times_send_each_text_once(pour, capsys):
    for moment in (HALF_PAST_FIVE, HALF_PAST_FIVE, HALF_PAST_FIVE):
        with time_machine.travel(moment, tick=False):
            tick()
    assert capsys.readouterr().out.count("Be there 7am.") == 1


def test_a_worker_that_died_while_sending_leaves_a_text_that_is_not_sent_again(pour, capsys):
    with time_machine.travel(HALF_PAST_FIVE, tick=False):
        tasks.write_morning_texts()
    Message.objects.update(state=MessageState.SENDING, claimed_at=HALF_PAST_FIVE)
    for minute in (0, 3, 6, 9):
        with time_machine.travel(HALF_PAST_FIVE.replace(minute=30 + minute), tick=False):
            tick()
    morning = Message.objects.get(kind="morning")
    assert morning.state == MessageState.UNKNOWN
    assert "Be there" not in capsys.readouterr().out


def test_a_pour_moved_before_its_text_leaves_is_told_of_at_its_new_time_only(pour, capsys):
    """Booked for eight, moved to ten."""
    with time_machine.travel(HALF_PAST_FIVE, tick=False):
        tasks.write_morning_texts()
        booking.move_pour(
            pour=pour,
            version=pour.version,
            starts_at=pour.starts_at.replace(hour=15),
            by=pour.booked_by,
            now=HALF_PAST_FIVE,
        )
        tasks.send_due_messages()
        tick()
    said = capsys.readouterr().out
    assert "Be there 7am." not in said
    assert said.count("Be there 9am.") == 1


def test_a_pour_put_on_hold_in_the_evening_tells_its_lead_not_to_go(pour, capsys):
    booking.hold_pour(pour=pour, version=pour.version, reason="forms", by=pour.booked_by, now=NOW)
    with time_machine.travel(HALF_PAST_FIVE, tick=False):
        tick()
    said = capsys.readouterr().out
    assert "ON HOLD, do not go: Mill Rd garage" in said
    assert "Be there" not in said
