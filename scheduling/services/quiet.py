"""When people are told: not in their night unless at work or in danger, and the office in its hours."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduling.models import Company

LAST_WORD = timedelta(minutes=15)  # before their quiet hours begin, or their work ends
SATURDAY = 5
A_FORTNIGHT = 14
DAY = timedelta(days=1)


class Spell(NamedTuple):
    """A stretch of time, its end not within it."""

    starts_at: datetime
    ends_at: datetime

    def holds(self, moment: datetime) -> bool:
        return self.starts_at <= moment < self.ends_at


# --- their night ------------------------------------------------------------------------------


def quiet_night(moment: datetime, zone: ZoneInfo, company: Company) -> Spell | None:
    """The quiet hours that hold the moment, on the clock of the reader's place; None by day."""
    day = moment.astimezone(zone).date()
    nights = (_night(first, zone, company) for first in (day - DAY, day))
    return next((night for night in nights if night.holds(moment)), None)


def _night(day: date, zone: ZoneInfo, company: Company) -> Spell:
    """The quiet hours that begin on that day: over midnight, as quiet hours do, or within the day."""
    last = day if company.quiet_from < company.quiet_until else day + DAY
    return Spell(_on(day, company.quiet_from, zone), _on(last, company.quiet_until, zone))


def told_before(due_at: datetime, work: Iterable[Spell], zone: ZoneInfo, company: Company) -> datetime:
    """The moment itself, or where that would wake the reader the last one at which they are up."""
    night = quiet_night(due_at, zone, company)
    spells = list(work)
    if night is None or any(spell.holds(due_at) for spell in spells):
        return due_at
    up_until = [spell.ends_at for spell in spells if night.starts_at < spell.ends_at <= due_at]
    return max([night.starts_at, *up_until]) - LAST_WORD


def told_after(now: datetime, call_at: datetime, zone: ZoneInfo, company: Company) -> datetime:
    """Now, or where that would wake the reader and time is left the end of their night."""
    night = quiet_night(now, zone, company)
    if night is None or call_at < night.ends_at + timedelta(hours=1):
        return now
    return night.ends_at


# --- the office's hours -----------------------------------------------------------------------


def in_office_hours(
    due_at: datetime, useful_until: datetime, known_at: datetime, company: Company
) -> datetime:
    """The moment itself while the office is open, else the end of the spell before it.

    Where it was not `known_at` then: the next opening, if that is not too late, or the moment all the same.
    """
    zone = ZoneInfo(company.time_zone)
    day = due_at.astimezone(zone).date()
    days = [day + DAY * n for n in range(-A_FORTNIGHT, A_FORTNIGHT)]
    spells = [_office_day(one, zone, company) for one in days if _is_open(one, company)]
    if any(spell.holds(due_at) for spell in spells):
        return due_at
    before = [spell for spell in spells if spell.ends_at <= due_at]
    if before and known_at <= before[-1].ends_at - LAST_WORD:
        return max(before[-1].ends_at - timedelta(hours=1), known_at)
    opening = next((spell.starts_at for spell in spells if spell.starts_at > due_at), None)
    return opening if opening and opening < useful_until else due_at


def _is_open(day: date, company: Company) -> bool:
    return day.weekday() < SATURDAY or (day.weekday() == SATURDAY and company.office_saturdays)


def _office_day(day: date, zone: ZoneInfo, company: Company) -> Spell:
    return Spell(_on(day, company.office_opens_at, zone), _on(day, company.office_closes_at, zone))


def _on(day: date, clock: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, clock, zone).astimezone(UTC)
