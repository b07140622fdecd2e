"""Reminders follow the plan and the order of their pour."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from scheduling.models import (
    Message,
    OrderState,
    PourState,
    Reminder,
    ReminderKind,
    ReminderState,
)
from scheduling.services import briefing, reminders
from scheduling.services import turns as turns_of
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
CUT_OFF = datetime(2026, 8, 27, 20, 0, tzinfo=UTC)  # three in the afternoon of the day before


def kept(pour):
    return {row.kind: row for row in pour.reminders.all()}


def due(pour, kind):
    return kept(pour)[kind].due_at


def state(pour, kind):
    return kept(pour)[kind].state


def follow(pour, now=NOW):
    reminders.follow_plan(pour=pour, plan=pour.plan, now=now)


def replan(pour, now=NOW, **columns):
    """As a service changes it: a new version and a new plan, which the reminders follow."""
    for name, value in columns.items():
        setattr(pour, name, value)
    pour.version += 1
    pour.save()
    factories.plan(pour, now=now)


def set_order(pour, order_state, now=NOW):
    pour.orders.update(state=order_state)
    follow(pour, now)


# --- when they are due ------------------------------------------------------------------------


def test_every_kind_is_due_where_the_plan_and_the_order_put_it(pour):
    plan, answer = pour.plan, briefing.kept_answer(pour.plan)
    rows = {kind: (row.due_at, row.useful_until) for kind, row in kept(pour).items()}
    assert rows[ReminderKind.ORDER] == (CUT_OFF - 2 * HOUR, CUT_OFF)
    assert rows[ReminderKind.CONFIRM] == (CUT_OFF + 30 * MINUTE, answer.delivery.loads[0].batch_at)
    assert rows[ReminderKind.ON_SITE] == (plan.call_at - 30 * MINUTE, plan.starts_at)
    ready, final = answer.first_set.float_ready.early, answer.first_set.final.likely
    assert rows[ReminderKind.FINISH] == (ready - 15 * MINUTE, final)
    saw = answer.sawing
    assert rows[ReminderKind.FIRST_CUT] == (saw.opens_at, saw.last_call_at)
    begin = saw.last_call_at - timedelta(hours=saw.hours_needed)
    last_cut_at, until = rows[ReminderKind.LAST_CUT]
    # By day then, or before its crew sleeps.
    assert saw.opens_at < last_cut_at <= begin
    assert until == saw.last_call_at
    assert rows[ReminderKind.CURE][0] == answer.finishing.cure_at
    assert {row.state for row in pour.reminders.all()} == {ReminderState.WAITING}


def test_the_last_cut_is_never_told_together_with_the_first(pour):
    answer = briefing.kept_answer(pour.plan)
    window_h = (answer.sawing.last_call_at - answer.sawing.opens_at) / HOUR
    busy = replace(answer, sawing=replace(answer.sawing, hours_needed=window_h))
    turns = turns_of._slab_turns(busy)
    assert turns[ReminderKind.LAST_CUT].due_at == answer.sawing.opens_at + 30 * MINUTE


def test_a_slab_without_joints_has_no_reminder_to_cut(office):
    small = factories.pour(
        crew=factories.crew(), sections=[{"length_m": 2.0, "width_m": 2.0, "depth_m": 0.1}]
    )
    factories.plan(small)
    assert briefing.kept_answer(small.plan).sawing.starts_at is None
    assert not {ReminderKind.FIRST_CUT, ReminderKind.LAST_CUT} & kept(small).keys()


@pytest.mark.parametrize(("call_lead_min", "needed"), [(90, True), (91, False)])
def test_being_on_site_is_left_out_when_the_morning_text_says_it_shortly_before(
    office, call_lead_min, needed
):
    # First truck at 8:30 on the site's clock, text at 5:30: 90 min before a call at 7:00.
    early = factories.pour(
        crew=factories.crew(), starts_at=STARTS_AT + 1.5 * HOUR, call_lead_min=call_lead_min
    )
    factories.plan(early)
    assert (ReminderKind.ON_SITE in kept(early)) is needed


def test_an_order_made_within_two_hours_of_the_cut_off_is_to_be_called_at_once(office):
    made = factories.pour(crew=factories.crew())
    factories.plan(made, now=CUT_OFF - HOUR)
    row = kept(made)[ReminderKind.ORDER]
    assert (row.due_at, row.useful_until) == (CUT_OFF - HOUR, CUT_OFF)


def test_an_order_made_after_the_cut_off_is_to_be_called_at_once_until_the_pour_starts(office):
    made = factories.pour(crew=factories.crew())
    factories.plan(made, now=CUT_OFF + HOUR)
    row = kept(made)[ReminderKind.ORDER]
    assert (row.due_at, row.useful_until) == (CUT_OFF + HOUR, STARTS_AT)
    assert due(made, ReminderKind.CONFIRM) == CUT_OFF + 1.5 * HOUR


def test_no_reminder_is_made_for_what_is_already_past(office):
    made = factories.pour(crew=factories.crew())
    factories.plan(made, now=STARTS_AT + HOUR)
    assert ReminderKind.ORDER not in kept(made)
    assert ReminderKind.ON_SITE not in kept(made)
    assert ReminderKind.FINISH in kept(made)


# --- following --------------------------------------------------------------------------------


def test_following_the_same_plan_again_changes_nothing(pour):
    before = list(pour.reminders.order_by("pk").values())
    follow(pour)
    assert list(pour.reminders.order_by("pk").values()) == before


def test_reminders_move_with_the_pour(pour):
    before = kept(pour)
    replan(pour, starts_at=pour.starts_at + 2 * HOUR)
    after = kept(pour)
    assert after[ReminderKind.ON_SITE].due_at - before[ReminderKind.ON_SITE].due_at == 2 * HOUR
    assert after[ReminderKind.FINISH].due_at > before[ReminderKind.FINISH].due_at + HOUR
    assert {row.pour_version for row in after.values()} == {2}
    assert {row.pk for row in after.values()} == {row.pk for row in before.values()}


@pytest.mark.parametrize("ended", [ReminderState.SENT, ReminderState.MISSED])
def test_one_that_was_sent_or_missed_waits_again_when_its_moment_moves_ahead(pour, ended):
    now = due(pour, ReminderKind.ON_SITE) + MINUTE
    pour.reminders.update(state=ended)
    replan(pour, now=now, starts_at=pour.starts_at + 2 * HOUR)
    assert state(pour, ReminderKind.ON_SITE) == ReminderState.WAITING


def test_one_that_was_sent_stays_sent_when_its_moment_moves_into_the_past(pour):
    pour.reminders.update(state=ReminderState.SENT)
    now = due(pour, ReminderKind.FINISH)
    replan(pour, now=now, starts_at=pour.starts_at - 2 * HOUR)
    assert state(pour, ReminderKind.FINISH) == ReminderState.SENT


def test_one_that_was_sent_stays_sent_when_it_moves_but_is_past_all_the_same(pour):
    pour.reminders.update(state=ReminderState.SENT)
    now = due(pour, ReminderKind.FINISH) + 3 * HOUR
    replan(pour, now=now, starts_at=pour.starts_at + HOUR)
    assert state(pour, ReminderKind.FINISH) == ReminderState.SENT
    assert due(pour, ReminderKind.FINISH) < now


@pytest.mark.parametrize(
    ("moved", "after"), [(14 * MINUTE, ReminderState.SENT), (15 * MINUTE, ReminderState.WAITING)]
)
def test_a_new_forecast_repeats_a_reminder_only_when_it_moves_it_far_enough(pour, moved, after):
    """The version stays, the plan is new."""
    row = kept(pour)[ReminderKind.FINISH]
    Reminder.objects.filter(pk=row.pk).update(state=ReminderState.SENT, due_at=row.due_at - moved)
    follow(pour, now=row.due_at - MINUTE)
    assert state(pour, ReminderKind.FINISH) == after
    assert due(pour, ReminderKind.FINISH) == row.due_at


def test_a_repeated_reminder_of_the_same_version_is_a_new_text(pour):
    row = kept(pour)[ReminderKind.FINISH]
    earlier = Reminder.objects.filter(pk=row.pk)
    earlier.update(due_at=row.due_at - HOUR)
    reminders.send_due(now=row.due_at - HOUR)
    follow(pour, now=row.due_at - HOUR)
    reminders.send_due(now=row.due_at)
    assert Message.objects.filter(key__contains=":finish:").count() == 2


def test_a_pour_on_hold_keeps_only_what_the_office_must_do(pour):
    pour.state = PourState.ON_HOLD
    follow(pour)
    waiting = {kind for kind, row in kept(pour).items() if row.state == ReminderState.WAITING}
    assert waiting == {ReminderKind.ORDER, ReminderKind.CONFIRM, ReminderKind.EVENING}
    assert state(pour, ReminderKind.FINISH) == ReminderState.NOT_NEEDED


def test_a_released_pour_has_its_reminders_back(pour):
    for standing in (PourState.ON_HOLD, PourState.BOOKED):
        pour.state = standing
        follow(pour)
    of_the_hold = kept(pour).pop(ReminderKind.EVENING)
    assert of_the_hold.state == ReminderState.NOT_NEEDED
    assert {row.state for row in kept(pour).values() if row != of_the_hold} == {ReminderState.WAITING}


def test_a_cancelled_pour_needs_no_reminder(pour):
    pour.state = PourState.CANCELLED
    follow(pour)
    assert {row.state for row in kept(pour).values()} == {ReminderState.NOT_NEEDED}


def test_a_placed_pour_still_needs_finishing_cutting_and_curing(pour):
    pour.state = PourState.PLACED
    follow(pour)
    waiting = {kind for kind, row in kept(pour).items() if row.state == ReminderState.WAITING}
    slab = {ReminderKind.FINISH, ReminderKind.FIRST_CUT, ReminderKind.LAST_CUT, ReminderKind.CURE}
    assert waiting == slab


def test_what_was_sent_stays_on_record_when_it_is_not_needed_any_more(pour):
    pour.reminders.update(state=ReminderState.SENT)
    pour.state = PourState.CANCELLED
    follow(pour)
    assert {row.state for row in kept(pour).values()} == {ReminderState.SENT}


def test_an_order_called_in_needs_only_confirming_and_a_confirmed_one_nothing(pour):
    set_order(pour, OrderState.CALLED)
    assert state(pour, ReminderKind.ORDER) == ReminderState.NOT_NEEDED
    assert state(pour, ReminderKind.CONFIRM) == ReminderState.WAITING
    set_order(pour, OrderState.CONFIRMED)
    assert state(pour, ReminderKind.CONFIRM) == ReminderState.NOT_NEEDED


def test_a_revised_order_is_to_be_called_in_again(pour):
    set_order(pour, OrderState.CONFIRMED)
    replan(pour, now=CUT_OFF - HOUR, starts_at=pour.starts_at + HOUR)
    assert pour.orders.get(state=OrderState.TO_CALL).revision == 2
    assert state(pour, ReminderKind.ORDER) == ReminderState.WAITING
    assert due(pour, ReminderKind.ORDER) == CUT_OFF - HOUR


# --- what the slab and its saw change ---------------------------------------------------------


def test_another_saw_moves_the_first_cut_and_the_old_time_is_never_sent():
    # Trade pages: an ordinary saw from 4 h after finishing, an early-entry saw from 1 h in hot weather
    pour = factories.pour()
    factories.forecast(pour.job.site, factories.mild_hours(hours=96, air_c=32.0))
    factories.plan(pour)
    ordinary_at = due(pour, ReminderKind.FIRST_CUT)
    replan(pour, saw="early_entry")
    early_at = due(pour, ReminderKind.FIRST_CUT)
    assert early_at <= ordinary_at - 2 * HOUR
    reminders.send_due(now=ordinary_at + MINUTE)
    assert pour.reminders.filter(kind=ReminderKind.FIRST_CUT).count() == 1
    assert due(pour, ReminderKind.FIRST_CUT) == early_at


def test_rain_on_the_fresh_slab_asks_for_sheets_and_moves_no_pour_to_cancelled():
    # A site's diary: placed at seven, rain at nine, sheets on, everybody waits
    pour = factories.pour()
    dry = factories.mild_hours(hours=96)
    wet = tuple(
        replace(hour, rain_chance=0.9, rain_mm=2.0) if 2 <= (hour.at - STARTS_AT) / HOUR < 4 else hour
        for hour in dry
    )
    factories.forecast(pour.job.site, wet)
    plan = factories.plan(pour)
    assert "rain" in {finding["code"] for finding in plan.result["findings"]}
    assert state(pour, ReminderKind.PROTECT) == ReminderState.WAITING
    assert due(pour, ReminderKind.FIRST_CUT) > STARTS_AT + 4 * HOUR
    pour.refresh_from_db()
    assert pour.state == PourState.BOOKED
