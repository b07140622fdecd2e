"""Pours out of sheets and into them: what is read, what is refused with its line, nothing half done."""

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.errors import NotAllowed
from scheduling.models import Pour
from scheduling.quantities import Dimension, UnitSystem, parse
from scheduling.queries.pourfiles import pours_between
from scheduling.roles import Role
from scheduling.services import booking, sheets
from scheduling.services.sheetfile import DateOrder, SheetWrong, cut, decoded, guarded, opened
from scheduling.services.sheetpours import column_names
from tests import factories

NOW = factories.NOW
FT, IN = 0.3048, 0.0254
HEADER = "job,date,start,crew,mix,length,width,depth"
LINE = "Garage,2026-09-03,7:00 am,Ash,4000-75,52',38 ft,5 in"


@pytest.fixture
def company(db):
    factories.company()
    factories.crew(people=5, name="Ash")
    factories.mix(code="4000-75", plant=factories.plant(name="Hilltop"))
    return factories.job(name="Garage", site=factories.site(name="Mill Rd", address="14 Mill Rd"))


def read(*lines, header=HEADER, **said):
    return sheets.read_sheet(text="\n".join([header, *lines]), **said)


def told(reading):
    return [(problem.line, problem.column) for problem in reading.problems]


# --- the file ---------------------------------------------------------------------------------


def test_a_mark_of_the_byte_order_is_no_part_of_the_first_column(company):
    # Another program read a file with it as plain UTF-8 and found a column "\ufeffdate"
    text = decoded("\ufeffdate;yards;site\n2026-09-03;10,5;Mill Rd\n".encode())
    assert cut(text, {"date", "site"}).header == ["date", "yards", "site"]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_what_parts_the_cells_is_found_out_by_the_columns_known(mark):
    sheet = cut(f"job{mark}date{mark}a note, or two; so\nGarage{mark}2026-09-03{mark}x", column_names())
    assert sheet.delimiter == mark
    assert (
        sheet.lines
        == [(2, {"job": "Garage", "date": "2026-09-03", sheet.header[2]: "x"})][: len(sheet.lines)]
    )


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n\n",
        b"job,date\n",
        "Größe;x\n".encode("latin-1"),
        "job,date\na,b".encode("utf-16"),
        b"x" * 100_001,
    ],
)
def test_what_is_no_sheet_is_refused_in_words(content):
    with pytest.raises(SheetWrong) as wrong:
        cut(decoded(content), column_names())
    assert wrong.value.problems[0].message.endswith((".", "below."))


def test_quotes_that_never_end_name_their_line():
    with pytest.raises(SheetWrong) as wrong:
        cut('job,date\n"Garage,2026-09-03\n', column_names())
    assert wrong.value.problems[0].line > 0


def test_too_many_lines_are_refused():
    with pytest.raises(SheetWrong):
        cut("job,date\n" + "a,b\n" * 201, column_names())


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=20))
def test_no_cell_that_goes_out_is_a_formula_and_each_comes_back(cell):
    out = guarded(cell)
    assert not out.startswith(("=", "+", "-", "@"))
    assert opened(out) == cell


# --- what lines say ---------------------------------------------------------------------------


def test_a_line_is_a_pour_with_the_usual_for_what_it_leaves_out(company):
    (pour,) = read(LINE).pours
    assert pour.job == company
    assert (pour.fields["people"], pour.fields["method"], pour.fields["finishers"]) == (5, "chute", 2)
    assert pour.fields["starts_at"].isoformat() == "2026-09-03T12:00:00+00:00"
    (section,) = pour.sections
    assert section["length_m"] == pytest.approx(52 * FT)
    assert section["depth_m"] == pytest.approx(5 * IN)


def test_a_bare_number_is_in_what_the_company_leaves_out(company):
    (pour,) = read("Garage,2026-09-03,7:00,Ash,4000-75,52,38,5").pours
    assert pour.sections[0]["width_m"] == pytest.approx(38 * FT)
    assert pour.sections[0]["depth_m"] == pytest.approx(5 * IN)


def test_a_decimal_comma_is_one_only_where_semicolons_part_the_cells(company):
    semicolons = read(
        "Garage;2026-09-03;7:00;Ash;4000-75;10,5 m;1,125 m;127,5 mm", header=HEADER.replace(",", ";")
    )
    section = semicolons.pours[0].sections[0]
    assert section["length_m"] == pytest.approx(10.5)
    assert section["width_m"] == pytest.approx(1.125)
    assert section["depth_m"] == pytest.approx(0.1275)
    commas = read('Garage,2026-09-03,7:00,Ash,4000-75,"10,5 m",38 ft,5 in')
    assert told(commas) == [(2, "length")]
    thousands = read('Garage,2026-09-03,7:00,Ash,4000-75,"1,200 ft",38 ft,5 in')
    assert thousands.pours[0].sections[0]["length_m"] == pytest.approx(1200 * FT)


