"""Due reminders become texts to the right people, once, and not when they are of no use any more."""

from datetime import UTC, datetime, time, timedelta

import pytest

from scheduling.models import Message, MessageState, OrderState, Reminder, ReminderKind, ReminderState
from scheduling.roles import Role
from scheduling.services import outbox, reminders
from tests import factories
from tests.services.conftest import LATER_CALL

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
CUT_OFF = datetime(2026, 8, 27, 20, 0, tzinfo=UTC)  # three in the afternoon of the day before


def due(pour, kind):
    return pour.reminders.get(kind=kind).due_at


def state(pour, kind):
    return pour.reminders.get(kind=kind).state


def replan(pour, now, **columns):
    """As a service changes it: a new version and a new plan, which the reminders follow."""
    for name, value in columns.items():
        setattr(pour, name, value)
    pour.version += 1
    pour.save()
    factories.plan(pour, now=now)


def bodies():
    return [message.body for message in Message.objects.order_by("pk")]


def test_the_office_is_told_of_orders_and_the_lead_of_the_slab(pour, office):
    other = factories.user(Role.OFFICE)
    factories.user(Role.OFFICE, phone="")
    factories.user(Role.OFFICE, is_active=False)
    factories.user(Role.DISPATCHER)
    assert reminders.send_due(now=CUT_OFF - 2 * HOUR) == 2
    assert {message.recipient for message in Message.objects.all()} == {office, other}
    reminders.send_due(now=due(pour, ReminderKind.FINISH))
    finish = Message.objects.get(body__contains="first strip may take a trowel")
    assert finish.recipient == pour.crew.lead
    assert finish.useful_until == pour.reminders.get(kind=ReminderKind.FINISH).useful_until


def test_without_a_lead_the_office_is_told(pour, office):
    pour.crew.lead = None
    pour.crew.save()
    Reminder.objects.exclude(kind=ReminderKind.FINISH).delete()
    reminders.send_due(now=due(pour, ReminderKind.FINISH))
    assert Message.objects.get().recipient == office


def test_with_nobody_to_tell_it_is_missed_and_logged(pour, office, caplog):
    office.delete()
    Reminder.objects.exclude(kind=ReminderKind.ORDER).delete()
    assert reminders.send_due(now=CUT_OFF - 2 * HOUR) == 0
    assert state(pour, ReminderKind.ORDER) == ReminderState.MISSED
    assert "nobody to tell" in caplog.text


def test_running_the_task_three_times_makes_one_text(pour):
    now = CUT_OFF - 2 * HOUR
    assert [reminders.send_due(now=now) for _ in range(3)] == [1, 0, 0]


def test_one_is_not_sent_before_it_is_due(pour):
    assert reminders.send_due(now=CUT_OFF - 2 * HOUR - MINUTE) == 0


def test_a_lost_claim_writes_nothing(pour):
    """Another worker has it; its text is not kept yet, so the text's own key cannot help."""
    row = pour.reminders.get(kind=ReminderKind.ORDER)
    Reminder.objects.filter(pk=row.pk).update(state=ReminderState.SENT)
    assert reminders._send(row.pk, CUT_OFF - HOUR) == 0
    assert Message.objects.count() == 0


@pytest.mark.slow
def test_two_sweeps_over_fifty_due_reminders_make_fifty_texts(pour, monkeypatch):
    """The second sweep runs whole while the first is at its first row, after it has read what is due."""
    Reminder.objects.exclude(kind=ReminderKind.ORDER).delete()
    for _ in range(49):
        made = factories.pour(crew=pour.crew, mix=pour.mix, job=pour.job, starts_at=LATER_CALL)
        factories.plan(made)
    Reminder.objects.exclude(kind=ReminderKind.ORDER).delete()
    send_one, second = reminders._send, []

    def interleaved(pk, now):
        if not second:
            second.append(None)
            second[0] = reminders.send_due(now=now)
        return send_one(pk, now)

    monkeypatch.setattr(reminders, "_send", interleaved)
    assert (reminders.send_due(now=CUT_OFF - HOUR), second) == (0, [50])
    assert Message.objects.count() == 50


def test_one_past_its_use_is_missed_logged_and_not_sent(pour, caplog):
    Reminder.objects.exclude(kind=ReminderKind.FINISH).delete()
    reminders.send_due(now=pour.reminders.get(kind=ReminderKind.FINISH).useful_until)
    assert state(pour, ReminderKind.FINISH) == ReminderState.MISSED
    assert Message.objects.count() == 0
    assert "start finishing for Garage" in caplog.text


@pytest.mark.parametrize(("late", "marked"), [(5 * MINUTE, False), (6 * MINUTE, True)])
def test_one_that_goes_out_late_says_so(pour, late, marked):
    Reminder.objects.exclude(kind=ReminderKind.FINISH).delete()
    reminders.send_due(now=due(pour, ReminderKind.FINISH) + late)
    assert bodies()[0].startswith("LATE. ") is marked


def test_three_due_while_the_worker_was_away_all_go_out_when_it_is_back(office, capsys):
    """Due at one moment, worker restarted just before: all three are out at the next turn."""
    for _ in range(3):
        factories.plan(factories.pour(crew=factories.crew(), starts_at=LATER_CALL))
    Reminder.objects.exclude(kind=ReminderKind.ON_SITE).delete()
    back = Reminder.objects.first().due_at + 5 * MINUTE
    assert reminders.send_due(now=back) == 3
    assert outbox.send_due(now=back) == 3
    assert {row.state for row in Reminder.objects.all()} == {ReminderState.SENT}


