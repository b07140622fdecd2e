"""What quantities there are, the units each takes, and the exact way between units and storage."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import TypedDict

import pint


class UnitSystem(StrEnum):
    US = "us"
    METRIC = "metric"


class Dimension(StrEnum):
    """What a quantity is of. Each has one storage unit and a short list of units people may give."""

    LENGTH = "length"
    DEPTH = "depth"
    AREA = "area"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature_difference"
    SPEED = "speed"
    MASS = "mass"
    DENSITY = "density"
    EVAPORATION = "evaporation"
    VOLUME_RATE = "volume_rate"
    AREA_RATE = "area_rate"
    STRENGTH = "strength"
    AGGREGATE = "aggregate"
    RAIN = "rain"
    SLUMP = "slump"
    SLOPE = "slope"
    MINUTES_A_VOLUME = "minutes_a_volume"
    MINUTES = "minutes"
    HOURS = "hours"
    PERCENT = "percent"
    FRACTION = "fraction"


class UnitValue(TypedDict):
    """A quantity as programs carry it."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class _Measure:
    """`us` and `metric` are the units shown, with the decimals people see; `least` is in `storage`."""

    words: str
    example: str
    storage: str
    units: tuple[str, ...]
    us: tuple[str, int]
    metric: tuple[str, int]
    least: Fraction | None = Fraction(0)


_LENGTHS = ("ft", "in", "m", "cm", "mm")
_SPEEDS = ("mph", "km/h", "m/s")
_WEIGHTS_BY_VOLUME = ("lb/ft3", "lb/yd3", "kg/m3")
_ABSOLUTE_ZERO_C = Fraction("-273.15")

_MEASURES: dict[Dimension, _Measure] = {
    Dimension.LENGTH: _Measure("a length", "30' 6\"", "m", _LENGTHS, ("ft", 2), ("m", 2)),
    Dimension.DEPTH: _Measure("a depth", "4 1/2 in", "m", _LENGTHS, ("in", 2), ("mm", 0)),
    Dimension.AREA: _Measure("an area", "400 ft2", "m2", ("ft2", "m2"), ("ft2", 0), ("m2", 1)),
    Dimension.VOLUME: _Measure("a volume", "18 yd3", "m3", ("yd3", "ft3", "m3"), ("yd3", 2), ("m3", 2)),
    Dimension.TEMPERATURE: _Measure(
        "a temperature", "65 F", "C", ("F", "C"), ("F", 0), ("C", 0), _ABSOLUTE_ZERO_C
    ),
    Dimension.TEMPERATURE_DIFFERENCE: _Measure(
        "a difference in temperature", "20 F", "C", ("F", "C"), ("F", 0), ("C", 0), None
    ),
    Dimension.SPEED: _Measure("a speed", "12 mph", "m/s", _SPEEDS, ("mph", 0), ("km/h", 0)),
    Dimension.MASS: _Measure("a weight", "66000 lb", "kg", ("lb", "kg", "t"), ("lb", 0), ("kg", 0)),
    Dimension.DENSITY: _Measure(
        "a density", "150 lb/ft3", "kg/m3", _WEIGHTS_BY_VOLUME, ("lb/ft3", 0), ("kg/m3", 0)
    ),
    Dimension.EVAPORATION: _Measure(
        "an evaporation rate",
        "0.2 lb/ft2/h",
        "kg/m2/h",
        ("lb/ft2/h", "kg/m2/h"),
        ("lb/ft2/h", 2),
        ("kg/m2/h", 2),
    ),
    Dimension.VOLUME_RATE: _Measure(
        "a rate", "40 yd3/h", "m3/h", ("yd3/h", "m3/h"), ("yd3/h", 1), ("m3/h", 1)
    ),
    Dimension.AREA_RATE: _Measure(
        "a rate", "1500 ft2/h", "m2/h", ("ft2/h", "m2/h"), ("ft2/h", 0), ("m2/h", 0)
    ),
    Dimension.STRENGTH: _Measure(
        "a strength", "4000 psi", "MPa", ("psi", "MPa", "N/mm2"), ("psi", 0), ("MPa", 1)
    ),
    Dimension.AGGREGATE: _Measure("a stone size", "3/4 in", "mm", ("in", "mm"), ("in", 2), ("mm", 0)),
    Dimension.RAIN: _Measure("a depth of rain", "0.1 in", "mm", ("in", "mm"), ("in", 2), ("mm", 1)),
    Dimension.SLUMP: _Measure("a slump", "4 in", "mm", ("in", "mm"), ("in", 2), ("mm", 0)),
    Dimension.SLOPE: _Measure("a slope", "1/4 in per ft", "", ("in/ft", "%"), ("in/ft", 2), ("%", 1)),
    Dimension.MINUTES_A_VOLUME: _Measure(
        "a time by volume", "7 min/yd3", "min/m3", ("min/yd3", "min/m3"), ("min/yd3", 1), ("min/m3", 1)
    ),
    Dimension.MINUTES: _Measure("a time", "90 min", "min", ("min", "h"), ("min", 0), ("min", 0)),
    Dimension.HOURS: _Measure("a time", "1.5 h", "h", ("h", "min"), ("h", 1), ("h", 1)),
    Dimension.PERCENT: _Measure("a percentage", "5 %", "%", ("%",), ("%", 1), ("%", 1)),
    Dimension.FRACTION: _Measure("a percentage", "45 %", "", ("%",), ("%", 0), ("%", 0)),
}

