"""How else it could be placed: by each method and with more or fewer people, side by side."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from scheduling.models import Pour
from scheduling.pages.clock import lasting
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension

Json = Mapping[str, Any]


@dataclass(frozen=True)
class ChoiceCell:
    """One method with so many people; blank where that was not worked out."""

    rate: str = ""
    lasts: str = ""
    trucks: str = ""
    is_booked: bool = False


@dataclass(frozen=True)
class ChoiceRow:
    method: str
    within_reach: bool
    cells: tuple[ChoiceCell, ...]


@dataclass(frozen=True)
class ChoiceTable:
    people: tuple[int, ...]
    rows: tuple[ChoiceRow, ...]


def choice_table(result: Json, pour: Pour, words: Words) -> ChoiceTable | None:
    """Methods down, people across; None where the plan compares nothing."""
    choices = result.get("choices")
    if not choices:
        return None
    by_pair = {(one["method"], one["people"]): one for one in choices}
    people = sorted({count for _, count in by_pair})
    rows = []
    for method in dict.fromkeys(one["method"] for one in choices):
        mine = [by_pair.get((method, count)) for count in people]
        within = any(one["within_reach"] for one in mine if one)
        cells = tuple(_cell(one, pour, words) for one in mine)
        rows.append(ChoiceRow(method.replace("_", " "), within, cells))
    return ChoiceTable(tuple(people), tuple(rows))


def _cell(choice: Json | None, pour: Pour, words: Words) -> ChoiceCell:
    if choice is None:
        return ChoiceCell()
    trucks = choice["trucks"]
    return ChoiceCell(
        rate=words.amount(choice["rate_m3_h"], Dimension.VOLUME_RATE),
        lasts=lasting(timedelta(hours=choice["hours"])),
        trucks=f"{trucks} truck{'' if trucks == 1 else 's'}",
        is_booked=(choice["method"], choice["people"]) == (pour.method, pour.people),
    )
