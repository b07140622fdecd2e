"""How concrete gets to the slab: what a method needs to be told, and where trucks can stand."""

from typing import Any

from rest_framework import serializers

from api.choices import SCREED, SIDE
from api.fields import QuantityField, TruthField, WholeField
from api.serializers.base import Closed
from scheduling.models.pours import PLACING_LIMITS
from scheduling.quantities import Dimension


def told(dimension: Dimension, column: str, help_text: str, **settings: Any) -> QuantityField:
    """A quantity that may be left unsaid."""
    least, most = PLACING_LIMITS[column]
    limits: dict[str, Any] = {"least": least, "most": most}
    return QuantityField(
        dimension,
        **limits,
        **{"source": column, **settings},
        required=False,
        allow_null=True,
        help_text=help_text,
    )


def counted(name: str, help_text: str) -> WholeField:
    """A number of things that may be left unsaid."""
    least, most = PLACING_LIMITS[name]
    limits: dict[str, Any] = {"min_value": int(least), "max_value": int(most)}
    return WholeField(required=False, allow_null=True, help_text=help_text, **limits)


class PlacingTerms(Closed):
    """What is asked beyond the method; whatever is left out is taken as usual."""

    reach = told(
        Dimension.LENGTH, "reach_m", "The farthest the concrete must go from where a truck may stand."
    )
    screed = serializers.ChoiceField(
        choices=SCREED, default="hand", help_text="What strikes off: a board by hand, or a machine."
    )
    carry = told(Dimension.LENGTH, "carry_m", "How far barrows or a buggy go, one way.")
    rise = told(Dimension.LENGTH, "rise_m", "What they climb on the way.")
    barrow = told(Dimension.VOLUME, "barrow_m3", "What one barrow holds.")
    carts = counted("carts", "Barrows or buggies there are; without it, a barrow for everybody or one buggy.")
    line = told(Dimension.LENGTH, "line_m", "How long a pump's line is; without it, as far as it must reach.")
    hose_moves = counted("hose_moves", "How often a pump's hose is lengthened or shortened in the pour.")
    pump_moves = counted("pump_moves", "How often the pump stands anew in the pour.")
    fibres = TruthField(default=False)
    slump = told(Dimension.SLUMP, "slump_mm", "As delivered; without it, an ordinary slab mix.")
    slope = told(Dimension.SLOPE, "slope", "Fall of the surface over its run.", source=None)
    truck_sides = serializers.ListField(
        child=serializers.ChoiceField(choices=SIDE),
        default=list,
        max_length=len(SIDE),
        help_text="Sides of each section that trucks can discharge from; without any, the front is assumed.",
    )
    trucks_on_base = TruthField(default=False, help_text="Trucks drive onto the base and back out.")

    def validate_truck_sides(self, sides: list[str]) -> list[str]:
        if len(set(sides)) < len(sides):
            raise serializers.ValidationError("A side can stand here only once.", code="doubled_side")
        return sides