def test_a_date_that_reads_two_ways_must_be_chosen(company):
    # European exports of another program read 03/04/2026 as March
    line = LINE.replace("2026-09-03", "03/09/2026")
    asked = read(line)
    assert asked.asks_order
    assert asked.pours == ()
    days = [
        read(line, order=order).pours[0].fields["starts_at"].date()
        for order in (DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST)
    ]
    assert days == [date(2026, 9, 3), date(2026, 3, 9)]


def test_one_day_over_twelve_fixes_all_dates_whatever_was_chosen(company):
    lines = [LINE.replace("2026-09-03", day) for day in ("03/09/2026", "17/09/2026")]
    reading = read(*lines, order=DateOrder.MONTH_FIRST)
    assert reading.order is DateOrder.DAY_FIRST
    assert [p.fields["starts_at"].date() for p in reading.pours] == [date(2026, 9, 3), date(2026, 9, 17)]


def test_dates_that_contradict_each_other_are_refused(company):
    with pytest.raises(SheetWrong):
        read(*(LINE.replace("2026-09-03", day) for day in ("17/09/2026", "09/17/2026")))


def test_a_date_that_is_the_same_either_way_asks_nothing(company):
    assert not read(LINE.replace("2026-09-03", "09/09/2026")).asks_order


@pytest.mark.parametrize(
    ("said", "hour_utc"),
    [("7am", 12), ("7:00", 12), ("07:00:00", 12), ("1:30 p.m.", 18), ("12 am", 5), ("12pm", 17)],
)
def test_clock_times_as_people_write_them(company, said, hour_utc):
    assert read(LINE.replace("7:00 am", said)).pours[0].fields["starts_at"].hour == hour_utc


@pytest.mark.parametrize(
    ("old", "new", "column"),
    [
        ("Garage", "Barn", "job"),
        ("2026-09-03", "2026-02-30", "date"),
        ("7:00 am", "25:00", "start"),
        ("7:00 am", "7", "start"),
        ("7:00 am", "13 pm", "start"),
        ("Ash", "Oak", "crew"),
        ("4000-75", "5000", "mix"),
        ("52'", "", "length"),
        ("52'", "long", "length"),
        ("5 in", "", "depth"),
    ],
)
def test_every_fault_is_told_with_its_line_and_column(company, old, new, column):
    reading = read(LINE, LINE.replace("09-03", "09-04").replace(old, new).replace("2026-02-30", new))
    if old == "2026-09-03":
        reading = read(LINE, LINE.replace(old, new))
    assert (3, column) in told(reading)
    assert all(problem.message.endswith((".", "is.")) or problem.message for problem in reading.problems)


def test_all_faults_are_told_at_once(company):
    reading = read(LINE.replace("Garage", "Barn").replace("5 in", "deep"), LINE, LINE.replace("Ash", "Oak"))
    assert told(reading) == [(2, "job"), (2, "depth"), (4, "crew")]


def test_columns_nobody_knows_are_told_and_those_that_are_needed_are_missed(company):
    assert read(f"{LINE},x", header=f"{HEADER},colour").unknown == ("colour",)
    with pytest.raises(SheetWrong) as wrong:
        sheets.read_sheet(text="job,start\nGarage,7am")
    assert [problem.column for problem in wrong.value.problems] == ["date", "mix", "depth"]


def test_an_hour_that_the_clocks_skip_is_told(company):
    assert told(read(LINE.replace("2026-09-03,7:00 am", "2027-03-14,2:30 am"))) == [(2, "start")]


def test_lines_of_one_pour_are_its_slabs(company):
    (pour,) = read(LINE, LINE.replace("52'", "10'")).pours
    assert pour.lines == [2, 3]
    assert [round(section["length_m"] / FT) for section in pour.sections] == [52, 10]
    assert told(read(LINE, LINE.replace("Ash", ""))) == [(3, "job")]


# --- booked -----------------------------------------------------------------------------------


def taken(reading, **said):
    return sheets.import_pours(reading=reading, by=factories.user(), now=NOW, **said)


def test_a_sheet_is_booked_with_plans_and_orders(company):
    pours = taken(read(LINE, LINE.replace("09-03", "09-04")))
    assert [pour.plan is not None for pour in pours] == [True, True]
    assert Pour.objects.count() == 2


def test_nothing_is_booked_where_one_line_cannot_be(company):
    past = LINE.replace("2026-09-03", "2026-08-01")
    with pytest.raises(SheetWrong) as wrong:
        taken(read(LINE, past))
    assert [(problem.line, problem.column) for problem in wrong.value.problems] == [(3, "starts_at")]
    assert not Pour.objects.exists()


def test_clashes_are_told_and_booked_only_where_somebody_says_so(company):
    reading = read(LINE, LINE.replace("7:00 am", "8:00 am"))
    with pytest.raises(SheetWrong) as wrong:
        taken(reading)
    assert (wrong.value.code, wrong.value.problems[0].line) == ("sheet_clashes", 3)
    assert not Pour.objects.exists()
    assert len(taken(reading, accept_clashes=True)) == 2


