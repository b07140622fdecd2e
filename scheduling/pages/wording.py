"""Numbers, moments and findings as this company's people are told them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from scheduling.models import Company, Units
from scheduling.pages.clock import clock_time, day_and_time, from_to
from scheduling.quantities import Dimension, UnitSystem, format_quantity
from scheduling.sentences import say

_RAISED = re.compile(r"\b(ft|in|yd|mm|m)([23])\b")
_QUARTERS = {0.0: "", 0.25: "¼", 0.5: "½", 0.75: "¾"}
_ABOUT = timedelta(minutes=5)


def raised(said: str) -> str:
    """With the 2 of ft2 and the 3 of yd3 raised."""
    return _RAISED.sub(lambda unit: unit[1] + ("²" if unit[2] == "2" else "³"), said)


def about(moment: datetime) -> datetime:
    """To the nearest five minutes: what rests on a forecast is not known to the minute."""
    step = _ABOUT.total_seconds()
    return datetime.fromtimestamp(round(moment.timestamp() / step) * step, moment.tzinfo)


class Length(Protocol):
    """What sending a text takes, as services measure it."""

    @property
    def segments(self) -> int: ...
    @property
    def units(self) -> int: ...
    @property
    def room(self) -> int: ...
    @property
    def wide(self) -> tuple[str, ...]: ...


def length_words(length: Length) -> str:
    """Takes 2 messages: 301 of 306 signs."""
    many = "1 message" if length.segments == 1 else f"{length.segments} messages"
    said = f"Takes {many}: {length.units} of {length.room} signs."
    if not length.wide:
        return said
    return f"{said} {' '.join(length.wide)} must go in an alphabet that holds less than half as much."


@dataclass(frozen=True)
class Words:
    """How this company says things: in its units, on the clock it is given."""

    units: str
    office: ZoneInfo
    sign: str = "$"

    @classmethod
    def of(cls, company: Company | None) -> "Words":
        if company is None:
            return cls(Units.US, ZoneInfo("UTC"))
        return cls(company.units, ZoneInfo(company.time_zone), company.currency_sign)

    @property
    def system(self) -> UnitSystem:
        return UnitSystem(self.units)

    def amount(self, value: float, dimension: Dimension) -> str:
        return raised(format_quantity(value, dimension, self.system))

    def volume(self, value_m3: float) -> str:
        return self.amount(value_m3, Dimension.VOLUME)

    def ordered(self, value_m3: float) -> str:
        """A volume as it is asked of a plant: 32¼ yd³."""
        number, unit = self.volume(value_m3).split(" ", 1)
        whole, _, part = number.partition(".")
        quarters = _QUARTERS.get(float(f"0.{part or 0}"))
        if quarters is None or self.units != Units.US:
            return f"{number} {unit}"
        return f"{'' if whole == '0' and quarters else whole}{quarters} {unit}"

    def length(self, value_m: float) -> str:
        return self.amount(value_m, Dimension.LENGTH)

    def depth(self, value_m: float) -> str:
        return self.amount(value_m, Dimension.DEPTH)

    def area(self, value_m2: float) -> str:
        return self.amount(value_m2, Dimension.AREA)

    def money(self, amount: float) -> str:
        """Whole money: no plan knows the cents."""
        return f"{self.sign}{amount:,.0f}"

    def temperature(self, value_c: float) -> str:
        return self.amount(value_c, Dimension.TEMPERATURE)

    def drying(self, value_kg_m2_h: float) -> str:
        return self.amount(value_kg_m2_h, Dimension.EVAPORATION)

    def clock(self, moment: datetime, zone: ZoneInfo) -> str:
        return clock_time(moment, zone, self.units)

    def day_and_time(self, moment: datetime, zone: ZoneInfo) -> str:
        return day_and_time(moment, zone, self.units)

    def from_to(self, start: datetime, end: datetime, zone: ZoneInfo) -> str:
        return from_to(start, end, zone, self.units)

    def about_from_to(self, start: datetime, end: datetime, zone: ZoneInfo) -> str:
        return self.from_to(about(start), about(end), zone)

    def finding(self, finding: Mapping[str, Any], zone: ZoneInfo) -> str:
        """A finding kept with a plan, as a sentence."""
        return raised(say(finding["code"], finding["facts"], self.system, zone))
