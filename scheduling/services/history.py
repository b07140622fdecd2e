"""The record of what happened to a pour."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.db.models import Model

from scheduling.models import EventKind, Pour, PourEvent, User

# What of a section is told of a change of the slab.
SECTION_COLUMNS = (
    "label", "shape", "length_m", "width_m", "side_b_m", "diameter_m", "area_m2", "depth_kind", "depth_m",
    "fall_m",
)  # fmt: skip


def record(pour: Pour, kind: EventKind, *, by: User | None, now: datetime, **facts: Any) -> PourEvent:
    """Add an event to the pour's record."""
    return PourEvent.objects.create(pour=pour, kind=kind, at=now, by=by, facts=facts)


def told(columns: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    """Columns as an event keeps them: rows by their names, moments as ISO 8601."""
    return {name: _told(columns[name]) for name in names}


def _told(value: Any) -> Any:
    if isinstance(value, date):  # a moment is one too
        return value.isoformat()
    return str(value) if isinstance(value, Model) else value


def told_slab(pour: Pour) -> list[dict[str, Any]]:
    """The sections of a pour as an event keeps them: what each says and nothing else."""
    rows = pour.sections.order_by("position").values(*SECTION_COLUMNS)
    return [{name: value for name, value in row.items() if value not in (None, "", 0.0)} for row in rows]
