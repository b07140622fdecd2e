"""How the concrete gets to the slab: what is asked beyond the method, and what a pour says of it."""

from collections.abc import Iterator
from typing import Any

from django import forms

from scheduling.models import Pour
from scheduling.models.pours import PLACING_LIMITS, SIDES
from scheduling.pages.fields import CountField, PlainForm, QuantityField
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension

STRUCK = {
    "hand": "hand board",
    "vibrating": "a vibrating screed",
    "laser": "a laser screed",
}
EDGES = {"front": "bottom", "left": "left", "right": "right", "back": "top"}
SIDE_TICKS = {side: f"trucks_{side}" for side, _ in SIDES}
USUAL = (None, "", False, "hand", "none")
COLUMNS = (
    "screed", "carry_m", "rise_m", "barrow_m3", "carts", "line_m", "hose_moves", "pump_moves", "fibres",
    "slump_mm", "slope", "trucks_on_base",
)  # fmt: skip


def told(dimension: Dimension, name: str, label: str, hint: str = "", **kwargs: Any) -> QuantityField:
    return QuantityField(
        dimension, label=label, help_text=hint, required=False, limits=PLACING_LIMITS[name], **kwargs
    )


def counted(name: str, label: str) -> CountField:
    least, most = (int(limit) for limit in PLACING_LIMITS[name])
    return CountField(least=least, most=most, required=False, label=label)


class PlacingForm(PlainForm):
    """The part of the booking form that may stay folded away: left empty, everything is as usual."""

    screed = forms.ChoiceField(
        choices=list(STRUCK.items()), initial="hand", required=False, label="Struck off with"
    )
    carry_m = told(Dimension.LENGTH, "carry_m", "Wheeled, one way", "Empty: as far as the reach.")
    rise_m = told(Dimension.LENGTH, "rise_m", "Climb on the way", may_be_nothing=True)
    barrow_m3 = told(
        Dimension.VOLUME, "barrow_m3", "A barrow holds", "As 6 ft3. Empty: 3 ft3.", bare=("ft3", "m3")
    )
    carts = counted("carts", "Barrows or buggies there are")
    line_m = told(Dimension.LENGTH, "line_m", "Line of the pump", "Empty: as far as the reach.")
    hose_moves = counted("hose_moves", "Times the hose is changed")
    pump_moves = counted("pump_moves", "Times the pump moves")
    fibres = forms.BooleanField(required=False, label="Fibres in the mix")
    slump_mm = told(Dimension.SLUMP, "slump_mm", "Slump", "Empty: an ordinary slab mix.", may_be_nothing=True)
    slope = told(Dimension.SLOPE, "slope", "Top slopes", "As 1/4 in per ft, or 2 %.", may_be_nothing=True)
    trucks_front = forms.BooleanField(required=False, label="Front, along the length (drawn below)")
    trucks_left = forms.BooleanField(required=False, label="Left end")
    trucks_right = forms.BooleanField(required=False, label="Right end")
    trucks_back = forms.BooleanField(required=False, label="Back")
    trucks_on_base = forms.BooleanField(required=False, label="On the base itself, backing out")

    @property
    def has_placing_details(self) -> bool:
        """Whether something was filled in, or is wrong: then what is tucked away is opened."""
        names = ("reinforcement", *COLUMNS, *SIDE_TICKS.values())
        return any(self[name].errors or self[name].value() not in USUAL for name in names)

    def placing_columns(self) -> dict[str, Any]:
        """A pour's columns as they were filled in."""
        said = self.cleaned_data
        sides = [side for side, tick in SIDE_TICKS.items() if said[tick]]
        columns = {name: said[name] for name in COLUMNS}
        return {**columns, "screed": said["screed"] or "hand", "truck_sides": sides}


# --- told on the pour's page ------------------------------------------------------------------


def placing_words(pour: Pour, words: Words) -> list[tuple[str, str]]:
    """What was said of the placing, each with its name; what was left as usual is left out."""
    return [
        ("Placed by", pour.get_method_display()),
        *_wheeled(pour, words),
        *_pumped(pour, words),
        *_struck(pour, words),
    ]


def _wheeled(pour: Pour, words: Words) -> Iterator[tuple[str, str]]:
    if pour.reach_m is not None:
        yield "Farthest reach", words.length(pour.reach_m)
    if pour.carry_m is not None:
        rise = f", climbing {words.length(pour.rise_m)}" if pour.rise_m else ""
        yield "Wheeled", f"{words.length(pour.carry_m)} one way{rise}"
    elif pour.rise_m:
        yield "Climbing", words.length(pour.rise_m)
    if pour.carts is not None:
        yield "Barrows or buggies", str(pour.carts)
    if pour.barrow_m3 is not None:
        yield "A barrow holds", words.volume(pour.barrow_m3)


def _pumped(pour: Pour, words: Words) -> Iterator[tuple[str, str]]:
    if pour.line_m is not None:
        yield "Line of the pump", words.length(pour.line_m)
    if pour.hose_moves:
        yield "Hose changed", _times(pour.hose_moves)
    if pour.pump_moves:
        yield "Pump moved", _times(pour.pump_moves)


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _struck(pour: Pour, words: Words) -> Iterator[tuple[str, str]]:
    if pour.screed != "hand":
        yield "Struck off with", STRUCK[pour.screed]
    if pour.reinforcement != "none":
        yield "Steel", pour.get_reinforcement_display()
    if pour.fibres:
        yield "Fibres", "in the mix"
    if pour.slump_mm is not None:
        yield "Slump", words.amount(pour.slump_mm, Dimension.SLUMP)
    if pour.slope:
        yield "Top slopes", words.amount(pour.slope, Dimension.SLOPE)
    stands = [*pour.truck_sides, *(["on the base"] if pour.trucks_on_base else [])]
    if stands:
        yield "Trucks can stand", ", ".join(stands)


def stands_words(pour: Pour) -> str:
    """Where the trucks stand on a drawing of the slab, whose front is drawn below."""
    edges = [EDGES[side] for side in pour.truck_sides]
    if not edges and not pour.trucks_on_base:
        return "Trucks are taken to stand along the bottom edge of the drawing."
    along = f"along the {' and '.join(edges)} edge{'s' if len(edges) > 1 else ''} of the drawing"
    places = [*([along] if edges else []), *(["on the base"] if pour.trucks_on_base else [])]
    return f"Trucks can stand {' and '.join(places)}."
