"""Moments as they are said in a text."""

from datetime import datetime, timedelta

# Half the readers take "12pm" for the wrong one.
_SURE = {(0, 0): "midnight", (12, 0): "noon"}


def clock(moment: datetime, day: datetime | None = None) -> str:
    """``7am``, ``1:20pm``; with the weekday before it where it is not on the calendar day of `day`."""
    said = _SURE.get((moment.hour, moment.minute)) or _on_the_clock(moment)
    if day is not None and moment.date() != day.date():
        return f"{moment:%a} {said}"
    return said


def _on_the_clock(moment: datetime) -> str:
    minutes = f":{moment:%M}" if moment.minute else ""
    return f"{moment.hour % 12 or 12}{minutes}{'am' if moment.hour < 12 else 'pm'}"


def about(moment: datetime, day: datetime | None = None) -> str:
    """A forecast moment, to the five minutes before it: nobody knows a slab to the minute."""
    return clock(moment - timedelta(minutes=moment.minute % 5), day)


def zone_clock(moment: datetime) -> str:
    """The same with the zone's short name, for people whose clocks differ: ``6am CDT``."""
    return f"{clock(moment)} {moment:%Z}"


def day_name(moment: datetime) -> str:
    """``Fri Aug 28``."""
    return f"{moment:%a %b} {moment.day}"
