"""Quantities as people type them and as programs send them, into storage units."""

import math
import re
from collections.abc import Mapping
from fractions import Fraction

from scheduling.quantities.units import Dimension, QuantityError, accepted, stored

MOST_CHARACTERS = 60
_TYPED = str.maketrans(
    {
        **dict.fromkeys("’‘′ʹ", "'"),
        **dict.fromkeys("”“″ʺ", '"'),
        **dict.fromkeys("−–‐‑", "-"),
        "⁄": "/",
        "¼": " 1/4",
        "½": " 1/2",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
    }
)
_THOUSANDS = r"[1-9]\d{0,2}(?:,\d{3})+"
_DECIMAL = rf"{_THOUSANDS}(?:\.\d+)?|\d+(?:\.\d*)?|\.\d+|\d+,(?:\d{{1,2}}|\d{{4,}})|0,\d+"
_SET_OFF = re.compile(rf"{_THOUSANDS}(?:\.\d+)?")
_PARTED = r"(?:(?P<whole>\d+) ?[ -] ?)?(?P<top>\d+)/(?P<bottom>\d+)"
_SINGLE = re.compile(
    rf"(?P<sign>[+-]?) ?(?:{_PARTED}|(?P<decimal>{_DECIMAL})) ?(?P<unit>(?:[^\d\s.,/+-].*)?)", re.ASCII
)
_FEET_AND_INCHES = re.compile(
    rf"(?P<sign>[+-]?) ?(?P<feet>{_THOUSANDS}|\d+) ?(?:'|ft\.?|foot|feet)[ ,-]{{0,3}}"
    rf"(?:{_PARTED}|(?P<decimal>\d+(?:\.\d*)?|\.\d+)) ?(?:\"|in\.?|inch|inches)?",
    re.ASCII | re.IGNORECASE,
)
_FEET_DASH_INCHES = re.compile(
    r"(?P<sign>[+-]?) ?(?P<feet>\d+)-(?P<decimal>\d+(?:\.\d+)?)(?:[ -](?P<top>\d+)/(?P<bottom>\d+))?",
    re.ASCII,
)


def parse(text: str, dimension: Dimension, bare_unit: str | None = None) -> float:
    """Read a quantity as people type it.

    Feet and inches go together in any of the usual ways (``30' 6 1/2"``, ``30 ft 6 in``,
    ``30'-6"``, ``30-6``), fractions and half signs are read, and thousands may be set off by commas.
    A comma followed by exactly three digits sets off thousands ("4,000" is four thousand); with any
    other count of digits, or after a lone nought, it is a decimal comma ("13,5" is thirteen and a
    half, "0,125" an eighth).

    Parameters
    ----------
    text : str
        At most 60 characters.
    dimension : Dimension
    bare_unit : str, optional
        What a number without a unit is in, for a form that says so beside its box. Without it a
        bare number is refused.

    Returns
    -------
    float
        In the dimension's storage unit.

    Raises
    ------
    QuantityError
        With a sentence naming the units accepted.
    """
    typed = _typed(text, dimension)
    if dimension in (Dimension.LENGTH, Dimension.DEPTH):
        together = _FEET_AND_INCHES.fullmatch(typed)
        if dimension is Dimension.LENGTH:
            together = together or _FEET_DASH_INCHES.fullmatch(typed)
        if together:
            return stored(_inches(together, dimension), "in", dimension)
    single = _SINGLE.fullmatch(typed)
    if not single:
        raise QuantityError("not_understood", "This could not be read.", dimension)
    spelling = single["unit"] or bare_unit
    if not spelling:
        raise QuantityError("unit_missing", "The unit is missing.", dimension)
    return stored(_signed(single, _number(single, dimension)), accepted(spelling, dimension), dimension)


def _typed(text: str, dimension: Dimension) -> str:
    if not isinstance(text, str):
        raise QuantityError("wrong_type", "This must be written out with its unit.", dimension)
    if len(text) > MOST_CHARACTERS:
        raise QuantityError("too_long", f"This is longer than {MOST_CHARACTERS} characters.", dimension)
    typed = " ".join(text.translate(_TYPED).replace("''", '"').split())
    if not typed:
        raise QuantityError("empty", "Nothing is given.", dimension)
    return typed


def _signed(match: re.Match[str], number: Fraction) -> Fraction:
    return -number if match["sign"] == "-" else number


def _number(match: re.Match[str], dimension: Dimension) -> Fraction:
    decimal = match["decimal"]
    if decimal is not None:
        return Fraction(decimal.replace(",", "" if _SET_OFF.fullmatch(decimal) else "."))
    part = _part(match, dimension)
    if match["whole"] is None:
        return part
    _require_proper(part, dimension)
    return int(match["whole"]) + part


def _part(match: re.Match[str], dimension: Dimension) -> Fraction:
    if int(match["bottom"]) == 0:
        raise QuantityError("zero_denominator", "A fraction cannot have 0 below its line.", dimension)
    return Fraction(int(match["top"]), int(match["bottom"]))


def _require_proper(part: Fraction, dimension: Dimension) -> None:
    if part >= 1:
        raise QuantityError("improper_fraction", "A fraction after a number must be less than 1.", dimension)


def _inches(match: re.Match[str], dimension: Dimension) -> Fraction:
    if "whole" in match.re.groupindex:
        inches = _number(match, dimension)
    else:
        inches = Fraction(match["decimal"])
        if match["top"] is not None:
            part = _part(match, dimension)
            _require_proper(part, dimension)
            inches += part
    if inches >= 12:
        raise QuantityError("too_many_inches", "The inches after feet must be less than 12.", dimension)
    return _signed(match, 12 * int(match["feet"].replace(",", "")) + inches)


def parse_object(value: object, dimension: Dimension) -> float:
    """Read a quantity as programs send it.

    Parameters
    ----------
    value : object
        ``{"value": 18.0, "unit": "yd3"}``, with exactly these keys, or a string for `parse`.
    dimension : Dimension

    Returns
    -------
    float
        In the dimension's storage unit.

    Raises
    ------
    QuantityError
        Bare numbers, booleans, numbers that are not finite, and unknown or foreign units included.
    """
    if isinstance(value, str):
        return parse(value, dimension)
    if not isinstance(value, Mapping):
        raise QuantityError("wrong_type", "A number needs its unit.", dimension)
    if set(value) != {"value", "unit"}:
        raise QuantityError("wrong_keys", 'A quantity has exactly "value" and "unit".', dimension)
    number, spelling = value["value"], value["unit"]
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise QuantityError("not_a_number", "The value must be a number.", dimension)
    if not isinstance(spelling, str) or len(spelling) > MOST_CHARACTERS:
        raise QuantityError("unknown_unit", "The unit is not one that this takes.", dimension)
    return stored(_finite(number, dimension), accepted(spelling, dimension), dimension)


def _finite(number: float, dimension: Dimension) -> Fraction:
    try:
        as_float = float(number)
    except OverflowError:
        as_float = math.inf
    if not abs(as_float) < 1e100:
        raise QuantityError("not_finite", "The value must be a finite number.", dimension)
    return Fraction(repr(as_float))
