"""Values of the week's search as few bytes for a row, and back: JSON, so that reading a row runs no code."""

import json
import zlib
from collections.abc import Mapping
from dataclasses import fields
from operator import attrgetter
from typing import Any, TypeVar

from cattrs.preconf.json import make_converter

from scheduling.engine.weekproblem import Option

Value = TypeVar("Value")

FAST = 1  # of zlib's levels: a fifth more bytes for a tenth of the time
Legs = Mapping[tuple[str, str], int]

_converter = make_converter()
# A week has some ten thousand options: their names would be most of it.
_converter.register_unstructure_hook(Option, attrgetter(*(column.name for column in fields(Option))))
_converter.register_structure_hook(Option, lambda row, _: Option(*row))
# JSON has no pairs as keys.
_converter.register_unstructure_hook_func(
    lambda kind: kind == Legs, lambda legs: [[*pair, leg] for pair, leg in legs.items()]
)
_converter.register_structure_hook_func(
    lambda kind: kind == Legs, lambda rows, _: {(here, there): leg for here, there, leg in rows}
)


def pack(value: Any) -> bytes:
    """A dataclass, or a list of them."""
    plain = json.dumps(_converter.unstructure(value), separators=(",", ":"))
    return zlib.compress(plain.encode(), FAST)


def unpack(packed: bytes | memoryview, kind: type[Value]) -> Value:
    """The value of that kind again, with its mappings in their order."""
    return _converter.structure(json.loads(zlib.decompress(packed)), kind)
