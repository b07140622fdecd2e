"""Texts and reminders over the nights in which clocks change: site, office and plant each on its own clock.

Clocks of these places change on 2026-03-08 and 2026-11-01 at two in the morning of their own time; Phoenix
keeps one time all year (tz database).
"""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Company, Message, MessageState, ReminderKind
from scheduling.roles import Role
from scheduling.services import briefing, morning, outbox, quiet, reminders
from tests import factories

pytestmark = pytest.mark.django_db

SITE, OFFICE = ZoneInfo("America/New_York"), ZoneInfo("America/Denver")
PLANTS = [ZoneInfo("America/Chicago"), ZoneInfo("America/Phoenix")]
HOUR, MINUTE, WEEK = timedelta(hours=1), timedelta(minutes=1), timedelta(days=7)
SPRING, AUTUMN = datetime(2026, 3, 8), datetime(2026, 11, 1)  # Sundays
CHANGES = [SPRING, AUTUMN]
SLAB_KINDS = (ReminderKind.FINISH, ReminderKind.CURE)


def pour_on(day, clock, plant_zone=PLANTS[0], **columns):
    """A pour on that day by the site's clock, in air that stays alike for days, booked days before."""
    factories.company(time_zone=OFFICE.key)
    starts_at = datetime.combine(day, clock, SITE).astimezone(UTC)
    made_at = starts_at - timedelta(days=5)
    site = factories.site(time_zone=SITE.key)
    factories.forecast(
        site, factories.mild_hours(starts_at - 6 * 24 * HOUR, 240, sun_w_m2=0.0), fetched_at=made_at
    )
    plant = factories.plant(time_zone=plant_zone.key, order_cutoff_at=time(15))
    made = factories.pour(
        site=site,
        crew=factories.crew(),
        mix=factories.mix(plant=plant),
        starts_at=starts_at,
        booked_at=made_at,
        **columns,
    )
    factories.plan(made, now=made_at)
    return made


def wall(moment, zone):
    return f"{moment.astimezone(zone):%a %H:%M}"


def told_by_the_clock(pour, plant_zone):
    """What follows a clock and not the slab, each by the clock it follows."""
    company, order = Company.objects.get(), pour.orders.get()
    day = pour.starts_at.astimezone(SITE).date()
    return {
        "call": wall(pour.plan.call_at, SITE),
        "morning text": wall(morning.text_due_at(day, SITE, pour.plan.call_at, company), SITE),
        "evening text": wall(pour.reminders.get(kind=ReminderKind.EVENING).due_at, SITE),
        "order by": wall(order.order_by, plant_zone),
        "order": wall(pour.reminders.get(kind=ReminderKind.ORDER).due_at, plant_zone),
    }


@pytest.mark.parametrize("plant_zone", PLANTS)
@pytest.mark.parametrize("sunday", CHANGES)
@pytest.mark.parametrize("day_after", [-1, 0, 1])
def test_what_goes_by_a_clock_keeps_its_hour_over_the_change(sunday, day_after, plant_zone):
    day = (sunday + day_after * timedelta(days=1)).date()
    # A frozen base: the evening before is told of it.
    change, before = (pour_on(one, time(9), plant_zone, base_c=-1.0) for one in (day, day - WEEK))
    told = told_by_the_clock(change, plant_zone)
    assert told["call"].endswith("08:00")
    assert told["morning text"].endswith("05:30")
    assert told["evening text"].endswith("16:30")
    assert told["order by"].endswith("15:00")
    assert told == told_by_the_clock(before, plant_zone)


@pytest.mark.parametrize(("sunday", "shift_h"), [(SPRING, 1), (AUTUMN, -1)])
def test_what_follows_the_slab_counts_real_hours_over_the_change(sunday, shift_h):
    """The same evening pour a week before: as long after its start, and an hour off by the clock."""
    saturday = (sunday - timedelta(days=1)).date()
    change, before = (pour_on(one, time(18)) for one in (saturday, saturday - WEEK))
    slabs = [briefing.kept_answer(pour.plan).sawing for pour in (change, before)]
    (cut, cut_before), (last, last_before) = (
        [getattr(slab, name) - pour.starts_at for slab, pour in zip(slabs, (change, before), strict=True)]
        for name in ("opens_at", "last_call_at")
    )
    assert abs(cut - cut_before) < MINUTE
    assert abs(last - last_before) < MINUTE
    late, early = (slab.last_call_at.astimezone(SITE).replace(tzinfo=None) for slab in slabs)
    assert abs(late - early - WEEK - shift_h * HOUR) < MINUTE
    for kind in SLAB_KINDS:
        due, due_before = (pour.reminders.get(kind=kind).due_at - pour.starts_at for pour in (change, before))
        assert abs(due - due_before) < MINUTE


