"""Morning texts before they are sent, what texts take, and the language chosen."""

import pytest

from tests import factories
from tests.api.conftest import Caller

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(company):
    crew = factories.crew()
    factories.plan(factories.pour(crew=crew))
    return crew.lead


def test_a_draft_comes_with_its_reader_language_and_length(office, lead):
    (draft,) = office.get("morning-drafts/?day=2026-08-28").json()["results"]
    assert draft["reader"] == {"id": lead.pk, "name": str(lead)}
    assert draft["language"] == "en"
    assert draft["body"].startswith("Fri Aug 28: ")
    assert draft["length"]["segments"] in (2, 3)
    assert draft["length"]["wide"] == []


@pytest.mark.parametrize("asked", ["", "?day=soon", "?day=2026-02-30"])
def test_a_day_that_is_none_is_told(office, asked):
    answer = office.get(f"morning-drafts/{asked}")
    assert answer.status_code == 400
    assert "day" in answer.text


def test_a_kept_text_tells_what_it_takes(office, lead):
    factories.message(lead, body="ж" * 71)
    (text,) = office.get("messages/").json()["results"]
    assert text["length"] == {"segments": 2, "units": 71, "room": 134, "wide": ["ж"]}


def test_everybody_chooses_their_own_language(lead):
    own = Caller(lead)
    assert own.put("own-language/", {"language": "es"}).json() == {"language": "es"}
    assert own.get("own-language/").json() == {"language": "es"}
    assert own.put("own-language/", {"language": "fr"}).status_code == 400


def test_the_office_chooses_for_somebody(office, lead):
    assert office.post(f"users/{lead.pk}/language/", {"language": "es"}).json()["language"] == "es"
