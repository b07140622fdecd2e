"""The page of morning texts to come, and the language chosen there."""

import pytest

from scheduling.models import User
from scheduling.pages.wording import length_words
from scheduling.roles import Role
from scheduling.services.drafts import length_of
from tests import factories
from tests.pages.conftest import signed_in
from tests.pages.reading import text_of

pytestmark = pytest.mark.slow


@pytest.fixture
def address(pour):
    return f"/messages/morning/?day={pour.starts_at:%Y-%m-%d}"


def test_each_text_stands_with_what_it_takes(page, pour, address):
    text = text_of(page.get(address))
    assert str(pour.crew.lead) in text
    assert "Be there " in text
    assert "Takes 3 messages: " in text or "Takes 2 messages: " in text


def test_a_day_without_pours_says_so_and_a_day_that_is_none_is_not_there(page, office):
    assert "Nobody pours that day" in text_of(page.get("/messages/morning/?day=2026-01-01"))
    assert page.get("/messages/morning/?day=soon").status_code == 404


def test_a_lead_chooses_the_language_of_their_own_texts_and_of_no_others(pour, address):
    lead, other = pour.crew.lead, factories.crew().lead
    browser = signed_in(lead)
    assert browser.post(f"/people/{lead.pk}/language/", {"language": "es"}).status_code == 302
    assert "Texts to Dana" in (said := text_of(browser.get(address)))
    assert "Lleguen a las " in said
    browser.post(f"/people/{other.pk}/language/", {"language": "es"})
    assert list(User.objects.filter(role=Role.CREW_LEAD, language="es")) == [lead]


def test_the_office_chooses_for_a_lead(page, pour, address):
    page.post(f"/people/{pour.crew.lead.pk}/language/", {"language": "es"})
    assert "Lleguen a las " in text_of(page.get(address))


def test_what_makes_a_text_dear_is_said_in_words():
    assert length_words(length_of("Mill Rd")) == "Takes 1 message: 7 of 160 signs."
    assert length_words(length_of("ул")) == (
        "Takes 1 message: 2 of 70 signs. у л must go in an alphabet that holds less than half as much."
    )