@pytest.mark.parametrize("zone", [SITE, OFFICE, PLANTS[0]])
@pytest.mark.parametrize(("sunday", "hours"), [(SPRING, 6), (AUTUMN, 8)])
def test_the_night_is_from_nine_to_four_by_the_clock_in_every_zone(sunday, hours, zone):
    company = Company(quiet_from=time(21), quiet_until=time(4))
    late = datetime.combine(sunday - timedelta(days=1), time(22), zone)
    night = quiet.quiet_night(late, zone, company)
    assert (wall(night.starts_at, zone), wall(night.ends_at, zone)) == ("Sat 21:00", "Sun 04:00")
    assert night.ends_at - night.starts_at == hours * HOUR
    call_at = datetime.combine(sunday, time(7), zone)
    told_at = quiet.told_after(late.astimezone(UTC), call_at.astimezone(UTC), zone, company)
    assert wall(told_at, zone) == "Sun 04:00"
    # Told an hour after the night at the earliest: called at five it waits, a minute earlier it does not.
    five = datetime.combine(sunday, time(5), zone).astimezone(UTC)
    assert quiet.told_after(late.astimezone(UTC), five, zone, company) == told_at
    assert quiet.told_after(late.astimezone(UTC), five - MINUTE, zone, company) == late


def test_quiet_hours_that_end_in_the_hour_that_is_left_out_end_once():
    company = Company(quiet_from=time(21), quiet_until=time(2, 30))
    night = quiet.quiet_night(datetime(2026, 3, 8, 6, 45, tzinfo=UTC), SITE, company)
    assert night.ends_at == datetime(2026, 3, 8, 7, 30, tzinfo=UTC)  # half past three in summer time


@pytest.mark.parametrize("sunday", CHANGES)
def test_the_office_is_reminded_on_its_last_open_day_before_the_change_by_its_own_clock(sunday):
    company = Company(time_zone=OFFICE.key)
    due_at = datetime.combine(sunday, time(13), OFFICE).astimezone(UTC)
    told_at = quiet.in_office_hours(due_at, due_at + 2 * HOUR, due_at - 5 * 24 * HOUR, company)
    assert wall(told_at, OFFICE) == "Fri 16:00"
    monday = quiet.in_office_hours(due_at, due_at + 24 * HOUR, due_at - HOUR, company)
    assert wall(monday, OFFICE) == "Mon 07:00"


@pytest.mark.slow
@pytest.mark.parametrize("sunday", CHANGES)
def test_turns_all_through_the_change_send_each_text_once_and_at_its_moment(sunday, capsys):
    factories.company(time_zone=OFFICE.key)
    factories.user(Role.OFFICE)
    pours = [pour_on((sunday + day * timedelta(days=1)).date(), time(14)) for day in (-1, 0, 1)]
    start = datetime.combine(sunday - timedelta(days=2), time(), UTC)
    for now in (start + n * 15 * MINUTE for n in range(5 * 24 * 4)):
        morning.write_due(now=now)
        reminders.send_due(now=now)
        outbox.send_due(now=now)
    texts = list(Message.objects.exclude(kind="dispatch").select_related("reminder"))
    assert {text.state for text in texts} == {MessageState.SENT}
    mornings = [text.sent_at for text in texts if text.kind == "morning"]
    assert sorted(wall(at, SITE) for at in mornings) == ["Mon 05:30", "Sat 05:30", "Sun 05:30"]
    told = [(text.reminder.pour_id, text.reminder.kind, text.recipient_id) for text in texts if text.reminder]
    assert len(told) == len(set(told))
    kinds = {kind for _, kind, _ in told}
    assert {"finish", "cure", "first_cut", "last_cut", "order", "confirm"} <= kinds
    for text in texts:
        if text.reminder:
            assert timedelta() <= text.sent_at - text.reminder.due_at < 16 * MINUTE
    assert {pour for pour, *_ in told} == {pour.pk for pour in pours}
