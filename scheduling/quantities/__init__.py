"""The one place where quantities are read, converted and written.

Inside, every quantity is a plain float in its storage unit, SI as the engine's names carry it.
Outside, people type what the trade types (``30' 6 1/2"``, ``18 cy``, ``65 F``), programs send
``{"value": 18.0, "unit": "yd3"}``, and answers come in US customary or metric units. pint knows
the units, as exact ratios, so that 68 F is 20 degrees and not a hair beside it.
"""

from scheduling.quantities.reading import parse, parse_object
from scheduling.quantities.units import (
    UNITS,
    Dimension,
    QuantityError,
    UnitSystem,
    UnitValue,
    display_unit,
)
from scheduling.quantities.writing import (
    fact_dimension,
    format_fact,
    format_length_feet_inches,
    format_quantity,
    to_unit,
)

__all__ = [
    "UNITS",
    "Dimension",
    "QuantityError",
    "UnitSystem",
    "UnitValue",
    "display_unit",
    "fact_dimension",
    "format_fact",
    "format_length_feet_inches",
    "format_quantity",
    "parse",
    "parse_object",
    "to_unit",
]
