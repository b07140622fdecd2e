"""Every page: nothing inline that the security policy would block, a language, a title, labels."""

import re

import pytest
from django.test import Client

from tests.pages.reading import Fields, html_of, text_of
from tests.pages.test_booking import typed

pytestmark = pytest.mark.slow

INLINE = re.compile(r"<script(?![^>]*\bsrc=)|<style|\sstyle\s*=|\son[a-z]+\s*=|javascript:", re.IGNORECASE)


@pytest.fixture
def pages(page, pour, clashing, crew, mix):
    """Answers of every kind, by name."""
    walk = typed(crew, mix, pour.job)
    return {
        "week": page.get("/week/?day=2026-09-03"),
        "empty week": page.get("/"),
        "pour": page.get(f"/pours/{pour.pk}/?all"),
        "today": page.get("/today/"),
        "plans": page.get(f"/pours/{pour.pk}/plans/"),
        "sheet": page.get(f"/pours/{pour.pk}/sheet/"),
        "starts": page.get(f"/pours/{pour.pk}/starts/?all"),
        "stale move": page.post(
            f"/pours/{pour.pk}/move/", {"version": 99, "day": "2026-09-04", "time": "07:00"}
        ),
        "wrong move": page.post(f"/pours/{pour.pk}/move/", {"version": 1}),
        "book": page.get("/pours/book/"),
        "plan": page.post("/pours/book/", {**walk, "show": "1"}),
        "wrong": page.post("/pours/book/", {"book": "1"}),
        "clash": page.post("/pours/book/", {**walk, "book": "1"}),
        "another section": page.post("/pours/book/", {**walk, "add_section": "1"}),
        "texts": page.get("/messages/"),
        "due": page.get("/messages/due/"),
        "not there": page.get("/pours/0/"),
        "sign in": Client().get("/sign-in/"),
    }


def test_no_page_carries_inline_script_or_style(pages):
    assert {
        name: INLINE.findall(html_of(answer))
        for name, answer in pages.items()
        if INLINE.search(html_of(answer))
    } == {}


def test_every_page_says_its_language_and_title_and_fits_a_phone(pages):
    for name, answer in pages.items():
        html = html_of(answer)
        assert '<html lang="en">' in html, name
        assert re.search(r"<title>[^<]{3,} · Pourplan</title>", html), name
        assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in html, name
        assert len(re.findall(r"<h1>", html)) == 1, name


def test_every_field_has_a_label(pages):
    for name, answer in pages.items():
        fields = Fields(html_of(answer))
        unlabelled = [field for key, field in fields.named if key not in fields.label_for]
        assert fields.named or name not in ("book", "pour", "sign in")
        assert unlabelled == [], name


def test_no_two_things_on_a_page_share_an_id(pages):
    for name, answer in pages.items():
        ids = re.findall(r'\sid="([^"]+)"', html_of(answer))
        assert len(ids) == len(set(ids)), (name, sorted(i for i in ids if ids.count(i) > 1))


def test_every_page_is_light(pages):
    assert {
        name: len(answer.content) for name, answer in pages.items() if len(answer.content) >= 200_000
    } == {}


def test_a_browser_that_asks_for_another_language_gets_one_language_all_the_same(page):
    wrong = {
        "book": "1",
        "people": "99",
        "day": "x",
        "new_latitude": "x",
        "s0-hole_count": "0",
        "title": "x" * 121,
    }
    text = text_of(page.post("/pours/book/", wrong, headers={"accept-language": "es"}))
    assert "Choose the mix." in text
    assert "This is too long." in text
    assert not re.search(r"\b(campo|obligatorio|caracteres|valor|Introduzca|Asegúrese|Seleccione)\b", text)


def test_what_people_type_comes_back_as_text(page, pour, crew, mix):
    said = {**typed(crew, mix, pour.job), "title": "<script>alert(1)</script>", "day": "x", "show": "1"}
    assert "<script>alert" not in html_of(page.post("/pours/book/", said))
