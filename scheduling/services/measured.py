"""What is measured or read with a note: each belongs to one kind of note and lies within what can be."""

from collections.abc import Mapping
from typing import Any, TypedDict

from scheduling.errors import Refusal
from scheduling.models import NoteKind

MOST_SLUMP_MM = 300.0  # the cone is 12 in high (ASTM C143/C143M)
LEAST_CONCRETE_C, MOST_CONCRETE_C = -5.0, 60.0  # our choice: beyond it the thermometer was read wrong
MOST_TICKET_M3 = 15.0  # our choice: no truck on the road carries more


class Measured(TypedDict, total=False):
    """What a note may carry beyond its load, people and words."""

    slump_mm: float | None
    concrete_c: float | None
    ticket_m3: float | None
    ticket_mix: str
    ticket_address: str
    photo: str


_OF = {
    "slump_mm": NoteKind.SLUMP,
    "concrete_c": NoteKind.TEMPERATURE,
    "ticket_m3": NoteKind.TICKET,
    "ticket_mix": NoteKind.TICKET,
    "ticket_address": NoteKind.TICKET,
    "photo": NoteKind.PHOTO,
}
_WANTED = {
    NoteKind.SLUMP: ("slump_mm", "Say what the slump is."),
    NoteKind.TEMPERATURE: ("concrete_c", "Say how warm the concrete is."),
    NoteKind.PHOTO: ("photo", "A photo comes from the phone's page."),
}
_WITHIN = {
    "slump_mm": (0.0, MOST_SLUMP_MM),
    "concrete_c": (LEAST_CONCRETE_C, MOST_CONCRETE_C),
    "ticket_m3": (0.05, MOST_TICKET_M3),
}


def check_measured(kind: NoteKind, measured: Mapping[str, Any]) -> None:
    """Refuse what belongs to another kind of note, what is missing, and what cannot be.

    Raises
    ------
    Refusal
    """
    given = {name: value for name, value in measured.items() if value not in (None, "")}
    for name in given:
        if _OF[name] != kind:
            raise Refusal("That does not go with this note.", code="not_here", field=name)
    wanted, told = _WANTED.get(kind, ("", ""))
    if wanted and wanted not in given:
        raise Refusal(told, code="measure_needed", field=wanted)
    for name, (least, most) in _WITHIN.items():
        if name in given and not least <= given[name] <= most:
            raise Refusal("That cannot be: look again.", code="out_of_range", field=name)
