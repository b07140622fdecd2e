"""The facts of one finding as this reader is told them: in their units, on their clock."""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.quantities import (
    Dimension,
    UnitSystem,
    fact_dimension,
    format_fact,
    format_length_feet_inches,
    format_quantity,
    to_unit,
)

_MINUTE = timedelta(minutes=1)
# What rests on a forecast or on people's pace is not known to the minute.
_ROUGHLY = timedelta(minutes=5)
# Half the readers take "12 pm" for the wrong one.
_MIDNIGHT = "midnight"
_SURE = {(0, 0): _MIDNIGHT, (12, 0): "noon"}
_MOST_RUNS = 4
_LONG = 30  # feet or metres from which nobody wants the inches


class MissingFact(LookupError):
    """A sentence wants a fact that the finding does not carry, or carries as unknown."""


class Told:
    """Words each fact by what its name says it is.

    ``told["order_m3"]`` is ``20.5 yd3``, ``told["closes_at"]`` is ``3 pm``; a weekday stands before the
    time where the finding's moments are not all of one day.
    """

    def __init__(self, facts: Mapping[str, object], system: UnitSystem, zone: ZoneInfo) -> None:
        self._facts = facts
        self._system = system
        self._zone = zone
        moments = [self.moment(name) for name in facts if is_moment(name) and self.has(name)]
        self._one_day = len({moment.date() for moment in moments}) < 2

    def __getitem__(self, name: str) -> str:
        value = self._facts.get(name)
        if value is None:
            raise MissingFact(name)
        if is_moment(name):
            return self.clock(name)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return self._size(name, value) if isinstance(value, int | float) else str(value)

    def has(self, name: str) -> bool:
        return self._facts.get(name) is not None

    def true(self, name: str) -> bool:
        return self._facts.get(name) is True

    def number(self, name: str) -> float:
        value = self._facts.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise MissingFact(name)
        return value

    # --- sizes and counts ---------------------------------------------------------------------

    def _size(self, name: str, value: float) -> str:
        if fact_dimension(name) is Dimension.LENGTH:
            return self._length(value)
        return format_fact(name, value, self._system)

    def _length(self, value_m: float) -> str:
        """To the inch, or to the foot where it is long: ``33 ft``, ``12' 6"``; ``9.5 m``, ``190 m``."""
        shown = to_unit(value_m, Dimension.LENGTH, self._system)
        if shown["value"] >= _LONG:
            return f"{shown['value']:,.0f} {shown['unit']}"
        if self._system != UnitSystem.US:
            return format_quantity(value_m, Dimension.LENGTH, self._system)
        feet, inches = format_length_feet_inches(value_m, 1).removesuffix('"').split("' ")
        return f"{feet} ft" if inches == "0" else f"{feet}' {inches}\""

    def span(self, least: str, most: str) -> str:
        """``20.5 to 21.75 yd3``, the unit said once; one number where both read the same."""
        low, high = self[least], self[most]
        if low == high:
            return low
        number, _, unit = low.rpartition(" ")
        return f"{number if unit == high.rpartition(' ')[2] else low} to {high}"

    def hours(self, name: str) -> str:
        """A fact whose name says hours without ending in their unit."""
        return format_quantity(self.number(name), Dimension.HOURS, self._system)

    def minutes_up(self, name: str) -> str:
        """Whole minutes, rounded up: what is just over a limit must not read as if it met it."""
        return f"{math.ceil(self.number(name) - 1e-6)} min"

    def lasting(self, name: str) -> str:
        """Minutes as they are said: ``45 min``, ``3 h 10 min``."""
        minutes = round(self.number(name))
        if minutes < 60:
            return f"{minutes} min"
        hours, rest = divmod(minutes, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"

    def count(self, name: str, one: str, more: str) -> str:
        """``1 person``, ``3 people``."""
        number = round(self.number(name))
        return f"{number} {one if number == 1 else more}"

    def loads(self, name: str) -> str:
        """``Load 3``, ``Loads 3 and 5``, ``Loads 3 to 9``: from a list of numbers with commas between."""
        numbers = [int(number) for number in re.findall(r"\d+", self[name])]
        if not numbers:
            raise MissingFact(name)
        runs = _runs(numbers)
        said = [str(first) if first == last else f"{first} to {last}" for first, last in runs[:_MOST_RUNS]]
        unsaid = sum(last - first + 1 for first, last in runs[_MOST_RUNS:])
        if unsaid:
            said.append(f"{unsaid} more")
        return f"Load{'s' if len(numbers) > 1 else ''} {listed(said)}"

    # --- moments ------------------------------------------------------------------------------

    def moment(self, name: str) -> datetime:
        """On the reader's clock; facts kept as JSON carry their moments as text."""
        value = self._facts.get(name)
        if isinstance(value, str):
            value = datetime.fromisoformat(value)
        if not isinstance(value, datetime):
            raise MissingFact(name)
        return value.astimezone(self._zone)

    def clock(self, name: str, *, dated: bool = False) -> str:
        """``6:40 am``, or ``06:40`` to readers of metric units; `dated` names the weekday in any case."""
        return self._said(self.moment(name), dated)

    def at(self, name: str) -> str:
        """``at 6:40 am``, but ``Thu 6:40 am``."""
        return f"at {self[name]}" if self._one_day else self[name]

    def about(self, name: str, *, dated: bool = False) -> str:
        """To the nearest five minutes."""
        return self._said(_rounded(self.moment(name), _ROUGHLY, round), dated)

    def no_earlier(self, name: str) -> str:
        """The first whole minute that is not before it."""
        return self._said(_rounded(self.moment(name), _MINUTE, lambda steps: -int(-steps // 1)), False)

    def from_to(self, start: str, end: str, *, dated: bool = False) -> str:
        """``from 11 am to 4 pm``, ``from Thu 10 pm to Fri 2 am``, or ``around 2 pm`` for one moment."""
        first, last = self.moment(start), self.moment(end)
        if first == last:
            return f"around {self._said(first, dated)}"
        # A weekday said of the start holds for an end on the same day, and for the midnight that ends it.
        same_day = (last - _MINUTE).date() == first.date()
        until = self._time(last) if same_day else self._said(last, dated)
        return f"from {self._said(first, dated)} to {until}"

    def day(self, name: str) -> str:
        """``Thursday``."""
        return f"{self.moment(name):%A}"

    def _said(self, moment: datetime, dated: bool) -> str:
        said = self._time(moment)
        if self._one_day and not dated:
            return said
        if said == _MIDNIGHT:
            return f"{said} {moment - _MINUTE:%a}/{moment:%a}"
        return f"{moment:%a} {said}"

    def _time(self, moment: datetime) -> str:
        return _twelve_hours(moment) if self._system == UnitSystem.US else f"{moment:%H:%M}"


def is_moment(name: str) -> bool:
    """Whether a fact of that name is a moment."""
    return name.endswith(("_at", "_until"))


def listed(words: Iterable[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    *before, end = words
    return f"{', '.join(before)} {last} {end}" if before else end


def _runs(numbers: list[int]) -> list[tuple[int, int]]:
    """Neighbouring numbers put together, three or more of them: 1, 2, 5, 6, 7 as 1, 2 and 5 to 7."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return [part for first, last in runs for part in _parted(first, last)]


def _parted(first: int, last: int) -> list[tuple[int, int]]:
    return [(first, first), (last, last)] if last == first + 1 else [(first, last)]


def _rounded(moment: datetime, step: timedelta, to_whole: Callable[[float], int]) -> datetime:
    steps = to_whole(moment.timestamp() / step.total_seconds())
    return datetime.fromtimestamp(steps * step.total_seconds(), UTC).astimezone(moment.tzinfo)


def _twelve_hours(moment: datetime) -> str:
    if sure := _SURE.get((moment.hour, moment.minute)):
        return sure
    minutes = f":{moment:%M}" if moment.minute else ""
    return f"{moment.hour % 12 or 12}{minutes} {'am' if moment.hour < 12 else 'pm'}"


# A text with the facts it names in braces, or a function where the words depend on the facts.
Sentence = str | Callable[[Told], str]