def test_one_bad_reminder_never_stops_the_next(office, monkeypatch):
    pours = [factories.pour(crew=factories.crew(), starts_at=LATER_CALL) for _ in range(3)]
    for made in pours:
        factories.plan(made)
    Reminder.objects.exclude(kind=ReminderKind.ORDER).delete()
    write = reminders._body

    def broken(reminder, *rest):
        if reminder.pour == pours[0]:
            raise RuntimeError("the plan cannot be read")
        return write(reminder, *rest)

    monkeypatch.setattr(reminders, "_body", broken)
    assert reminders.send_due(now=CUT_OFF - HOUR) == 2
    assert [state(made, ReminderKind.ORDER) for made in pours] == ["waiting", "sent", "sent"]


def test_an_order_called_in_a_moment_ago_is_not_reminded_of(pour):
    """The order moved on, the reminder has not followed yet."""
    pour.orders.update(state=OrderState.CALLED)
    assert reminders.send_due(now=CUT_OFF - HOUR) == 0
    assert state(pour, ReminderKind.ORDER) == ReminderState.NOT_NEEDED


def test_a_reminder_written_before_the_pour_moved_is_not_sent(pour, capsys):
    reminders.send_due(now=CUT_OFF - 2 * HOUR)
    replan(pour, now=CUT_OFF - 2 * HOUR, starts_at=pour.starts_at + 2 * HOUR)
    assert outbox.send_due(now=CUT_OFF - 2 * HOUR) == 0
    assert Message.objects.get().reason == "the pour changed since"
    reminders.send_due(now=CUT_OFF - 2 * HOUR)
    assert outbox.send_due(now=CUT_OFF - 2 * HOUR) == 1
    assert "on site Fri Aug 28, 2 loads from noon" in capsys.readouterr().out


def test_a_reminder_dropped_because_the_pour_changed_is_written_anew(pour):
    """Its moment stays where it was and is past: without this, nobody would hear of it."""
    now = due(pour, ReminderKind.FINISH) + MINUTE
    Reminder.objects.exclude(kind=ReminderKind.FINISH).delete()
    reminders.send_due(now=now)
    replan(pour, now=now, finishers=3)
    outbox.send_due(now=now)
    reminders.send_due(now=now)
    outbox.send_due(now=now)
    texts = Message.objects.filter(key__contains=":finish:").order_by("pk")
    assert [text.state for text in texts] == [MessageState.EXPIRED, MessageState.SENT]


def test_a_reminder_that_has_gone_out_is_not_repeated_because_the_pour_changed(pour):
    now = due(pour, ReminderKind.FINISH) + MINUTE
    reminders.send_due(now=now)
    outbox.send_due(now=now)
    replan(pour, now=now, finishers=3)
    assert state(pour, ReminderKind.FINISH) == ReminderState.SENT


def test_the_plant_on_another_clock_is_asked_on_its_own(office):
    # Site in New York, plant in Chicago (tz database): first truck 9:00 EDT is 8:00 CDT.
    site = factories.site(time_zone="America/New_York")
    plant = factories.plant(name="Hilltop", time_zone="America/Chicago", order_cutoff_at=time(14))
    made = factories.pour(
        site=site,
        crew=factories.crew(),
        mix=factories.mix(plant=plant),
        starts_at=datetime(2026, 8, 28, 13, 0, tzinfo=UTC),
    )
    factories.plan(made)
    assert due(made, ReminderKind.ORDER) == datetime(2026, 8, 27, 17, 0, tzinfo=UTC)
    reminders.send_due(now=due(made, ReminderKind.ORDER))
    text = bodies()[0]
    assert "by 2pm CDT" in text
    assert "on site Fri Aug 28, 2 loads from 8am CDT" in text


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        (ReminderKind.ORDER, "Call Plant "),
        (ReminderKind.CONFIRM, "not even called in."),
        (ReminderKind.ON_SITE, "Be at Mill Rd garage, "),
        (ReminderKind.FINISH, "Mill Rd garage: first strip may take a trowel from "),
        (ReminderKind.FIRST_CUT, "Mill Rd garage: try a cut from "),
        (ReminderKind.LAST_CUT, "Mill Rd garage: cut all joints by "),
        (ReminderKind.CURE, "Mill Rd garage: start curing from "),
    ],
)
def test_every_kind_has_its_words(pour, kind, said):
    Reminder.objects.exclude(kind=kind).delete()
    reminders.send_due(now=due(pour, kind))
    assert said in bodies()[0]


def test_each_is_reminded_in_their_own_language(pour, office):
    lead = pour.crew.lead
    lead.language = "es"
    lead.save()
    for kind in (ReminderKind.ORDER, ReminderKind.FIRST_CUT):
        reminders.send_due(now=pour.reminders.get(kind=kind).due_at)
    told = {text.recipient: (text.language, text.body) for text in Message.objects.order_by("pk")}
    assert told[office][0] == "en"
    assert told[lead][0] == "es"
    assert "prueben un corte desde las " in told[lead][1]
