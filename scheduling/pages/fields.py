"""Form fields that take what people type: 52', 4 1/2 in, 65 F."""

import math
import re
from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxLengthValidator

from scheduling.models import Units
from scheduling.quantities import Dimension, QuantityError, UnitSystem, format_quantity, parse

# What a number without a unit is in, as said beside the box.
BARE_UNITS: dict[Dimension, tuple[str, str]] = {
    Dimension.LENGTH: ("ft", "m"),
    Dimension.DEPTH: ("in", "mm"),
    Dimension.AREA: ("ft2", "m2"),
    Dimension.VOLUME: ("yd3", "m3"),
    Dimension.TEMPERATURE: ("F", "C"),
    Dimension.PERCENT: ("%", "%"),
    Dimension.SLUMP: ("in", "mm"),
}
_READINGS = re.compile(r"[;\n]")
_BETWEEN = re.compile(r"\s+(?:x|by)\s+|\s*;\s*|\s*,\s+|,", re.IGNORECASE)


def read(text: str, dimension: Dimension, units: str, bare: tuple[str, str] | None = None) -> float:
    """A quantity in its storage unit; raises a `ValidationError` that says what can be typed.

    `bare` is the unit this company's people leave out, US and metric, where it is not the dimension's usual.
    """
    left_out = bare or BARE_UNITS.get(dimension)
    try:
        return parse(text, dimension, left_out and left_out[units == Units.METRIC])
    except QuantityError as wrong:
        raise ValidationError(str(wrong), code=wrong.code) from wrong


class QuantityField(forms.CharField):
    """A quantity with its unit, or a bare number in the unit the company leaves out."""

    def __init__(
        self,
        dimension: Dimension,
        *,
        may_be_nothing: bool = False,
        limits: tuple[float, float] | None = None,
        bare: tuple[str, str] | None = None,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("max_length", 60)
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(**kwargs)
        self.dimension, self.may_be_nothing, self.limits = dimension, may_be_nothing, limits
        self.bare = bare or BARE_UNITS.get(dimension)
        self.units: str = Units.US

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        quantity = read(text, self.dimension, self.units, self.bare)
        if quantity == 0 and not self.may_be_nothing and self.dimension is not Dimension.TEMPERATURE:
            raise ValidationError("This must be more than nothing.", code="not_positive")
        self._keep_within(quantity)
        return quantity

    def _keep_within(self, quantity: float) -> None:
        least, most = self.limits or (-math.inf, math.inf)
        if not least <= quantity <= most:
            if least == 0 and self.dimension is not Dimension.TEMPERATURE:
                most_said = format_quantity(most, self.dimension, UnitSystem(self.units))
                raise ValidationError(f"Give at most {most_said}.", code="out_of_range")
            low, high = (
                format_quantity(limit, self.dimension, UnitSystem(self.units)) for limit in (least, most)
            )
            raise ValidationError(f"Give something from {low} to {high}.", code="out_of_range")


class ReadingsField(forms.CharField):
    """Several depths, one a line or set apart by commas."""

    widget = forms.Textarea(attrs={"rows": 3})
    units: str = Units.US

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        parts = _READINGS.split(text) if _READINGS.search(text) else text.split(",")
        return [read(part, Dimension.DEPTH, self.units) for part in parts if part.strip()] or None


class CornersField(forms.CharField):
    """Corners in order round the edge, one a line: how far along, how far across."""

    widget = forms.Textarea(attrs={"rows": 4})
    units: str = Units.US

    def clean(self, value: Any) -> Any:
        lines = [line.strip() for line in super().clean(value).splitlines() if line.strip()]
        return [self._corner(line) for line in lines] or None

    def _corner(self, line: str) -> list[float]:
        parts = _BETWEEN.split(line)
        if len(parts) != 2:
            raise ValidationError(
                f"“{line}” is not a corner: give how far along and how far across, as 24', 16'."
            )
        return [read(part, Dimension.LENGTH, self.units) for part in parts]


class CountField(forms.IntegerField):
    """A small whole number."""

    def __init__(self, *, least: int = 1, most: int, **kwargs: Any) -> None:
        super().__init__(min_value=least, max_value=most, **kwargs)
        sentence = f"Give a whole number from {least} to {most}."
        self.error_messages |= dict.fromkeys(("required", "invalid", "min_value", "max_value"), sentence)


class NumberField(forms.FloatField):
    """A number within its limits."""

    def __init__(self, *, least: float, most: float, **kwargs: Any) -> None:
        super().__init__(required=False, min_value=least, max_value=most, **kwargs)
        sentence = f"Give a number from {least:g} to {most:g}."
        self.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), sentence)


class PickField(forms.TypedChoiceField):
    """A row picked from those there are; `offer` is called with the rows once a form is made."""

    def __init__(self, *, missing: str = "", **kwargs: Any) -> None:
        super().__init__(choices=(), empty_value=None, **kwargs)
        self.error_messages["required"] = missing or "Choose one."
        self.error_messages["invalid_choice"] = "That is not one of those there are any more. Choose another."

    def offer(self, choices: Any, pick: Callable[[str], object]) -> None:
        self.choices, self.coerce = choices, pick


# What Django says of every field alike, in its own words and the browser's language; these pages have one.
PLAIN_WORDS = {
    "required": "This is missing.",
    "invalid": "This could not be read.",
    "invalid_choice": "Choose one of those there are.",
    "max_length": "This is too long.",
    "null_characters_not_allowed": "This could not be read.",
}


class PlainForm(forms.Form):
    """A form that says what is wrong in words of ours, each field's own where it has some."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            for code, words in PLAIN_WORDS.items():
                # Words given in a field's definition are plain text; Django's wait to be translated.
                if not isinstance(field.error_messages.get(code), str):
                    field.error_messages[code] = words
            for validator in field.validators:
                if isinstance(validator, MaxLengthValidator):
                    validator.message = PLAIN_WORDS["max_length"]


def set_units(form: forms.BaseForm, units: str) -> None:
    """Tell every field that reads quantities which units go without saying."""
    for field in form.fields.values():
        if isinstance(field, QuantityField | ReadingsField | CornersField):
            field.units = units
