"""Pours into a sheet and out of one: all of a file is booked, or nothing of it."""

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from scheduling.errors import Clashes, NotAllowed, Refusal
from scheduling.models import Company, Pour, SlabSection, User
from scheduling.quantities import Dimension, UnitSystem, format_quantity, parse, to_unit
from scheduling.roles import Right
from scheduling.services import booking
from scheduling.services.sheetfile import CLASHES, DateOrder, Problem, SheetWrong, cut, guarded
from scheduling.services.sheetpours import COLUMNS, FALLING, TOLD_ONLY, Reading, column_names, read_pours

HEADER = (*COLUMNS, *TOLD_ONLY)
# Said of a pour beyond what a sheet has room for, with the word for it.
BEYOND = {
    "reach_m": "reach", "carry_m": "wheeled way", "line_m": "line of the pump", "slump_mm": "slump",
    "slope": "slope", "concrete_c": "concrete temperature", "base_c": "base read",
    "joint_spacing_m": "joints", "trucks": "trucks", "haul_min": "haul", "age_limit_min": "age limit",
    "call_lead_min": "crew ahead",
}  # fmt: skip


def read_sheet(*, text: str, delimiter: str = "", order: DateOrder | None = None) -> Reading:
    """What a text says, without keeping anything; raises `SheetWrong` where it cannot be cut into cells."""
    company = Company.objects.first()
    if company is None:
        raise Refusal("The company is not set up yet: add it in the admin first.", code="no_company")
    return read_pours(cut(text, column_names(), delimiter), company, order)


@transaction.atomic
def import_pours(*, reading: Reading, by: User, now: datetime, accept_clashes: bool = False) -> list[Pour]:
    """Book every pour of a reading that is not booked already.

    Raises
    ------
    SheetWrong
        Nothing is booked: with all that is wrong, or, with the code ``sheet_clashes``, where nothing else
        is than clashes that nobody said yes to.
    """
    if not by.may(Right.BOOK):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    if reading.asks_order:
        raise SheetWrong([Problem(0, "date", "Say whether the day or the month comes first.")])
    if reading.problems:
        raise SheetWrong(reading.problems)
    booked, problems, only_clashes = [], [], True
    for pour in reading.pours:
        if pour.stands:
            continue
        try:
            booked.append(
                booking.book_pour(
                    job=pour.job,
                    sections=pour.sections,
                    by=by,
                    now=now,
                    accept_clashes=accept_clashes,
                    **pour.fields,
                )
            )
        except Refusal as refused:
            only_clashes = only_clashes and isinstance(refused, Clashes)
            problems.append(Problem(pour.lines[0], refused.field, refused.message))
    if problems:
        raise SheetWrong(problems, code=CLASHES if only_clashes else "sheet_wrong")
    return booked


# --- out --------------------------------------------------------------------------------------


def pours_sheet(pours: Iterable[Pour], company: Company) -> str:
    """Pours as a sheet that `read_sheet` reads again, one line for each slab; no cell is a formula."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADER)
    for pour in pours:
        for section in pour.sections.all():
            row = {**_pour_cells(pour, company), **_section_cells(section, company)}
            row["more"] = ", ".join([*_beyond(pour), *_not_held(section)])
            writer.writerow([guarded(str(row.get(name, ""))) for name in HEADER])
    return out.getvalue()


def _pour_cells(pour: Pour, company: Company) -> dict[str, Any]:
    wall, site = pour.starts_at.astimezone(ZoneInfo(pour.job.site.time_zone)), pour.job.site
    units = UnitSystem(company.units)
    cells = {
        "site": site.name, "job": pour.job.name, "pour": pour.title, "date": wall.date().isoformat(),
        "start": f"{wall:%H:%M}", "crew": pour.crew.name if pour.crew else "", "people": pour.people,
        "plant": pour.plant.name, "mix": pour.mix.code, "placed by": _plain(pour.method),
        "finish": _plain(pour.finish), "finishers": pour.finishers, "power trowels": pour.power_trowels,
        "saw": _plain(pour.saw), "test cylinders": pour.test_cylinders, "spotter": pour.spotter,
        "decorative": "yes" if pour.decorative else "no", "notes": pour.notes,
        "state": pour.get_state_display(),
    }  # fmt: skip
    if pour.allowance_kind == "percent":
        cells["allowance"] = f"{pour.allowance_value:.12g} %"
    if pour.plan:
        cells["ordered"] = format_quantity(pour.plan.order_m3, Dimension.VOLUME, units)
    return cells


def _section_cells(section: SlabSection, company: Company) -> dict[str, str]:
    """The slab's sizes; none where a sheet cannot hold its outline or depths, so that nobody books less."""
    cells = {"slab": section.label}
    if any(_not_held(section)):
        return cells
    sizes = {
        "length": (section.length_m, Dimension.LENGTH),
        "width": (section.width_m, Dimension.LENGTH),
        "area": (section.area_m2, Dimension.AREA),
        "depth": (section.depth_m, Dimension.DEPTH),
        "falls by": (section.fall_m or None, Dimension.DEPTH),
    }
    wanted = ("length", "width") if section.shape == "rectangle" else ("area",)
    for name, (value, dimension) in sizes.items():
        if value is not None and (name in wanted or name in ("depth", "falls by")):
            cells[name] = exactly(value, dimension, UnitSystem(company.units))
    cells["what falls"] = next(word for word, kind in FALLING.items() if kind == section.depth_kind)
    cells["falls towards"] = f"{section.falls_towards_deg:g}"
    return cells


def exactly(value: float, dimension: Dimension, system: UnitSystem) -> str:
    """The value in the company's unit where that reads back to the very same, else as it is kept."""
    shown = to_unit(value, dimension, system)
    unit, factor = shown["unit"], parse(f"1 {shown['unit']}", dimension)
    short = (f"{Decimal(f'{value / factor:.{digits}g}'):f} {unit}" for digits in (6, 9))
    kept = f"{Decimal(repr(value)):f} {'m2' if dimension is Dimension.AREA else 'm'}"
    return next((text for text in short if parse(text, dimension) == value), kept)


def _beyond(pour: Pour) -> Iterator[str]:
    yield from (word for name, word in BEYOND.items() if getattr(pour, name) is not None)
    if pour.allowance_kind != "percent":
        yield "allowance"


def _not_held(section: SlabSection) -> Iterator[str]:
    if section.shape not in ("rectangle", "area"):
        yield f"a {section.shape}"
    if section.depth_m is None:
        yield "measured depths"
    if section.edges.all():
        yield "thickened edges"
    if section.openings.all():
        yield "openings"


def _plain(word: str) -> str:
    return word.replace("_", " ")
