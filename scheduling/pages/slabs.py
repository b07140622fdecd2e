"""The part of the booking page that describes the slab, section by section."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.forms import model_to_dict

from scheduling.models import SlabSection
from scheduling.pages.fields import (
    CornersField,
    CountField,
    PlainForm,
    QuantityField,
    ReadingsField,
    set_units,
)
from scheduling.quantities import Dimension

MOST_SECTIONS = 12
DEPTH_KINDS = [
    ("uniform", "the same all over, and level"),
    ("falling_base", "the same all over; base and top fall together"),
    ("falling_top", "at its low edge; the top falls over a flat base"),
    ("spots", "as measured on the base"),
]
SHAPES = [
    ("rectangle", "rectangle"),
    ("trapezoid", "trapezoid"),
    ("circle", "circle"),
    ("polygon", "any corners"),
    ("area", "area off a drawing"),
]
DIRECTIONS = [
    ("0", "along the length"),
    ("90", "along the width"),
    ("180", "back along the length"),
    ("270", "back along the width"),
]
# Which sizes a shape needs, and what they are called when one is missing.
SIZES: dict[str, dict[str, str]] = {
    "rectangle": {"length_m": "length", "width_m": "width"},
    "trapezoid": {"length_m": "length", "side_b_m": "length of the other side", "width_m": "width"},
    "circle": {"diameter_m": "diameter"},
    "polygon": {"corners_m": "corners"},
    "area": {"area_m2": "area"},
}
EDGE = {"edge_width_m": "width", "edge_depth_m": "depth"}
TUCKED_AWAY = (
    "edge_width_m", "edge_depth_m", "edge_length_m", "edge_taper_m", "hole_length_m", "hole_width_m",
    "drawn_depth_m", "label", "shaded",
)  # fmt: skip
HOLE = {"hole_length_m": "length", "hole_width_m": "width"}


def size(dimension: Dimension, label: str, hint: str = "", **kwargs: Any) -> QuantityField:
    return QuantityField(dimension, label=label, help_text=hint, required=False, **kwargs)


class SectionForm(PlainForm):
    """One piece of slab; its fields are named as the columns they fill."""

    label = forms.CharField(required=False, max_length=60, label="Called", help_text="If there are several.")
    shape = forms.ChoiceField(choices=SHAPES, initial="rectangle", label="Shape")
    length_m = size(Dimension.LENGTH, "Length")
    side_b_m = size(
        Dimension.LENGTH,
        "Other side",
        "Parallel to the length; the width is square across.",
        may_be_nothing=True,
    )
    width_m = size(Dimension.LENGTH, "Width")
    diameter_m = size(Dimension.LENGTH, "Diameter")
    area_m2 = size(Dimension.AREA, "Area")
    corners_m = CornersField(
        required=False, label="Corners", help_text="In order round the edge, one a line: along, across."
    )
    depth_kind = forms.ChoiceField(choices=DEPTH_KINDS, initial="uniform", label="Thickness is")
    depth_m = size(Dimension.DEPTH, "Thickness")
    fall_m = size(Dimension.DEPTH, "Falls by", "From one end to the other.", may_be_nothing=True)
    falls_towards_deg = forms.ChoiceField(choices=DIRECTIONS, initial="0", required=False, label="Falls")
    spot_depths_m = ReadingsField(
        required=False, label="Measured depths", help_text="Spread evenly; commas or lines between them."
    )
    drawn_depth_m = size(Dimension.DEPTH, "Drawing says", "If the forms stand for another thickness.")
    edge_width_m = size(Dimension.DEPTH, "Edge width")
    edge_depth_m = size(Dimension.DEPTH, "Edge depth", "From the top of the slab.")
    edge_length_m = size(Dimension.LENGTH, "Edge length", "Empty: all round.")
    edge_taper_m = size(Dimension.DEPTH, "Edge slopes back over", may_be_nothing=True)
    shaded = forms.BooleanField(required=False, label="In shade while it sets")
    hole_length_m = size(Dimension.LENGTH, "Opening length")
    hole_width_m = size(Dimension.LENGTH, "Opening width")
    hole_count = CountField(most=500, required=False, initial=1, label="How many")

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        set_units(self, units)

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed into it: choices alone describe no slab."""
        typed = (name for name in self.fields if name not in ("shape", "depth_kind", "falls_towards_deg"))
        return not any(str(self[name].value() or "").strip() for name in typed if name != "hole_count")

    @property
    def has_more(self) -> bool:
        """Whether a field that is tucked away holds something."""
        return any(self[name].value() for name in TUCKED_AWAY)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        self._want(SIZES.get(said.get("shape", ""), {}), "Give the {}.")
        if said.get("depth_kind") == "spots":
            self._want({"spot_depths_m": "measured depths"}, "Give the {}.")
        else:
            self._want({"depth_m": "thickness"}, "Give the {}.")
        if any(said.get(name) for name in ("edge_length_m", "edge_taper_m", *EDGE)):
            self._want(EDGE, "A thickened edge needs its {} too.")
        if any(said.get(name) for name in HOLE):
            self._want(HOLE, "An opening needs its {} too.")
        return said

    def _want(self, names: Mapping[str, str], sentence: str) -> None:
        for name, words in names.items():
            if self.cleaned_data.get(name) is None and name not in self.errors:
                self.add_error(name, sentence.format(words))

    def columns(self) -> dict[str, Any]:
        """What a section's row is made from, with its edges and openings."""
        said = self.cleaned_data
        sizes = {name: said[name] for name in SIZES[said["shape"]]}
        spots = said["depth_kind"] == "spots"
        falling = said["depth_kind"] in ("falling_top", "falling_base")
        return {
            **sizes,
            "label": said["label"],
            "shape": said["shape"],
            "depth_kind": said["depth_kind"],
            "depth_m": None if spots else said["depth_m"],
            "spot_depths_m": said["spot_depths_m"] if spots else None,
            "fall_m": (said["fall_m"] or 0.0) if falling else 0.0,
            "falls_towards_deg": float(said["falls_towards_deg"] or 0),
            "drawn_depth_m": said["drawn_depth_m"],
            "shaded": said["shaded"],
            "edges": self._edges(said),
            "openings": self._openings(said),
        }

    def _edges(self, said: Mapping[str, Any]) -> list[dict[str, Any]]:
        if not said["edge_width_m"]:
            return []
        return [
            {
                "width_m": said["edge_width_m"],
                "depth_m": said["edge_depth_m"],
                "length_m": said["edge_length_m"],
                "taper_m": said["edge_taper_m"] or 0.0,
            }
        ]

    def _openings(self, said: Mapping[str, Any]) -> list[dict[str, Any]]:
        if not said["hole_length_m"]:
            return []
        sizes = {"length_m": said["hole_length_m"], "width_m": said["hole_width_m"]}
        return [{"shape": "rectangle", **sizes, "count": said["hole_count"] or 1}]


def kept_columns(section: SlabSection) -> dict[str, Any]:
    """A kept section's columns, as a form would have given them."""
    return model_to_dict(section)
