"""Moments as they are said in a text, in the language that is spoken just now."""

from datetime import datetime, timedelta

from django.utils.translation import gettext, gettext_noop, npgettext

WEEKDAYS = (
    gettext_noop("Mon"),
    gettext_noop("Tue"),
    gettext_noop("Wed"),
    gettext_noop("Thu"),
    gettext_noop("Fri"),
    gettext_noop("Sat"),
    gettext_noop("Sun"),
)
MONTHS = (
    gettext_noop("Jan"),
    gettext_noop("Feb"),
    gettext_noop("Mar"),
    gettext_noop("Apr"),
    gettext_noop("May"),
    gettext_noop("Jun"),
    gettext_noop("Jul"),
    gettext_noop("Aug"),
    gettext_noop("Sep"),
    gettext_noop("Oct"),
    gettext_noop("Nov"),
    gettext_noop("Dec"),
)


def clock(moment: datetime, day: datetime | None = None) -> str:
    """``7am``, ``1:20pm``; with the weekday before it where it is not on the calendar day of `day`."""
    if day is None or moment.date() == day.date():
        return _hour(moment)
    return gettext("{weekday} {clock}").format(weekday=weekday(moment), clock=_hour(moment))


def the_clock(moment: datetime, day: datetime | None = None, zone: str = "") -> str:
    """The same as a sentence says it, after "at" or "from": ``7am``, in Spanish ``las 7am``, ``la 1pm``."""
    hour = moment.hour % 12 or 12
    said = npgettext("after at or from", "{clock}", "{clock}", hour).format(clock=_hour(moment) + zone)
    if day is None or moment.date() == day.date():
        return said
    return gettext("{weekday} {the_clock}").format(weekday=weekday(moment), the_clock=said)


def _hour(moment: datetime) -> str:
    # Half the readers take "12pm" for the wrong one.
    if (moment.hour, moment.minute) == (0, 0):
        return gettext("midnight")
    if (moment.hour, moment.minute) == (12, 0):
        return gettext("noon")
    minutes = f":{moment:%M}" if moment.minute else ""
    return f"{moment.hour % 12 or 12}{minutes}{'am' if moment.hour < 12 else 'pm'}"


def roughly(moment: datetime) -> datetime:
    """A forecast moment, to the five minutes before it: nobody knows a slab to the minute."""
    return moment - timedelta(minutes=moment.minute % 5)


def about(moment: datetime, day: datetime | None = None) -> str:
    """A forecast moment on the clock."""
    return clock(roughly(moment), day)


def the_about(moment: datetime, day: datetime | None = None) -> str:
    """A forecast moment as a sentence says it, after "at" or "from"."""
    return the_clock(roughly(moment), day)


def zone_clock(moment: datetime) -> str:
    """The clock with the zone's short name, for people whose clocks differ: ``6am CDT``."""
    return f"{clock(moment)} {moment:%Z}"


def the_zone_clock(moment: datetime) -> str:
    """The same as a sentence says it, after "at" or "from"."""
    return the_clock(moment, zone=f" {moment:%Z}")


def weekday(moment: datetime) -> str:
    """``Fri``."""
    return gettext(WEEKDAYS[moment.weekday()])


def day_name(moment: datetime) -> str:
    """``Fri Aug 28``."""
    month = gettext(MONTHS[moment.month - 1])
    return gettext("{weekday} {month} {day}").format(weekday=weekday(moment), month=month, day=moment.day)
