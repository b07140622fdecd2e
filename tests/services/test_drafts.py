"""Morning texts before they are sent: whose, in which language, how long."""

from datetime import date

import pytest

from scheduling.roles import Role
from scheduling.services import drafts
from tests import factories

pytestmark = pytest.mark.django_db

FRIDAY = date(2026, 8, 28)


@pytest.fixture
def leads():
    factories.company()
    found = []
    for called, language, name in (("Ash", "en", "Mill Rd garage"), ("Birch", "es", "Łódź yard")):
        crew = factories.crew(name=called)
        crew.lead.language = language
        crew.lead.save()
        factories.plan(factories.pour(site=factories.site(name=name), crew=crew))
        found.append(crew.lead)
    return found


def test_a_dispatcher_sees_every_leads_text_in_the_language_of_its_reader(leads):
    english, spanish = drafts.morning_drafts(day=FRIDAY, by=factories.user(Role.DISPATCHER))
    assert (english.reader, spanish.reader) == tuple(leads)
    assert "Be there 6am." in english.body
    assert "Lleguen a las 6am." in spanish.body
    assert english.length.segments <= 3
    assert english.length.wide == ()


def test_what_makes_a_text_dear_is_told(leads):
    _, spanish = drafts.morning_drafts(day=FRIDAY, by=factories.user())
    assert "Ł" in spanish.length.wide
    assert "ź" in spanish.length.wide
    assert spanish.length.is_wide


def test_a_lead_sees_their_own_and_none_on_a_day_without_pours(leads):
    (own,) = drafts.morning_drafts(day=FRIDAY, by=leads[1])
    assert own.reader == leads[1]
    assert drafts.morning_drafts(day=date(2026, 8, 27), by=leads[1]) == []
