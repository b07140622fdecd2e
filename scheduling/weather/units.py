"""Units as weather services and station files write them, and wind in words."""

from __future__ import annotations

import logging
import re
from enum import StrEnum
from typing import NamedTuple

logger = logging.getLogger(__name__)


class Measure(StrEnum):
    """What a value measures; the engine's unit is in brackets."""

    TEMPERATURE = "temperature"  # [°C]
    SPEED = "speed"  # [m/s]
    FRACTION = "fraction"  # [0..1]
    RAIN = "rain"  # [mm]
    SUN = "sun"  # [W/m2]


class Scale(NamedTuple):
    """``engine value = value * factor + offset``."""

    factor: float
    offset: float = 0.0


_CELSIUS, _FAHRENHEIT, _KELVIN = Scale(1.0), Scale(1 / 1.8, -32 / 1.8), Scale(1.0, -273.15)
_M_S, _KM_H, _MPH, _KNOT = Scale(1.0), Scale(1 / 3.6), Scale(0.44704), Scale(1852 / 3600)
_PERCENT, _WHOLE = Scale(0.01), Scale(1.0)
_MM, _CM, _INCH = Scale(1.0), Scale(10.0), Scale(25.4)
_W_M2 = Scale(1.0)

_SPELLINGS: dict[Measure, dict[str, Scale]] = {
    Measure.TEMPERATURE: {
        **dict.fromkeys(("degc", "c", "celsius"), _CELSIUS),
        **dict.fromkeys(("degf", "f", "fahrenheit"), _FAHRENHEIT),
        **dict.fromkeys(("k", "kelvin"), _KELVIN),
    },
    Measure.SPEED: {
        **dict.fromkeys(("m/s", "m_s-1", "ms", "mps"), _M_S),
        **dict.fromkeys(("km/h", "km_h-1", "kmh", "kph"), _KM_H),
        **dict.fromkeys(("mph", "mp/h", "mi/h", "mi_h-1"), _MPH),
        **dict.fromkeys(("kn", "kt", "kts", "knots"), _KNOT),
    },
    Measure.FRACTION: {
        **dict.fromkeys(("percent", "%", "pct"), _PERCENT),
        **dict.fromkeys(("fraction", "1"), _WHOLE),
    },
    Measure.RAIN: {
        **dict.fromkeys(("mm", "millimeter", "kg_m-2"), _MM),
        "cm": _CM,
        **dict.fromkeys(("in", "inch", "inches"), _INCH),
    },
    Measure.SUN: dict.fromkeys(("w/m2", "w_m-2", "wm-2"), _W_M2),
}
# One spelling of each unit, for telling people what they may write.
CHOICES: dict[Measure, str] = {
    Measure.TEMPERATURE: "degC, degF or K",
    Measure.SPEED: "m/s, km/h, mph or kn",
    Measure.FRACTION: "% or fraction",
    Measure.RAIN: "mm, cm or inch",
    Measure.SUN: "W/m2",
}

_PREFIX = re.compile(r"^(wmounit|unit|uc|nwsunit):")

_WIND_WORDS = re.compile(r"(?:around |about |up to )?(\d+(?:\.\d+)?)(?: to (\d+(?:\.\d+)?))? ([a-z/]+)")


def scale_of(unit: str, measure: Measure) -> Scale | None:
    """Return how `unit` is carried into the engine's unit for `measure`; None for a unit not known.

    Namespaces (``wmoUnit:``, ``unit:``, ``uc:``, ``nwsUnit:``), case, blanks and degree signs do not matter.
    """
    plain = _PREFIX.sub("", unit.strip().lower())
    plain = plain.replace("°", "deg").replace("²", "2").replace(" ", "")
    return _SPELLINGS[measure].get(plain)


def converted(value: float, unit: str, measure: Measure) -> float | None:
    """Return `value` in the engine's unit; None, and a line in the log, for a unit not known."""
    scale = scale_of(unit, measure)
    if scale is None:
        logger.warning("Left out a %s in the unknown unit %r.", measure, unit)
        return None
    return value * scale.factor + scale.offset


def wind_in_words_m_s(words: str) -> float | None:
    """Return the wind that words such as ``5 to 10 mph`` name, m/s; the upper end of a range.

    ``Calm`` is 0. Anything else without a number and a unit, such as ``Breezy``, is None.
    """
    plain = " ".join(words.lower().split())
    if plain == "calm":
        return 0.0
    match = _WIND_WORDS.fullmatch(plain)
    if match is None:
        logger.warning("Left out a wind said as %r.", words)
        return None
    low, high, unit = match.groups()
    return converted(float(high or low), unit, Measure.SPEED)
