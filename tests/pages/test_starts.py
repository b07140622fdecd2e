import re
from datetime import timedelta

import pytest
import time_machine

from scheduling.pages.starts import _against
from scheduling.services import booking, planning
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import fields_of, html_of, text_of


@pytest.fixture
def answer(page, pour):
    return page.get(f"/pours/{pour.pk}/starts/?all")


def test_every_half_hour_is_listed_in_the_order_of_its_trouble(answer, pour):
    html = html_of(answer)
    troubles = [float(said) for said in re.findall(r'class="trouble"><b>([\d.]+)</b>', html)]
    choices = planning.better_starts(pour=pour, now=factories.NOW)
    assert len(troubles) == len(choices) == 29  # from four in the morning to six in the evening
    assert troubles == [round(choice["total_h"], 1) for choice in choices]
    assert troubles == sorted(troubles)


def test_the_booked_start_is_marked_and_has_nothing_to_take(answer):
    html = html_of(answer)
    assert html.count("booked now") == 1
    booked = html[html.index("start booked") :].split("</li>")[0]
    assert "7:00 am" in booked
    assert "Take" not in booked


def test_a_start_fills_in_the_form_that_moves_the_pour(page, answer):
    taken = re.search(r'href="(/pours/\d+/)\?start=2026-09-03T05:30#move">Take 5:30 am', html_of(answer))
    fields = fields_of(page.get(taken[1], {"start": "2026-09-03T05:30"}))
    assert (fields["day"], fields["time"]) == ("2026-09-03", "05:30")


def test_it_says_in_words_what_speaks_against_a_start(answer):
    # The plant opens at six.
    row = next(part for part in html_of(answer).split('<li class="sheet start') if "Take 4:00 am" in part)
    assert "the plant’s hours" in row
    assert "New or graver than at the booked start" in row
    assert "6 am" in row


def test_a_booked_start_off_the_half_hour_is_told_apart(page, book):
    pour = book(starts_at=THURSDAY + timedelta(minutes=15))
    text = text_of(page.get(f"/pours/{pour.pk}/starts/?all"))
    assert "booked at 7:15 am" in text
    assert "The booked start is not among them" in text
    assert "booked now" not in text


def test_a_day_that_is_over_says_so(page, pour):
    with time_machine.travel(THURSDAY + timedelta(days=1), tick=False):
        answer = page.get(f"/pours/{pour.pk}/starts/?all")
    assert answer.status_code == 400
    assert "No start is left on that day." in text_of(answer)


def test_a_cancelled_pour_has_no_other_starts(page, pour, office):
    booking.cancel_pour(pour=pour, version=1, reason="Rain", by=office, now=factories.NOW)
    text = text_of(page.get(f"/pours/{pour.pk}/starts/?all"))
    assert "This pour is cancelled" in text
    assert "Take" not in text


def test_only_those_who_book_get_there(page, pour, crew):
    assert signed_in(crew.lead).get(f"/pours/{pour.pk}/starts/?all").status_code == 403
    assert page.get("/pours/0/starts/").status_code == 404
    html = html_of(page.get(f"/pours/{pour.pk}/"))
    assert f'href="/pours/{pour.pk}/starts/"' in html[html.index("Change it") :]


def finding(code, severity):
    return {"code": code, "severity": severity, "facts": {}, "source": ""}


def test_a_finding_of_another_severity_is_said_once():
    choice = {
        "appear": [finding("dry", "note"), finding("hot", "stop"), finding("dark", "caution")],
        "clear": [finding("dry", "caution"), finding("hot", "caution"), finding("rain", "note")],
    }
    milder, worse, gone = ([one["code"] for one in part] for part in _against(choice))
    assert (milder, worse, gone) == (["dry"], ["hot", "dark"], ["rain"])
