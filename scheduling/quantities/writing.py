"""Quantities for people and for programs, out of storage units."""

from fractions import Fraction

from scheduling.quantities.units import Dimension, UnitSystem, UnitValue, display, display_unit, shown


def to_unit(value: float, dimension: Dimension, system: UnitSystem) -> UnitValue:
    """Give a stored value to a program, in the unit system's own unit, to the sixth decimal."""
    unit = display_unit(dimension, system)
    return {"value": round(float(shown(value, unit, dimension)), 6) + 0.0, "unit": unit}


def format_quantity(value: float, dimension: Dimension, system: UnitSystem) -> str:
    """Write a stored value for people: ``52' 0"``, ``4 1/2 in``, ``40.25 yd3``, ``65 °F``."""
    unit, decimals = display(dimension, system)
    if unit == "ft":
        return format_length_feet_inches(value)
    amount = shown(value, unit, dimension)
    if unit == "in/ft":
        return f"{_in_parts(amount, 16)} in per ft"
    if unit == "in" and dimension is not Dimension.RAIN:
        return f"{_in_parts(amount, 16)} in"
    number = _decimals(float(amount), decimals)
    if unit == "%":
        return f"{number}%"
    return f"{number} {'°' if unit in ('F', 'C') else ''}{unit}"


def format_length_feet_inches(length_m: float, denominator: int = 16) -> str:
    """Write a length as feet and inches, to the nearest part of an inch: ``30' 6 1/2"``."""
    ticks = round(shown(length_m, "in", Dimension.LENGTH) * denominator)
    feet, rest = divmod(abs(ticks), 12 * denominator)
    return f"{'-' if ticks < 0 else ''}{feet}' {_in_parts(Fraction(rest, denominator), denominator)}\""


def _in_parts(number: Fraction, denominator: int) -> str:
    ticks = round(number * denominator)
    whole, rest = divmod(abs(ticks), denominator)
    part = str(Fraction(rest, denominator)) if rest else ""
    text = f"{whole or ''} {part}".strip() or "0"
    return f"-{text}" if ticks < 0 else text


def _decimals(number: float, decimals: int) -> str:
    """With commas between thousands and without idle noughts."""
    text = f"{round(number, decimals) + 0.0:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if decimals else text


# How the engine's fact names say what they are of; the longest ending wins.
_ENDINGS: dict[str, Dimension] = {
    "m": Dimension.LENGTH,
    "m2": Dimension.AREA,
    "m3": Dimension.VOLUME,
    "c": Dimension.TEMPERATURE,
    "difference_c": Dimension.TEMPERATURE_DIFFERENCE,
    "drop_c": Dimension.TEMPERATURE_DIFFERENCE,
    "m_s": Dimension.SPEED,
    "kg": Dimension.MASS,
    "kg_m3": Dimension.DENSITY,
    "kg_m2_h": Dimension.EVAPORATION,
    "m3_h": Dimension.VOLUME_RATE,
    "m2_h": Dimension.AREA_RATE,
    "mpa": Dimension.STRENGTH,
    "mm": Dimension.RAIN,
    "aggregate_mm": Dimension.AGGREGATE,
    "slump_mm": Dimension.SLUMP,
    "min": Dimension.MINUTES,
    "h": Dimension.HOURS,
    "percent": Dimension.PERCENT,
    "fraction": Dimension.FRACTION,
    "humidity": Dimension.FRACTION,
    "chance": Dimension.FRACTION,
    "cloud": Dimension.FRACTION,
}
_DEPTH_WORDS = ("depth", "thick", "fall")


def fact_dimension(name: str) -> Dimension | None:
    """What an engine fact is of, by the unit its name ends in; None for a plain number."""
    words = name.split("_")
    endings = ("_".join(words[start:]) for start in range(len(words)))
    dimension = next((_ENDINGS[ending] for ending in endings if ending in _ENDINGS), None)
    if dimension is Dimension.LENGTH and any(word in name for word in _DEPTH_WORDS):
        return Dimension.DEPTH
    return dimension


def format_fact(name: str, value: float, system: UnitSystem) -> str:
    """Write an engine fact for people, by the unit its name ends in; a plain number where none is."""
    dimension = fact_dimension(name)
    return _decimals(value, 2) if dimension is None else format_quantity(value, dimension, system)