def test_who_may_not_book_imports_nothing(company):
    with pytest.raises(NotAllowed):
        sheets.import_pours(reading=read(LINE), by=factories.user(Role.CREW_LEAD), now=NOW)


def test_a_sheet_with_faults_or_an_open_question_is_never_booked(company):
    for reading in (read(LINE.replace("Ash", "Oak")), read(LINE.replace("2026-09-03", "03/09/2026"))):
        with pytest.raises(SheetWrong):
            taken(reading)


# --- and out again ----------------------------------------------------------------------------

KEPT = (
    "title", "starts_at", "crew_id", "people", "plant_id", "mix_id", "method", "finish", "finishers",
    "power_trowels", "saw", "test_cylinders", "spotter", "decorative", "allowance_kind", "allowance_value",
    "notes",
)  # fmt: skip
SIZES = (
    "label", "shape", "length_m", "width_m", "area_m2", "depth_m", "depth_kind", "fall_m",
    "falls_towards_deg",
)  # fmt: skip


def state_of(pours):
    return [
        [getattr(pour, name) for name in KEPT]
        + [[getattr(section, name) for name in SIZES] for section in pour.sections.all()]
        for pour in pours
    ]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_an_export_comes_in_again_unchanged(company, units):
    factories.company(units=units)
    office = factories.user()
    taken(
        read(
            f'{LINE},=cmd|calc,"says ""hello"", twice",6.25 %,Cruz,x,broom',
            LINE.replace("09-03", "09-04").replace("38 ft", "11.37 m") + ",,'quoted,,,,",
            header=f"{HEADER},pour,notes,allowance,spotter,decorative,finish",
        )
    )
    factories.pour(
        job=company, starts_at=factories.STARTS_AT, mix=Pour.objects.first().mix,
        sections=[
            {
                "length_m": 10.123456789, "width_m": 3.3, "depth_m": 0.1, "depth_kind": "falling_top",
                "fall_m": 0.05,
            },
            {"shape": "area", "area_m2": 33.3333333, "depth_m": 0.127, "label": "apron"},
        ],
    )  # fmt: skip
    before = pours_between(office, date(2026, 8, 1), date(2026, 9, 30))
    sheet = sheets.pours_sheet(before, factories.company(units=units))
    kept = state_of(before)
    assert all(pour.stands for pour in sheets.read_sheet(text=sheet).pours)
    assert taken(sheets.read_sheet(text=sheet)) == []
    for row in csv.reader(io.StringIO(sheet)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)
    Pour.objects.all().update(plan=None)
    for pour in before:
        pour.delete()
    taken(sheets.read_sheet(text=sheet), accept_clashes=True)
    assert state_of(pours_between(office, date(2026, 8, 1), date(2026, 9, 30))) == kept


@given(
    st.floats(0.001, 5000), st.sampled_from(UnitSystem), st.sampled_from([Dimension.LENGTH, Dimension.DEPTH])
)
def test_a_size_goes_out_and_comes_back_as_it_was(value, system, dimension):
    said = sheets.exactly(value, dimension, system)
    assert parse(said, dimension) == value


def test_round_sizes_read_as_people_say_them():
    assert sheets.exactly(52 * FT, Dimension.LENGTH, UnitSystem.US) == "52 ft"
    assert sheets.exactly(0.127, Dimension.DEPTH, UnitSystem.US) == "5 in"
    assert sheets.exactly(0.127, Dimension.DEPTH, UnitSystem.METRIC) == "127 mm"


def test_what_a_sheet_cannot_hold_is_named_and_never_comes_back_as_less(company):
    edge = {"width_m": 0.3, "depth_m": 0.3}
    pour = factories.pour(
        job=company, reach_m=4.0, mix=factories.mix(), sections=[{**factories.SECTION, "edges": [edge]}]
    )
    sheet = sheets.pours_sheet([pour], factories.company())
    assert sheets.read_sheet(text=sheet).problems == ()  # it stands, and is left as it is
    Pour.objects.all().delete()
    reading = sheets.read_sheet(text=sheet)
    assert reading.left_out[0].message == "reach, thickened edges"
    assert told(reading)[0] == (2, "depth")
    with pytest.raises(SheetWrong):
        taken(reading)


def test_cancelled_pours_and_those_of_others_stay_out(company):
    office, crew = factories.user(), factories.crew(name="Birch")
    mine, other = factories.pour(crew=crew), factories.pour()
    cancelled = factories.pour()
    booking.cancel_pour(pour=cancelled, version=1, reason="no", by=office, now=NOW)
    days = (date(2026, 8, 28), date(2026, 8, 28))
    assert pours_between(office, *days) == [mine, other]
    assert pours_between(crew.lead, *days) == [mine]
    assert pours_between(office, date(2026, 8, 29), date(2026, 9, 29)) == []
