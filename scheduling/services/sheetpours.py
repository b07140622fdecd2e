"""Pours out of the lines of a sheet: what each line says in the words people use, and what is wrong."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.engine.inputs import Finish, Method, SawType
from scheduling.errors import Refusal
from scheduling.localtime import moment_of
from scheduling.models import Company, Crew, Job, Mix, Pour, PourState
from scheduling.quantities import Dimension, QuantityError, parse
from scheduling.services.sheetfile import (
    DateOrder,
    Problem,
    Sheet,
    SheetWrong,
    is_unclear,
    order_of_dates,
    read_date,
)

# What a column may be called besides its name.
COLUMNS: dict[str, tuple[str, ...]] = {
    "site": ("place",),
    "job": (),
    "pour": ("title", "which pour"),
    "date": ("day",),
    "start": ("time", "first truck"),
    "crew": (),
    "people": ("crew size",),
    "plant": (),
    "mix": (),
    "placed by": ("method",),
    "slab": ("section",),
    "length": (),
    "width": (),
    "area": (),
    "depth": ("thickness",),
    "falls by": (),
    "what falls": (),
    "falls towards": (),
    "finish": (),
    "finishers": (),
    "power trowels": (),
    "saw": (),
    "test cylinders": (),
    "spotter": (),
    "decorative": (),
    "allowance": (),
    "notes": (),
}
TOLD_ONLY = ("state", "ordered", "more")  # what an export tells besides, and nobody reads back
NEEDED = ("job", "date", "start", "mix", "depth")
MOST_POURS = 60
FALLING = {"": "uniform", "nothing": "uniform", "base and top": "falling_base", "top": "falling_top"}
YES_NO = {"yes": True, "y": True, "x": True, "no": False, "n": False, "": False}
_CLOCK = re.compile(r"(\d{1,2})(?:[:.](\d\d)(?::00)?)?\s*([ap])?\.?(?:m\.?)?", re.ASCII | re.IGNORECASE)
_COMMA = re.compile(r"(?<=\d),(?=\d)")
_THOUSANDS = re.compile(r"(?<![\d,.])[1-9]\d{0,2}(,\d{3})+(?![\d,])", re.ASCII)


@dataclass
class ReadPour:
    """A pour as the lines tell it; `stands` where that very pour is booked already."""

    lines: list[int]
    job: Job
    fields: dict[str, Any]
    sections: list[dict[str, Any]] = field(default_factory=list)
    stands: bool = False


@dataclass(frozen=True)
class Reading:
    """Everything a sheet says, or what is wrong with it. `asks_order` where its dates read two ways.

    `left_out` is what an export said there is more of than a sheet holds.
    """

    pours: tuple[ReadPour, ...]
    problems: tuple[Problem, ...]
    unknown: tuple[str, ...]
    left_out: tuple[Problem, ...]
    asks_order: bool
    order: DateOrder | None


def column_names() -> dict[str, str]:
    """Every name a column may have, with the one it is known by."""
    return {name: own for own, others in COLUMNS.items() for name in (own, *others)}


def read_pours(sheet: Sheet, company: Company, order: DateOrder | None = None) -> Reading:
    """Read a sheet; an order said counts only where no date of the sheet tells it."""
    names = column_names()
    unknown = tuple(name for name in sheet.header if name and name not in names and name not in TOLD_ONLY)
    lines = [(n, {names[k]: v for k, v in cells.items() if k in names}) for n, cells in sheet.lines]
    missing = [name for name in NEEDED if name not in {names.get(one) for one in sheet.header}]
    if missing:
        raise SheetWrong([Problem(0, name, f"There is no column “{name}”.") for name in missing])
    left_out = tuple(Problem(n, "more", cells["more"]) for n, cells in sheet.lines if cells.get("more"))
    dates = [cells.get("date", "") for _, cells in lines]
    told = order_of_dates(dates) or order
    if told is None and any(is_unclear(text) for text in dates):
        return Reading((), (), unknown, left_out, True, None)
    reader = _Reader(sheet, company, told)
    pours = reader.pours(lines)
    return Reading(tuple(pours), tuple(reader.problems), unknown, left_out, False, told)


class _Reader:
    """Reads line by line and gathers every problem instead of stopping at the first."""

    def __init__(self, sheet: Sheet, company: Company, order: DateOrder | None) -> None:
        self.sheet, self.order = sheet, order
        self.system = company.units
        self.problems: list[Problem] = []
        self.jobs = list(Job.objects.select_related("site"))
        self.crews = list(Crew.objects.filter(active=True).select_related("lead").prefetch_related("workers"))
        self.mixes = list(Mix.objects.filter(active=True, plant__active=True).select_related("plant"))

    def pours(self, lines: Iterable[tuple[int, dict[str, str]]]) -> list[ReadPour]:
        read = [_Line(self, number, cells) for number, cells in lines]
        told = []
        for line in read:
            if pour := line.pour():
                told.append((line, pour))
            else:
                line.section()  # for what is wrong with it besides
        self._mark_standing([pour for _, pour in told])
        found: dict[tuple[Any, ...], ReadPour] = {}
        for line, pour in told:
            kept = found.setdefault(_key(pour), pour)
            if kept is not pour:
                kept.lines.append(line.number)
                if kept.fields != pour.fields:
                    line.wrong("job", "It is another slab of a pour above, but tells that pour otherwise.")
            # What is booked already is left as it is, whatever its line says of the slab.
            section = None if kept.stands else line.section()
            if section is not None:
                kept.sections.append(section)
        if len(found) > MOST_POURS:
            self.problems.append(
                Problem(0, "", f"There are more than {MOST_POURS} pours: take fewer at once.")
            )
        self.problems.sort(key=lambda problem: problem.line)
        return list(found.values())

    def _mark_standing(self, pours: Sequence[ReadPour]) -> None:
        booked = Pour.objects.filter(job__in={pour.job.pk for pour in pours}).exclude(
            state=PourState.CANCELLED
        )
        there = {
            (p.job_id, p.starts_at, p.title.casefold()) for p in booked.only("job", "starts_at", "title")
        }
        for pour in pours:
            pour.stands = _key(pour) in there


def _key(pour: ReadPour) -> tuple[Any, ...]:
    return pour.job.pk, pour.fields["starts_at"], pour.fields["title"].casefold()


class _Line:
    """One line of the sheet."""

    def __init__(self, reader: _Reader, number: int, cells: dict[str, str]) -> None:
        self.reader, self.number, self.cells = reader, number, cells

    def wrong(self, column: str, message: str) -> None:
        self.reader.problems.append(Problem(self.number, column, message))

    def said(self, column: str) -> str:
        return " ".join(self.cells.get(column, "").split())

    # --- rows that are kept -------------------------------------------------------------------

    def pour(self) -> ReadPour | None:
        before = len(self.reader.problems)
        job, crew, mix = self._job(), self._crew(), self._mix()
        starts_at = self._starts_at(job)
        fields = {
            "title": self.said("pour"),
            "starts_at": starts_at,
            "crew": crew,
            "mix": mix,
            "plant": mix.plant if mix else None,
            "people": self._count("people", _size(crew)),
            "method": self._word("placed by", [m.value for m in Method], Method.CHUTE.value),
            "finish": self._word("finish", [f.value for f in Finish], Finish.TROWEL.value),
            "finishers": self._count("finishers", 2),
            "power_trowels": self._count("power trowels", 1, least=0),
            "saw": self._word("saw", [s.value for s in SawType], SawType.CONVENTIONAL.value),
            "test_cylinders": self._count("test cylinders", 0, least=0),
            "spotter": self.said("spotter"),
            "decorative": self._yes_no("decorative"),
            "notes": self.cells.get("notes", "").strip(),
            **self._allowance(),
        }
        whole = len(self.reader.problems) == before and job is not None
        return ReadPour([self.number], job, fields) if whole and job else None

    def section(self) -> dict[str, Any] | None:
        before = len(self.reader.problems)
        length_m, width_m = self._size("length", Dimension.LENGTH), self._size("width", Dimension.LENGTH)
        area_m2 = self._size("area", Dimension.AREA)
        depth_m = self._size("depth", Dimension.DEPTH)
        if depth_m is None and not self.said("depth"):
            self.wrong("depth", "Give the depth.")
        section = {
            "label": self.said("slab"),
            "shape": "rectangle" if area_m2 is None else "area",
            "depth_m": depth_m,
            "depth_kind": self._word("what falls", FALLING, "uniform", FALLING),
            "fall_m": self._size("falls by", Dimension.DEPTH) or 0.0,
            "falls_towards_deg": float(self._count("falls towards", 90, least=0, most=359)),
        }
        if area_m2 is None:
            section |= {"length_m": length_m, "width_m": width_m}
            if not (self.said("length") and self.said("width")):
                self.wrong("length", "Give length and width, or an area.")
        elif self.said("length") or self.said("width"):
            self.wrong("area", "Give length and width, or an area, not both.")
        else:
            section["area_m2"] = area_m2
        return section if len(self.reader.problems) == before else None

    # --- what a cell says -----------------------------------------------------------------------

    def _job(self) -> Job | None:
        job, site = self.said("job").casefold(), self.said("site").casefold()
        found = [one for one in self.reader.jobs if one.name.casefold() == job]
        if site:
            found = [one for one in found if site in (one.site.name.casefold(), one.site.address.casefold())]
        if len(found) == 1:
            return found[0]
        at = f" at {self.said('site')}" if site else ""
        many = f"There are several jobs called {self.said('job')}{at}: say the site too."
        none = f"There is no job called {self.said('job')}{at}: open it first, by booking its first pour."
        self.wrong("job", many if found else none if job else "Name the job.")
        return None

    def _crew(self) -> Crew | None:
        return self._one_of("crew", self.reader.crews, lambda crew: crew.name) if self.said("crew") else None

    def _mix(self) -> Mix | None:
        plant = self.said("plant").casefold()
        mixes = [mix for mix in self.reader.mixes if plant in ("", mix.plant.name.casefold())]
        return self._one_of("mix", mixes, lambda mix: mix.code)

    def _one_of(self, column: str, rows: Sequence[Any], name: Callable[[Any], str]) -> Any:
        said = self.said(column)
        found = [row for row in rows if name(row).casefold() == said.casefold()]
        if len(found) == 1:
            return found[0]
        known = ", ".join(sorted({name(row) for row in rows})[:12]) or "none"
        many = f"There are several called {said}: name the plant too."
        self.wrong(column, many if found else f"There is no {column} called “{said}”. There are: {known}.")
        return None

    def _starts_at(self, job: Job | None) -> datetime | None:
        day = read_date(self.said("date"), self.reader.order)
        clock = _clock(self.said("start"))
        if day is None:
            self.wrong("date", f"“{self.said('date')}” is no day. Write it as 2026-04-03.")
        if clock is None:
            self.wrong("start", f"“{self.said('start')}” is no time. Write it as 07:00 or 7:00 am.")
        if day is None or clock is None or job is None:
            return None
        try:
            return moment_of(datetime.combine(day, clock), ZoneInfo(job.site.time_zone), "start")
        except Refusal as refused:
            self.wrong("start", refused.message)
            return None

    def _size(self, column: str, dimension: Dimension) -> float | None:
        return self._quantity(column, self.said(column), dimension)

    def _quantity(self, column: str, said: str, dimension: Dimension) -> float | None:
        """The quantity; a decimal comma is one only where semicolons part the cells."""
        if not said:
            return None
        if self.reader.sheet.has_decimal_commas:
            said = _COMMA.sub(".", said)
        elif _COMMA.search(_THOUSANDS.sub("", said)):
            self.wrong(
                column, f"“{said}” has a decimal comma: those are read only where semicolons part cells."
            )
            return None
        try:
            return parse(said, dimension, BARE[dimension][self.reader.system])
        except QuantityError as unread:
            self.wrong(column, f"“{said}”: {unread}")
            return None

    def _allowance(self) -> dict[str, Any]:
        said = self.said("allowance")
        percent = self._quantity("allowance", said, Dimension.PERCENT)
        if percent is None:
            return {}
        if not 0 <= percent <= 50:
            self.wrong("allowance", "An allowance is from 0 to 50 %.")
        return {"allowance_kind": "percent", "allowance_value": percent}

    def _count(self, column: str, usual: int, least: int = 1, most: int = 60) -> int:
        said = self.said(column)
        if not said:
            return usual
        if not (said.isascii() and said.isdigit() and len(said) < 4 and least <= int(said) <= most):
            self.wrong(column, f"“{said}” is no whole number from {least} to {most}.")
            return usual
        return int(said)

    def _yes_no(self, column: str) -> bool:
        said = self.said(column).casefold()
        if said not in YES_NO:
            self.wrong(column, f"“{said}” is neither yes nor no.")
        return YES_NO.get(said, False)

    def _word(
        self, column: str, known: Iterable[str], usual: str, table: dict[str, str] | None = None
    ) -> str:
        said = self.said(column).casefold()
        words = table or {one.replace("_", " "): one for one in known}
        if said and said not in words:
            self.wrong(column, f"“{said}” is not one of: {', '.join(word for word in words if word)}.")
        return words.get(said, usual) if said else usual


# What a number without a unit is in, as on the booking page.
BARE: dict[Dimension, dict[str, str]] = {
    Dimension.LENGTH: {"us": "ft", "metric": "m"},
    Dimension.DEPTH: {"us": "in", "metric": "mm"},
    Dimension.AREA: {"us": "ft2", "metric": "m2"},
    Dimension.PERCENT: {"us": "%", "metric": "%"},
}


def _size(crew: Crew | None) -> int:
    return (sum(worker.active for worker in crew.workers.all()) if crew else 0) or 5


def _clock(said: str) -> time | None:
    """7, 7:30, 07:00, 7 am, 7:30pm as a time of day; None where it is none."""
    found = _CLOCK.fullmatch(said)
    if found is None or (found[2] is None and found[3] is None):
        return None
    hour, minute, half = int(found[1]), int(found[2] or 0), (found[3] or "").casefold()
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None
