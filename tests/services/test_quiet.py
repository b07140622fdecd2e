"""Nobody is woken but for work and danger, and the office is reminded while it is open."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.engine.inputs import Severity
from scheduling.models import Company, ReminderKind
from scheduling.services import briefing, quiet, reminders
from scheduling.services.quiet import Spell
from tests import factories
from tests.factories import STARTS_AT

ZONE = ZoneInfo("America/Chicago")
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
COMPANY = Company(time_zone="America/Chicago", quiet_from=time(21), quiet_until=time(4))


def at(day, hour, minute=0):
    """August 2026; the 28th is a Friday."""
    return datetime(2026, 8, day, hour, minute, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("moment", "is_quiet"),
    [
        (at(28, 20, 59), False),
        (at(28, 21), True),
        (at(29, 0), True),
        (at(29, 3, 59), True),
        (at(29, 4), False),
    ],
)
def test_the_night_goes_from_evening_to_morning(moment, is_quiet):
    assert (quiet.quiet_night(moment, ZONE, COMPANY) is not None) is is_quiet


def test_the_night_is_that_of_the_readers_place():
    pacific = ZoneInfo("America/Los_Angeles")
    assert quiet.quiet_night(at(28, 22), ZONE, COMPANY) is not None
    assert quiet.quiet_night(at(28, 22), pacific, COMPANY) is None


def test_the_night_of_a_clock_change_is_as_long_as_it_is():
    # Chicago, 2026-11-01: two o'clock comes twice (tz database).
    night = quiet.quiet_night(datetime(2026, 11, 1, 7, 30, tzinfo=UTC), ZONE, COMPANY)
    assert night.ends_at - night.starts_at == 8 * HOUR


@pytest.mark.parametrize(
    ("due_at", "work", "told_at"),
    [
        (at(28, 15), [], at(28, 15)),
        (at(29, 1, 30), [], at(28, 20, 45)),
        (at(28, 23), [Spell(at(28, 22), at(29, 1))], at(28, 23)),
        (at(29, 2), [Spell(at(28, 22), at(28, 23, 30))], at(28, 23, 15)),
        (at(29, 2), [Spell(at(28, 10), at(28, 15))], at(28, 20, 45)),
        (at(28, 23), [Spell(at(29, 1), at(29, 2))], at(28, 20, 45)),
    ],
)
def test_who_would_be_woken_is_told_while_they_are_up(due_at, work, told_at):
    assert quiet.told_before(due_at, work, ZONE, COMPANY) == told_at


@pytest.mark.parametrize(
    ("now", "call_at", "told_at"),
    [
        (at(28, 12), at(29, 6), at(28, 12)),
        (at(28, 22), at(29, 6), at(29, 4)),
        (at(28, 22), at(29, 4, 30), at(28, 22)),
        (at(29, 1), at(28, 20), at(29, 1)),
    ],
)
def test_a_change_waits_for_the_morning_where_that_is_soon_enough(now, call_at, told_at):
    assert quiet.told_after(now, call_at, ZONE, COMPANY) == told_at


@pytest.mark.parametrize(
    ("due_at", "until", "known_at", "told_at"),
    [
        (at(27, 13), at(27, 15), at(26, 9), at(27, 13)),
        # Saturday: told on Friday before the office closes, or at once where it was not known then.
        (at(29, 10), at(29, 12), at(26, 9), at(28, 16)),
        (at(29, 10), at(29, 12), at(28, 16, 30), at(28, 16, 30)),
        (at(29, 10), at(29, 12), at(29, 10), at(29, 10)),
        # Known too late for the spell before: the next opening, where that is of use yet.
        (at(27, 20), at(28, 9), at(27, 19, 30), at(28, 7)),
        (at(27, 20), at(28, 6), at(27, 19, 30), at(27, 20)),
    ],
)
def test_the_office_is_reminded_in_its_hours(due_at, until, known_at, told_at):
    # Our choice of hours: seven to five, Monday to Friday.
    assert quiet.in_office_hours(due_at, until, known_at, COMPANY) == told_at


def test_an_office_that_works_on_saturdays_is_reminded_on_saturday():
    company = Company(time_zone="America/Chicago", office_saturdays=True)
    assert quiet.in_office_hours(at(29, 10), at(29, 12), at(26, 9), company) == at(29, 10)


# --- what becomes of reminders ----------------------------------------------------------------


@pytest.mark.django_db
def test_the_last_cut_of_a_slab_is_told_before_its_crew_sleeps(pour):
    answer = briefing.kept_answer(pour.plan)
    turn = reminders.turns(pour, pour.plan, factories.NOW)[ReminderKind.LAST_CUT]
    night = quiet.quiet_night(turn.due_at, ZONE, Company.objects.get())
    assert night is None or any(phase.starts_at <= turn.due_at < phase.ends_at for phase in answer.phases)
    assert turn.useful_until == answer.sawing.last_call_at


@pytest.mark.django_db
def test_rain_on_a_soft_slab_is_told_in_time_for_the_sheets(office):
    site = factories.site(name="Mill Rd garage")
    rain_at = STARTS_AT + 3 * HOUR
    mild = factories.mild_hours()
    wet = factories.mild_hours(rain_chance=0.9, rain_mm=3.0)
    factories.forecast(
        site, tuple(w if rain_at <= w.at < rain_at + HOUR else m for m, w in zip(mild, wet, strict=True))
    )
    pour = factories.pour(site=site, crew=factories.crew())
    factories.plan(pour)
    turn = reminders.turns(pour, pour.plan, factories.NOW)[ReminderKind.PROTECT]
    assert (turn.due_at, turn.useful_until) == (rain_at - 45 * MINUTE, rain_at + HOUR)
    reminders.send_due(now=turn.due_at)
    text = pour.reminders.get(kind=ReminderKind.PROTECT).messages.get()
    assert text.recipient == pour.crew.lead
    assert text.body == (
        "Mill Rd garage: rain from 10am. Sheets over the slab before it; work no rainwater in."
    )


@pytest.mark.django_db
def test_a_dry_day_and_a_slab_without_cylinders_need_neither_sheets_nor_laboratory(pour):
    assert not any(finding.severity is Severity.STOP for finding in briefing.kept_answer(pour.plan).findings)
    needed = reminders.turns(pour, pour.plan, factories.NOW)
    assert not {ReminderKind.PROTECT, ReminderKind.CYLINDERS} & needed.keys()


@pytest.mark.django_db
def test_test_cylinders_go_to_the_laboratory_the_day_after(office):
    # ASTM C31/C31M-19: at most 48 h where they were made.
    pour = factories.pour(site=factories.site(name="Depot"), crew=factories.crew(), test_cylinders=4)
    factories.plan(pour)
    turn = reminders.turns(pour, pour.plan, factories.NOW)[ReminderKind.CYLINDERS]
    assert (turn.due_at, turn.useful_until) == (STARTS_AT + 24 * HOUR, STARTS_AT + 48 * HOUR)
    reminders.send_due(now=turn.due_at)
    text = pour.reminders.get(kind=ReminderKind.CYLINDERS).messages.get()
    assert text.body == (
        "Depot: take the 4 test cylinders to the lab by Sun 7am. No jolts, no sun, no frost."
    )