UNITS: Mapping[Dimension, tuple[str, ...]] = {dimension: m.units for dimension, m in _MEASURES.items()}
"""The units each dimension takes, as programs spell them."""


class QuantityError(ValueError):
    """A quantity that cannot be read, said in a sentence that names the units it takes.

    Attributes
    ----------
    code : str
        Stable word for the kind of fault.
    units : tuple of str
        What the dimension takes.
    """

    def __init__(self, code: str, problem: str, dimension: Dimension) -> None:
        measure = _MEASURES[dimension]
        units = ", ".join(measure.units)
        super().__init__(f"{problem} Give {measure.words} such as {measure.example} (units: {units}).")
        self.code = code
        self.units = measure.units


_REGISTRY: pint.UnitRegistry = pint.UnitRegistry(non_int_type=Fraction)

# How people spell the parts of a unit, in lower case without spaces, dots, degree signs or carets.
_SPELLINGS = {
    "ft": "ft foot feet '",
    "in": 'in inch inches "',
    "m": "m meter meters metre metres",
    "cm": "cm centimeter centimeters centimetre centimetres",
    "mm": "mm millimeter millimeters millimetre millimetres",
    "ft2": "ft2 sf sqft squarefoot squarefeet",
    "m2": "m2 sqm squaremeter squaremeters squaremetre squaremetres",
    "mm2": "mm2",
    "yd3": "yd3 cy cuyd cuyds cubicyard cubicyards",
    "ft3": "ft3 cf cuft cubicfoot cubicfeet",
    "m3": "m3 cubicmeter cubicmeters cubicmetre cubicmetres",
    "F": "f degf degreesf fahrenheit",
    "C": "c degc degreesc celsius",
    "lb": "lb lbs pound pounds",
    "kg": "kg kgs kilogram kilograms",
    "t": "t tonne tonnes",
    "N": "n",
    "psi": "psi",
    "MPa": "mpa",
    "mph": "mph",
    "km": "km",
    "km/h": "kmh kph",
    "lb/ft3": "pcf",
    "s": "s sec",
    "min": "min mins minute minutes",
    "h": "h hr hrs hour hours",
    "%": "% percent pct",
}
_PARTS = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings.split()}
_BARE_SPELLING = str.maketrans({" ": "", ".": "", "°": "", "^": "", "²": "2", "³": "3"})
_EVERY_UNIT = {unit for units in UNITS.values() for unit in units}


_PER = re.compile(r"\bper\b")


@lru_cache(maxsize=1024)
def _canonical(spelling: str) -> str:
    parts = _PER.sub("/", spelling.lower()).translate(_BARE_SPELLING).split("/")
    return "/".join(_PARTS.get(part, "?") for part in parts)


def accepted(spelling: str, dimension: Dimension) -> str:
    """The unit meant by a spelling, where the dimension takes it; `QuantityError` where not."""
    unit = _canonical(spelling)
    if unit in _MEASURES[dimension].units:
        return unit
    if unit in _EVERY_UNIT:
        problem = f"{unit} is not a unit for {_MEASURES[dimension].words}."
        raise QuantityError("wrong_dimension", problem, dimension)
    raise QuantityError("unknown_unit", "The unit is not one that this takes.", dimension)


def _pint_name(unit: str, dimension: Dimension) -> str:
    if unit in ("F", "C"):
        return f"{'delta_' if dimension is Dimension.TEMPERATURE_DIFFERENCE else ''}deg{unit}"
    named = {"%": "percent", "": "dimensionless"}.get(unit, unit)
    return re.sub(r"([23])", r"**\1", named)


@lru_cache
def _scale(unit: str, dimension: Dimension) -> tuple[Fraction, Fraction]:
    """The exact factor and zero that take a number in `unit` to the storage unit."""
    storage = _pint_name(_MEASURES[dimension].storage, dimension)
    name = _pint_name(unit, dimension)
    zero, one = (Fraction(_REGISTRY.Quantity(Fraction(n), name).to(storage).magnitude) for n in (0, 1))
    return one - zero, zero


def stored(number: Fraction, unit: str, dimension: Dimension) -> float:
    """Take a number in one of a dimension's units to storage, refusing what is below its least."""
    factor, zero = _scale(unit, dimension)
    exact = number * factor + zero
    least = _MEASURES[dimension].least
    if least is not None and exact < least:
        if dimension is Dimension.TEMPERATURE:
            raise QuantityError("too_cold", "There is nothing colder than absolute zero.", dimension)
        raise QuantityError("negative", "It must not be negative.", dimension)
    return float(exact)


def shown(value: float, unit: str, dimension: Dimension) -> Fraction:
    """Take a stored value to the exact number of it in a unit."""
    factor, zero = _scale(unit, dimension)
    return (Fraction(value) - zero) / factor


def display_unit(dimension: Dimension, system: UnitSystem) -> str:
    """The unit in which a dimension is answered to people and programs of a unit system."""
    return display(dimension, system)[0]


def display(dimension: Dimension, system: UnitSystem) -> tuple[str, int]:
    """The unit a dimension is shown in, and to how many decimals for people."""
    measure = _MEASURES[dimension]
    return measure.us if system == UnitSystem.US else measure.metric
