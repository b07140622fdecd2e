"""The page for sheets: shown in words before anything is booked, faults by line, an export beside."""

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from scheduling.models import Pour
from scheduling.roles import Role
from tests import factories
from tests.pages.conftest import signed_in
from tests.pages.reading import fields_of, text_of

ADDRESS = "/pours/import/"
HEADER = "site,job,date,start,crew,mix,length,width,depth"
LINE = "Mill Rd,Garage,2026-09-03,7:00 am,Ash,4000-75-WR,52',38 ft,5 in"


@pytest.fixture
def sheet(crew, mix):
    """Lines as a file that somebody chose, of a job that is known."""
    factories.job(name="Garage", site=factories.site(name="Mill Rd"))

    def _sheet(*lines, header=HEADER, encoding="utf-8-sig"):
        content = "\r\n".join([header, *(lines or (LINE,))]).encode(encoding)
        return SimpleUploadedFile("week.csv", content, content_type="text/csv")

    return _sheet


def look(page, file, **said):
    return page.post(ADDRESS, {"file": file, "look": "1", **said})


def test_the_page_says_what_it_wants(page):
    text = text_of(page.get(ADDRESS))
    assert "It is shown in words first; all of it is booked, or nothing." in text
    assert "thickness" in text


def test_what_was_read_is_shown_in_words_and_nothing_is_kept(page, sheet):
    answer = look(page, sheet())
    text = text_of(answer)
    assert answer.status_code == 200
    assert "Thursday, September 3 2026, 7:00 am" in text
    assert "Garage, Mill Rd" in text
    assert "52' by 38'" in text.replace("′", "'").replace(' 0"', "")
    assert "Ash, 5 people; 4000-75-WR from Quarry Road plant" in text
    assert "Book this pour" in text
    assert not Pour.objects.exists()


def test_what_was_shown_is_booked_when_it_is_sent_again(page, sheet):
    shown = fields_of(look(page, sheet()))
    answer = page.post(ADDRESS, {"text": shown["text"], "take": "1"})
    assert answer.status_code == 302
    assert Pour.objects.get().job.name == "Garage"
    assert "1 pour is booked." in text_of(page.get("/week/"))
    again = look(page, sheet())
    assert "booked already, left as it is" in text_of(again)
    assert "there is nothing to do" in text_of(again)
    page.post(ADDRESS, {"text": shown["text"], "take": "1"})
    assert Pour.objects.count() == 1


def test_dates_that_read_two_ways_are_asked_about_and_read_as_chosen(page, sheet):
    unclear = LINE.replace("2026-09-03", "03/09/2026")
    asked = look(page, sheet(unclear))
    text = fields_of(asked)["text"]
    assert "can be read two ways" in text_of(asked)
    chosen = page.post(ADDRESS, {"text": text, "order": "day_first", "look": "1"})
    assert "Thursday, September 3 2026" in text_of(chosen)
    unasked = page.post(ADDRESS, {"text": text, "take": "1"})
    assert unasked.status_code == 400
    assert not Pour.objects.exists()


def test_faults_are_listed_with_line_and_column(page, sheet):
    answer = look(page, sheet(LINE, LINE.replace("Ash", "Oak"), LINE.replace("5 in", "deep")))
    text = text_of(answer)
    assert answer.status_code == 400
    assert "Line 3, crew: There is no crew called “Oak”. There are: Ash." in text
    assert "Line 4, depth:" in text
    assert 'name="take"' not in answer.content.decode()


def test_clashes_are_booked_by_a_dispatcher_who_says_so(page, sheet):
    shown = fields_of(look(page, sheet(LINE, LINE.replace("7:00", "8:00"))))
    told = page.post(ADDRESS, {"text": shown["text"], "take": "1"})
    assert told.status_code == 409
    assert "Some of these clash" in text_of(told)
    assert 'name="take_anyway"' in told.content.decode()
    assert page.post(ADDRESS, {"text": shown["text"], "take_anyway": "1"}).status_code == 302
    assert Pour.objects.count() == 2


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "nothing in the file"), (b"x" * 200_000, "longer than"), ("Größe".encode("latin-1"), "UTF-8")],
)
def test_what_cannot_be_read_is_told_plainly(page, sheet, content, said):
    answer = look(page, SimpleUploadedFile("week.csv", content))
    assert answer.status_code == 400
    assert said in text_of(answer)


def test_without_a_file_it_is_asked_for(page):
    answer = page.post(ADDRESS, {"look": "1"})
    assert answer.status_code == 400
    assert "Choose the file." in text_of(answer)


def test_what_was_typed_into_cells_is_no_markup(page, sheet):
    answer = look(page, sheet(LINE.replace("Garage", "<b>Barn</b>")))
    assert b"<b>Barn" not in answer.content


def test_looking_takes_few_questions_whatever_the_number_of_lines(page, sheet, django_assert_max_num_queries):
    lines = [LINE.replace("09-03", f"10-{day:02}") for day in range(1, 21)]
    with django_assert_max_num_queries(15):
        assert "these 20 pours" in text_of(look(page, sheet(*lines)))


def test_a_lead_imports_nothing_and_exports_the_own_pours(crew, book):
    mine = book(job=factories.job(name="Garage"))
    book(job=factories.job(name="Secret barn"), crew=factories.crew())
    lead = signed_in(crew.lead)
    assert lead.get(ADDRESS).status_code == 403
    answer = lead.get("/pours/export.csv?first=2026-09-01&last=2026-09-30")
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="pours-2026-09-01-2026-09-30.csv"'
    text = answer.content.decode("utf-8-sig")
    assert mine.job.name in text
    assert "Secret barn" not in text


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("", "Give the first day."),
        ("first=2026-09-01", "Give the last day."),
        ("first=x&last=y", "That is not a day."),
        ("first=2026-09-02&last=2026-09-01", "not before the first"),
        ("first=2026-01-01&last=2028-01-01", "at most a year after"),
    ],
)
def test_a_range_that_is_none_is_refused(page, crew, asked, told):
    for reader in (page, signed_in(crew.lead)):
        answer = reader.get(f"/pours/export.csv?{asked}")
        assert answer.status_code == 400
        assert told in text_of(answer)


def test_the_week_goes_out_and_comes_in_again(page, book):
    pour = book()
    answer = page.get(f"/pours/export.csv?first={date(2026, 8, 31)}&last={date(2026, 9, 6)}")
    file = SimpleUploadedFile("week.csv", answer.content)
    shown = look(page, file)
    assert shown.status_code == 200
    assert "booked already" in text_of(shown)
    assert pour.job.name in text_of(shown)


def test_a_dispatcher_may(office):
    assert signed_in(factories.user(Role.DISPATCHER)).get(ADDRESS).status_code == 200
