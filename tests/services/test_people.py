"""The language of somebody's texts is theirs to choose, or the office's for them."""

import pytest

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import User
from scheduling.roles import Role
from scheduling.services import people
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("by_role", [None, Role.OFFICE])
def test_a_lead_chooses_and_the_office_may_for_them(by_role):
    lead = factories.user(Role.CREW_LEAD)
    people.choose_language(person=lead, language="es", by=factories.user(by_role) if by_role else lead)
    assert User.objects.get(pk=lead.pk).language == "es"


@pytest.mark.parametrize("by_role", [Role.DISPATCHER, Role.CREW_LEAD])
def test_nobody_else_may(by_role):
    lead = factories.user(Role.CREW_LEAD)
    with pytest.raises(NotAllowed):
        people.choose_language(person=lead, language="es", by=factories.user(by_role))
    assert User.objects.get(pk=lead.pk).language == "en"


def test_a_language_that_texts_are_not_written_in_is_refused():
    lead = factories.user(Role.CREW_LEAD)
    with pytest.raises(Refusal) as refused:
        people.choose_language(person=lead, language="fr", by=lead)
    assert (refused.value.field, refused.value.message) == (
        "language",
        "Texts are written in: English, Español.",
    )
