"""What makes an input one that no plan can be made from."""

from __future__ import annotations

import math
from datetime import datetime


class BadInput(ValueError):
    """An input that no plan can be made from.

    Attributes
    ----------
    field : str
        Name of the input at fault, with its unit suffix.
    code : str
        Stable word for the kind of fault, for the doors to word and test.
    """

    def __init__(self, field: str, code: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.code = code


def require_positive(field: str, value: float, upper: float = math.inf) -> None:
    """Raise `BadInput` unless ``0 < value <= upper`` and finite."""
    if not (math.isfinite(value) and 0 < value <= upper):
        limit = "" if math.isinf(upper) else f" and at most {upper:g}"
        raise BadInput(field, "not_positive", f"{field} must be more than 0{limit}, not {value:g}.")


def require_not_negative(field: str, value: float, upper: float = math.inf) -> None:
    """Raise `BadInput` unless ``0 <= value <= upper`` and finite."""
    if not (math.isfinite(value) and 0 <= value <= upper):
        limit = "" if math.isinf(upper) else f" and at most {upper:g}"
        raise BadInput(field, "negative", f"{field} must be 0 or more{limit}, not {value:g}.")


def require_aware(field: str, value: datetime) -> None:
    """Raise `BadInput` unless the moment carries its offset from UTC."""
    if value.tzinfo is None or value.utcoffset() is None:
        raise BadInput(field, "naive_time", f"{field} must carry a time zone.")
