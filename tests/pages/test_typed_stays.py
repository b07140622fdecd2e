"""What was typed into any form is still there when it is refused."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from scheduling.pages.urls import urlpatterns
from tests import factories
from tests.browser.visits import FORMS
from tests.pages.reading import html_of

STALE = {"version": "999", "revision": "999"}
# What is typed or chosen, with something that cannot stand; each value must come back.
TYPED: dict[str, list[dict[str, str]]] = {
    "pour-move": [
        {"day": "2026-09-05", "time": "25:00", "version": "1"},
        {"day": "2026-09-06", "time": "09:15"},
    ],
    "pour-hold": [{"reason": "Forms not checked"}],
    "pour-cancel": [{"reason": "Rain all week"}],
    "pour-spotter": [{"spotter": "Nobody of theirs"}],
    "order-called": [{"taken_by": "Dee at the window"}],
    "order-confirmed": [{"ticket": "A-1187"}],
    "week-move": [
        {"day": "2026-09-05", "time": "25:00", "version": "1"},
        {"day": "2026-09-06", "time": "09:15"},
    ],
    "pour-day-note": [
        {"kind": "ticket", "load": "1", "batched": "25:00", "at": "06:50"},
        {"kind": "people_there", "people": "999"},
        {"kind": "problem", "words": "x" * 301},
        {"kind": "measured", "amount": "a lot"},
        {"kind": "balance_asked", "amount": "a load"},
    ],
}
# Nothing is typed there that could be lost: buttons, and choices that cannot be refused but by a stale page.
NOT_TYPED = {
    "week-ask", "week-stop", "week-take", "week-cure", "sign-out", "language", "reply-seen",
    "texts-agreed", "texts-stopped", "text-arrived", "text-again", "pour-day-undo", "pour-release",
    "pour-weather", "pour-plan", "pour-day-seen", "calendar-link", "calendar-take-back",
    "crew-rates-reset", "phone-undo", "day-link-renew", "day-link-revoke",
    "pour-papers",  # who released it is refused only where nothing is asked any more
}  # fmt: skip
# The phone keeps what was typed itself until it is noted.
ON_THE_PHONE = {"phone-note"}


def test_every_form_is_sent_wrongly_here_or_has_nothing_to_lose():
    assert TYPED.keys() | NOT_TYPED | ON_THE_PHONE == FORMS
    assert not TYPED.keys() & NOT_TYPED


@pytest.mark.parametrize("name", TYPED)
def test_a_form_that_is_refused_keeps_what_was_typed(page, pour, name):
    if name == "pour-spotter":  # typed where no crew is named yet
        factories.Site.objects.update(trucks_must_back=True)
        factories.Pour.objects.update(crew=None)
    pattern = next(one.pattern for one in urlpatterns if one.name == name)
    address = reverse(name, kwargs=dict.fromkeys(pattern.converters, pour.pk))
    for said in TYPED[name]:
        answer = page.post(address, {"key": "one", **STALE, **said})
        assert answer.status_code in (400, 409, 412), (said, answer.status_code)
        html, hidden = html_of(answer), {"kind", "load", "version"}
        lost = [value for field, value in said.items() if field not in hidden and f'"{value}"' not in html]
        assert lost == [], said


def test_the_booking_page_keeps_everything(page, crew, mix):
    said = {
        "sections": "2", "job": "new", "new_job_name": "Elm Street", "day": "2026-13-01", "time": "noonish",
        "crew": str(crew.pk), "mix": str(mix.pk), "title": "garage", "allowance_value": "lots",
        "s0-length_m": "52 psi", "s0-hole_count": "0", "s1-width_m": "38 bags", "s1-depth_m": "5",
        "notes": "Dog in the yard", "book": "1",
    }  # fmt: skip
    html = html_of(page.post("/pours/book/", said))
    typed = {value for field, value in said.items() if field not in ("sections", "notes", "book")}
    assert {value for value in typed if f'value="{value}"' not in html} == set()
    assert "Dog in the yard" in html


def test_the_pages_of_sheets_keep_the_file_and_the_days(page, mix):
    file = SimpleUploadedFile("week.csv", b"job,date,start,mix,depth\nBarn,someday,7,M,5 in")
    html = html_of(page.post("/pours/import/", {"file": file, "delimiter": "comma", "look": "1"}))
    assert "Barn,someday,7,M,5 in" in html
    assert '<option value="comma" selected>' in html
    html = html_of(page.get("/pours/export.csv?first=2026-09-02&last=2026-09-01"))
    assert 'value="2026-09-02"' in html
    assert 'value="2026-09-01"' in html


def test_a_name_that_does_not_get_in_is_still_there(client, office):
    html = html_of(client.post("/sign-in/", {"username": "maren.t", "password": "wrong"}))
    assert 'value="maren.t"' in html
