"""A file of separated values as office programs save it: its encoding, what parts its cells, its dates."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from scheduling.errors import Clashes, Refusal

CLASHES = "sheet_clashes"  # nothing is wrong with the file but that
MOST_BYTES = 100_000
MOST_LINES = 200
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}
# What office programs take for the beginning of a formula.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})", re.ASCII)
_PARTED = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})", re.ASCII)


class DateOrder(StrEnum):
    DAY_FIRST = "day_first"
    MONTH_FIRST = "month_first"


@dataclass(frozen=True)
class Problem:
    """What is wrong on a line, counted as an editor counts them; 0 where it is the whole file."""

    line: int
    column: str
    message: str


class SheetWrong(Refusal):
    """The file as it is cannot be taken: nothing of it is."""

    def __init__(self, problems: Sequence[Problem], code: str = "sheet_wrong") -> None:
        super().__init__(problems[0].message, code=code, facts={"problems": list(problems)})
        self.problems = tuple(problems)
        self.status = Clashes.status if code == CLASHES else Refusal.status


@dataclass(frozen=True)
class Sheet:
    """The cells under their columns' names, each line with its number."""

    delimiter: str
    header: list[str]
    lines: list[tuple[int, dict[str, str]]] = field(default_factory=list)

    @property
    def has_decimal_commas(self) -> bool:
        return self.delimiter == ";"


def decoded(content: bytes) -> str:
    """The text of a file; raises `SheetWrong` where it is too long or not in UTF-8."""
    if len(content) > MOST_BYTES:
        raise _whole(f"The file is longer than {MOST_BYTES // 1000} kB: take fewer weeks at once.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise _whole("The file is not in UTF-8. Save it as “CSV UTF-8”, and try again.") from wrong
    if "\0" in text:
        raise _whole("The file is not in UTF-8. Save it as “CSV UTF-8”, and try again.")
    return text


def cut(text: str, known: Iterable[str], delimiter: str = "") -> Sheet:
    """Cut a text into cells; without a delimiter said, by the one that parts most of the known columns.

    Raises
    ------
    SheetWrong
        Where there is nothing in it, too much, or no telling what parts the cells.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    if not first:
        raise _whole("There is nothing in the file.")
    parted_by = delimiter or _delimiter(first, set(known))
    reader = csv.reader(io.StringIO(text), delimiter=parted_by, strict=True)
    header: list[str] = []
    lines: list[tuple[int, dict[str, str]]] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if not header:
                header = [cell.strip().casefold() for cell in cells]
                continue
            lines.append((reader.line_num, _named(header, cells, reader.line_num)))
            if len(lines) > MOST_LINES:
                raise _whole(f"There are more than {MOST_LINES} lines: take fewer weeks at once.")
    except csv.Error as wrong:
        said = f"Line {reader.line_num} cannot be cut into cells: look at its quotation marks."
        raise SheetWrong([Problem(reader.line_num, "", said)]) from wrong
    doubled = sorted({name for name in header if name and header.count(name) > 1})
    if doubled:
        raise _whole(f"There are two columns called “{doubled[0]}”.")
    if not lines:
        raise _whole("There is no line under the names of the columns.")
    return Sheet(parted_by, header, lines)


def _delimiter(header: str, known: set[str]) -> str:
    found = {
        one: len(known & {cell.strip().casefold() for cell in next(csv.reader([header], delimiter=one))})
        for one in DELIMITERS.values()
    }
    best = max(found.values())
    if best == 0 or list(found.values()).count(best) > 1:
        raise _whole("It cannot be told what parts the cells, or no column has a name we know. Say it below.")
    return next(one for one, count in found.items() if count == best)


def _named(header: Sequence[str], cells: Sequence[str], line: int) -> dict[str, str]:
    if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
        said = f"This line has {len(cells)} cells under {len(header)} columns: look at its commas and quotes."
        raise SheetWrong([Problem(line, "", said)])
    return {name: opened(cell.strip()) for name, cell in zip(header, cells, strict=False)}


def _whole(message: str) -> SheetWrong:
    return SheetWrong([Problem(0, "", message)])


# --- cells ------------------------------------------------------------------------------------


def guarded(cell: str) -> str:
    """The cell so that no office program takes it for a formula; `opened` turns it back."""
    return f"'{cell}" if cell.startswith((*FORMULA, "'")) else cell


def opened(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith((*FORMULA, "'")) else cell


def order_of_dates(said: Iterable[str]) -> DateOrder | None:
    """In what order dates such as 03/04/2026 have day and month; None where no date tells.

    Raises
    ------
    SheetWrong
        Where one date tells this and another that.
    """
    orders = set()
    for text in said:
        parts = _PARTED.fullmatch(text)
        if parts and int(parts[1]) > 12:
            orders.add(DateOrder.DAY_FIRST)
        elif parts and int(parts[2]) > 12:
            orders.add(DateOrder.MONTH_FIRST)
    if len(orders) > 1:
        raise _whole("Some dates have the day first and some the month. Write them as 2026-04-03.")
    return orders.pop() if orders else None


def is_unclear(text: str) -> bool:
    """Whether the date reads one way with the day first and another with the month."""
    parts = _PARTED.fullmatch(text)
    return parts is not None and max(int(parts[1]), int(parts[2])) <= 12 and parts[1] != parts[2]


def read_date(text: str, order: DateOrder | None) -> date | None:
    """The day, or None where it is none."""
    iso, parts = _ISO.fullmatch(text), _PARTED.fullmatch(text)
    try:
        if iso:
            return date(int(iso[1]), int(iso[2]), int(iso[3]))
        if parts:
            first, second = int(parts[1]), int(parts[2])
            day, month = (first, second) if order is DateOrder.DAY_FIRST else (second, first)
            return date(int(parts[3]), month, day)
    except ValueError:
        return None
    return None
