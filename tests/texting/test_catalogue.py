"""The Spanish of our texts is whole, agrees with the English, and is compiled."""

import ast
import re
from string import Formatter

import polib
import pytest
from django.utils import translation
from django.utils.translation import gettext

from scheduling.texting.segments import is_gsm, to_gsm
from tests.catalogue import MO, PO, Saying, saying_of, sayings, sayings_in

BOOK = polib.pofile(str(PO))
REPAIR = "run python -m tests.catalogue, then give the Spanish in the .po file, then run it again"


def words_of(entry):
    return list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]


def fields(words):
    return {name for _, name, _, _ in Formatter().parse(words) if name}


def test_the_code_says_enough_to_be_worth_a_catalogue():
    assert len(sayings()) > 80


def test_everything_the_code_says_is_in_the_catalogue_and_nothing_else():
    said, kept = set(sayings()), {saying_of(entry) for entry in BOOK}
    assert said - kept == set(), f"missing: {REPAIR}"
    assert kept - said == set(), f"said no more: {REPAIR}"


def test_nothing_stands_twice():
    assert len({saying_of(entry) for entry in BOOK}) == len(BOOK)


def test_nothing_is_fuzzy_or_put_aside():
    assert [entry.msgid for entry in BOOK if entry.fuzzy or entry.obsolete] == []


@pytest.mark.parametrize("entry", BOOK, ids=lambda entry: entry.msgid)
def test_each_saying_has_its_spanish_with_the_same_facts(entry):
    for words in words_of(entry):
        assert words.strip(), REPAIR
        assert fields(words) == fields(entry.msgid)
        assert words.startswith(" ") == entry.msgid.startswith(" ")
        assert words.endswith(".") == entry.msgid.endswith(".")


@pytest.mark.parametrize("entry", BOOK, ids=lambda entry: entry.msgid)
def test_no_saying_forces_the_dear_alphabet(entry):
    assert is_gsm(entry.msgid)
    assert all(is_gsm(to_gsm(words)) for words in words_of(entry))


def test_the_compiled_catalogue_is_that_of_the_written_one():
    compiled = {saying_of(entry): words_of(entry) for entry in polib.mofile(str(MO))}
    assert compiled == {saying_of(entry): words_of(entry) for entry in BOOK}, REPAIR


def test_what_runs_speaks_what_is_compiled():
    with translation.override("es"):
        assert gettext("gloves") == "guantes"
    assert gettext("gloves") == "gloves"


def test_spanish_is_written_with_its_accents_though_texts_leave_some_out():
    written = " ".join(words for entry in BOOK for words in words_of(entry))
    assert re.search("[áíóú]", written)
    assert "ñ" in to_gsm("año")


def test_words_are_found_with_context_and_many_and_in_tables_and_a_name_is_passed_over():
    source = """
CAUTIONS: dict[str, str] = {"code": "h"}
gettext("a {b}")
said("c")
npgettext("d", "e", "f", 2)
gettext(WORDS[1])
print("g")
"""
    found = set(sayings_in(ast.parse(source)))
    assert found == {Saying("h"), Saying("a {b}"), Saying("c"), Saying("e", "d", "f")}
