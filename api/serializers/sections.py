"""Pieces of slab: outline, depth, thickened edges and openings, flat as a person would say them."""

from typing import Any

from rest_framework import serializers

from api.choices import DEPTH_KIND, SHAPE
from api.fields import NumberField, QuantityField, TextField, TruthField, WholeField
from api.serializers.base import Closed, rows
from scheduling.quantities import Dimension

SHORTEST_M, LONGEST_M = 0.01, 2000
THINNEST_M, DEEPEST_M = 0.005, 5
LARGEST_M2 = 100_000

# What each outline needs; it takes nothing else.
SIZES: dict[str, tuple[str, ...]] = {
    "rectangle": ("length_m", "width_m"),
    "trapezoid": ("length_m", "side_b_m", "width_m"),
    "polygon": ("corners_m",),
    "circle": ("diameter_m",),
    "area": ("area_m2",),
}
ALL_SIZES = ("length_m", "width_m", "side_b_m", "diameter_m", "area_m2", "corners_m")
FALLING = ("falling_top", "falling_base")


def size(**settings: Any) -> QuantityField:
    return QuantityField(
        Dimension.LENGTH,
        **{"least": SHORTEST_M, "most": LONGEST_M, "required": False, "allow_null": True, **settings},
    )


def deep(**settings: Any) -> QuantityField:
    return QuantityField(Dimension.DEPTH, **{"least": THINNEST_M, "most": DEEPEST_M, **settings})


class Outline(Closed):
    """A shape with the sizes it needs."""

    shape = serializers.ChoiceField(choices=SHAPE, default="rectangle")
    length = size(source="length_m", help_text="Of a rectangle; or the first parallel side of a trapezoid.")
    width = size(source="width_m", help_text="Of a rectangle; or how far a trapezoid's sides are apart.")
    side_b = size(source="side_b_m", least=0, help_text="The second parallel side of a trapezoid.")
    diameter = size(source="diameter_m", help_text="Of a circle.")
    area = QuantityField(
        Dimension.AREA, source="area_m2", least=0.01, most=LARGEST_M2, required=False, allow_null=True,
        help_text="Of a shape taken off a drawing, its outline unknown.",
    )  # fmt: skip
    corners = serializers.ListField(
        source="corners_m",
        child=serializers.ListField(
            child=QuantityField(Dimension.LENGTH, least=0, most=LONGEST_M), min_length=2, max_length=2
        ),
        min_length=3,
        max_length=200,
        required=False,
        allow_null=True,
        help_text="Of a polygon, in order round the edge: how far along and how far across from one point.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        shape = attrs["shape"]
        given = {column for column in ALL_SIZES if attrs.get(column) is not None}
        needed = set(SIZES[shape])
        wrong = {self._name(column): f"A {shape} needs this." for column in needed - given}
        wrong |= {self._name(column): f"A {shape} has no such size." for column in given - needed}
        if wrong:
            raise serializers.ValidationError(wrong, code="outline")
        return attrs

    def _name(self, column: str) -> str:
        return next(name for name, field in self.fields.items() if field.source == column)


class Opening(Outline):
    """A hole through the slab, or several alike."""

    count = WholeField(min_value=1, max_value=1000, default=1)


class Edge(Closed):
    """A thickened edge."""

    width = size(source="width_m", required=True, allow_null=False)
    depth = deep(source="depth_m", help_text="From the top of the slab down.")
    length = size(source="length_m", help_text="Without it, all round the outline.")
    taper = size(
        source="taper_m", least=0, allow_null=False,
        help_text="The extra width over which the dig slopes back up.",
    )  # fmt: skip


class Section(Outline):
    """One piece of slab.

    `falling_top` is a slab whose top falls over a flat base: a wedge, `depth` thick at its low edge.
    `falling_base` is one whose base falls with the top, so that it is `depth` thick everywhere.
    """

    label = TextField(max_length=60, required=False, allow_blank=True)  # type: ignore[assignment]
    depth_kind = serializers.ChoiceField(choices=DEPTH_KIND, default="uniform")
    depth = deep(source="depth_m", required=False, allow_null=True)
    fall = deep(
        source="fall_m", least=0, required=False,
        help_text="How much lower one side is than the other, where the slab falls.",
    )  # fmt: skip
    falls_towards_deg = NumberField(
        min_value=-360, max_value=360, required=False,
        help_text="Where water runs, counter-clockwise from the length: 90 is across, along the width.",
    )  # fmt: skip
    spot_depths = serializers.ListField(
        source="spot_depths_m",
        child=deep(),
        min_length=1,
        max_length=500,
        required=False,
        allow_null=True,
        help_text="Depths measured on the base, spread evenly, for the depth kind “spots”.",
    )
    drawn_depth = deep(
        source="drawn_depth_m", required=False, allow_null=True, help_text="What the drawing calls it."
    )
    shaded = TruthField(required=False, help_text="It lies in shade while it sets.")
    edges = rows(Edge, required=False, max_length=50)
    openings = rows(Opening, required=False, max_length=100)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        attrs = super().validate(attrs)
        if wrong := depth_faults(attrs):
            raise serializers.ValidationError(wrong, code="depth")
        return attrs


def depth_faults(section: dict[str, Any]) -> dict[str, str]:
    """What is missing for the kind of depth, or said beside it to no effect."""
    kind = section["depth_kind"]
    spots, one = section.get("spot_depths_m") is not None, section.get("depth_m") is not None
    wrong = {}
    if kind == "spots" and not spots:
        wrong["spot_depths"] = "Measured depths need at least one reading."
    if kind != "spots" and spots:
        wrong["spot_depths"] = "Say the depth kind “spots” with them."
    if kind == "spots" and one:
        wrong["depth"] = "Measured depths stand in its place: leave it out."
    if kind != "spots" and not one:
        wrong["depth"] = "A section needs its depth."
    if kind not in FALLING and section.get("fall_m"):
        wrong["fall"] = "Say the depth kind “falling_top” or “falling_base” with it."
    return wrong
