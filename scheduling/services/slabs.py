"""Sections of slab as a door hands them over: columns first, rows once the pour is kept."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scheduling import bridge
from scheduling.engine.inputs import Section
from scheduling.models import Pour, SlabEdge, SlabOpening, SlabSection

Columns = Mapping[str, Any]


@dataclass(frozen=True)
class SlabDraft:
    """A section not yet kept, with its edges and openings."""

    section: SlabSection
    edges: list[SlabEdge]
    openings: list[SlabOpening]


def draft_sections(sections: Sequence[Columns]) -> list[SlabDraft]:
    """Rows from columns: each mapping has `SlabSection`'s columns, and lists under `edges` and `openings`."""
    return [_draft(position, columns) for position, columns in enumerate(sections, start=1)]


def _draft(position: int, columns: Columns) -> SlabDraft:
    own = {name: value for name, value in columns.items() if name not in ("edges", "openings")}
    return SlabDraft(
        section=SlabSection(**{**own, "position": position}),
        edges=[SlabEdge(**edge) for edge in columns.get("edges", ())],
        openings=[SlabOpening(**hole) for hole in columns.get("openings", ())],
    )


def engine_sections(drafts: Iterable[SlabDraft]) -> tuple[Section, ...]:
    """What the engine sees of the drafts; raises `BadInput`."""
    return tuple(bridge.engine_section(draft.section, draft.edges, draft.openings) for draft in drafts)


def keep_sections(pour: Pour, drafts: Iterable[SlabDraft]) -> None:
    """Put the drafts in the place of whatever sections the pour had."""
    pour.sections.all().delete()
    for draft in drafts:
        draft.section.pour = pour
        draft.section.save()
        rows: list[SlabEdge | SlabOpening] = [*draft.edges, *draft.openings]
        for row in rows:
            row.section = draft.section
            row.save()
