"""Moments and days as people say them: on a site's clock, in the company's manner."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.models import Units

# Half the readers take "12:00 pm" for the wrong one.
_SURE = {(0, 0): "midnight", (12, 0): "noon"}


def clock_time(moment: datetime, zone: ZoneInfo, units: str = Units.US) -> str:
    """7:05 am, or 07:05 where the company measures in metres."""
    at = moment.astimezone(zone)
    if units == Units.METRIC:
        return f"{at:%H:%M}"
    said = f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"
    return _SURE.get((at.hour, at.minute), said)


def from_to(start: datetime, end: datetime, zone: ZoneInfo, units: str = Units.US) -> str:
    """7:05–8:20 am; the half of the day is said once where it is the same, another day is named."""
    first, last = clock_time(start, zone, units), clock_time(end, zone, units)
    days = (end.astimezone(zone).date() - start.astimezone(zone).date()).days
    if days:
        return f"{first} – {last} {end.astimezone(zone):%a}"
    if first[-3:] == last[-3:] and first.endswith((" am", " pm")):
        first = first[:-3]
    return f"{first}–{last}"


def day_words(day: date, units: str = Units.US) -> str:
    """Thu, Jun 11, or Thu 11 Jun."""
    return f"{day:%a} {day.day} {day:%b}" if units == Units.METRIC else f"{day:%a}, {day:%b} {day.day}"


def long_day(day: date, units: str = Units.US) -> str:
    """Thursday, June 11, or Thursday 11 June."""
    return f"{day:%A} {day.day} {day:%B}" if units == Units.METRIC else f"{day:%A}, {day:%B} {day.day}"


def day_and_time(moment: datetime, zone: ZoneInfo, units: str = Units.US) -> str:
    """Thu, Jun 11, 7:05 am."""
    return f"{day_words(moment.astimezone(zone).date(), units)}, {clock_time(moment, zone, units)}"


def same_clock(one: ZoneInfo, other: ZoneInfo, moment: datetime) -> bool:
    """Whether two zones show the same time at that moment, whatever they are called."""
    return moment.astimezone(one).utcoffset() == moment.astimezone(other).utcoffset()


def lasting(length: timedelta) -> str:
    """1 h 20 min."""
    hours, minutes = divmod(round(length.total_seconds() / 60), 60)
    said = [f"{hours} h" if hours else "", f"{minutes} min" if minutes or not hours else ""]
    return " ".join(part for part in said if part)
