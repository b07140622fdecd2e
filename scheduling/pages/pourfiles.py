"""Pours from a sheet, looked at before they are booked, and pours into one."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from scheduling.models import Company
from scheduling.pages.access import needs, person
from scheduling.pages.clock import long_day
from scheduling.pages.fields import PlainForm
from scheduling.pages.wording import Words
from scheduling.queries.pourfiles import pours_between
from scheduling.roles import Right
from scheduling.services import sheets
from scheduling.services.sheetfile import (
    CLASHES,
    DELIMITERS,
    MOST_BYTES,
    DateOrder,
    Problem,
    SheetWrong,
    decoded,
)
from scheduling.services.sheetpours import COLUMNS, NEEDED, Reading, ReadPour

LONGEST = timedelta(days=366)
ORDERS = [
    (DateOrder.MONTH_FIRST.value, "the month first: 03/04/2026 is March 4"),
    (DateOrder.DAY_FIRST.value, "the day first: 03/04/2026 is April 3"),
]


class SheetForm(PlainForm):
    """The file, or its text as the page that showed it carries it."""

    file = forms.FileField(required=False, label="The file", allow_empty_file=True)
    text = forms.CharField(required=False, max_length=MOST_BYTES, strip=False, widget=forms.HiddenInput)
    delimiter = forms.ChoiceField(
        required=False,
        label="Cells are parted by",
        choices=[("", "find out"), *((name, f"{name}s") for name in DELIMITERS)],
    )
    order = forms.ChoiceField(required=False, label="Dates have", choices=[("", "Choose…"), *ORDERS])

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        chosen = said.get("file")
        if not chosen and not said.get("text"):
            self.add_error("file", "Choose the file.")
        return said


class RangeForm(PlainForm):
    """From which day to which."""

    first = forms.DateField(
        label="From", widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"required": "Give the first day.", "invalid": "That is not a day."},
    )  # fmt: skip
    last = forms.DateField(
        label="To and with", widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"required": "Give the last day.", "invalid": "That is not a day."},
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        first, last = said.get("first"), said.get("last")
        if first and last and not first <= last <= first + LONGEST:
            self.add_error("last", "The last day is not before the first, and at most a year after it.")
        return said


@dataclass(frozen=True)
class Row:
    lines: str
    when: str
    what: str
    slab: str
    who: str
    stands: bool


@dataclass
class Shown:
    """What is known of the file so far."""

    text: str = ""
    rows: tuple[Row, ...] = ()
    problems: tuple[Problem, ...] = ()
    unknown: tuple[str, ...] = ()
    left_out: tuple[Problem, ...] = ()
    asks_order: bool = False
    clashes: bool = False

    @property
    def fresh(self) -> int:
        return sum(not row.stands for row in self.rows)


@needs(Right.BOOK)
def import_pours(request: HttpRequest) -> HttpResponse:
    """The file is read and shown; only what was shown and is sent again is booked."""
    company = Company.objects.first()
    if company is None:
        return render(request, "pages/no_company.html", {"here": "book"})
    if request.method != "POST":
        return _page(request, SheetForm(), Shown(), company)
    form = SheetForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, Shown(), company, status=400)
    shown = Shown()
    try:
        shown.text = _text(form)
        reading = _read(form, shown.text)
        _tell(shown, reading, Words.of(company))
        if "take" in request.POST or "take_anyway" in request.POST:
            return _book(request, reading)
    except SheetWrong as wrong:
        shown.problems, shown.clashes = wrong.problems, wrong.code == CLASHES
        return _page(request, form, shown, company, status=wrong.status)
    return _page(request, form, shown, company, status=400 if shown.problems else 200)


def _text(form: SheetForm) -> str:
    chosen = form.cleaned_data["file"]
    return decoded(chosen.read(MOST_BYTES + 1)) if chosen else str(form.cleaned_data["text"])


def _read(form: SheetForm, text: str) -> Reading:
    said = form.cleaned_data
    order = DateOrder(said["order"]) if said["order"] else None
    return sheets.read_sheet(text=text, delimiter=DELIMITERS.get(said["delimiter"], ""), order=order)


def _book(request: HttpRequest, reading: Reading) -> HttpResponse:
    booked = sheets.import_pours(
        reading=reading,
        by=person(request),
        now=timezone.now(),
        accept_clashes="take_anyway" in request.POST,
    )
    many = "1 pour is" if len(booked) == 1 else f"{len(booked)} pours are"
    messages.success(request, f"{many} booked.")
    return redirect("week")


def _tell(shown: Shown, reading: Reading, words: Words) -> None:
    shown.rows = tuple(_row(pour, words) for pour in reading.pours)
    shown.problems, shown.unknown, shown.left_out = reading.problems, reading.unknown, reading.left_out
    shown.asks_order = reading.asks_order


def _row(pour: ReadPour, words: Words) -> Row:
    said, zone = pour.fields, ZoneInfo(pour.job.site.time_zone)
    day = long_day(said["starts_at"].astimezone(zone).date(), words.units)
    names = dict.fromkeys((f"{pour.job.name} {said['title']}".strip(), pour.job.site.name))
    people = "1 person" if said["people"] == 1 else f"{said['people']} people"
    return Row(
        lines=", ".join(str(line) for line in pour.lines),
        when=f"{day} {said['starts_at'].astimezone(zone).year}, {words.clock(said['starts_at'], zone)}",
        what=", ".join(names),
        slab="; ".join(_slab(section, words) for section in pour.sections) or "as it is booked",
        who=f"{said['crew'].name if said['crew'] else 'no crew yet'}, {people}; {said['mix'].code} "
        f"from {said['plant'].name}",
        stands=pour.stands,
    )


def _slab(section: dict[str, Any], words: Words) -> str:
    sides = [section.get("length_m"), section.get("width_m")]
    by = " by ".join(words.length(side) for side in sides if side is not None)
    size = by or words.area(section["area_m2"])
    fall = f", falling {words.depth(section['fall_m'])}" if section["fall_m"] else ""
    return f"{size}, {words.depth(section['depth_m'])} thick{fall}"


def _page(
    request: HttpRequest,
    form: SheetForm,
    shown: Shown,
    company: Company,
    status: int = 200,
    days: RangeForm | None = None,
) -> HttpResponse:
    """The page; where it all is well the file goes on with it, so that only what was seen is booked."""
    today = timezone.now().astimezone(ZoneInfo(company.time_zone)).date()
    monday = today - timedelta(days=today.weekday())
    context = {
        "form": form,
        "shown": shown,
        "range": days or RangeForm(initial={"first": monday, "last": monday + timedelta(days=6)}),
        "columns": list(_column_words()),
        "here": "book",
    }
    return render(request, "pages/pours_import.html", context, status=status)


def _column_words() -> Iterator[tuple[str, bool, str]]:
    for name, others in COLUMNS.items():
        yield name, name in NEEDED, ", ".join(others)


@require_safe
@needs(Right.SEE_WEEK)
def export_pours(request: HttpRequest) -> HttpResponse:
    """The pours of some days as a sheet, of those one may see."""
    form = RangeForm(request.GET)
    company = Company.objects.first()
    if company is None:
        return HttpResponse("There is no company yet.", status=400, content_type="text/plain")
    if not form.is_valid():
        if person(request).may(Right.BOOK):
            return _page(request, SheetForm(), Shown(), company, status=400, days=form)
        told = " ".join(str(error) for errors in form.errors.values() for error in errors)
        return HttpResponse(told, status=400, content_type="text/plain")
    first, last = form.cleaned_data["first"], form.cleaned_data["last"]
    body = sheets.pours_sheet(pours_between(person(request), first, last), company)
    answer = HttpResponse(body.encode("utf-8-sig"), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="pours-{first}-{last}.csv"'
    return answer
