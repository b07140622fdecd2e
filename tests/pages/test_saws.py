"""A pour's page tells of a saw that comes from another slab."""

from datetime import timedelta

import pytest

from scheduling.models import EquipmentKind, EquipmentUnit
from scheduling.roles import Role
from tests import factories
from tests.factories import STARTS_AT
from tests.pages.conftest import signed_in
from tests.pages.reading import text_of

pytestmark = pytest.mark.django_db

SLAB = [{"length_m": 24.0, "width_m": 18.0, "depth_m": 0.1}]


@pytest.fixture
def second():
    """A slab placed half an hour after another crew's, with one saw for both."""
    factories.company()
    EquipmentUnit.objects.create(name="Saw 1", kind=EquipmentKind.SAW)
    for n in range(2):
        site = factories.site(name=f"Site {n}")
        factories.forecast(site)
        start = STARTS_AT + n * timedelta(minutes=30)
        pour = factories.pour(site=site, crew=factories.crew(), starts_at=start, sections=SLAB)
        factories.plan(pour)
    return pour


def seen_by(user, pour):
    return text_of(signed_in(user).get(f"/pours/{pour.pk}/"))


def test_the_office_reads_where_the_saw_is_first_and_when_it_can_come(second):
    text = seen_by(factories.user(Role.OFFICE), second)
    assert "first and can be here by about" in text
    assert "The saw is at another site" not in text


def test_a_lead_is_not_told_of_a_slab_that_is_not_theirs(second):
    assert "The saw is at another site first and can be here by about" in seen_by(second.crew.lead, second)


def test_with_a_saw_for_each_nothing_is_said(second):
    EquipmentUnit.objects.create(name="Saw 2", kind=EquipmentKind.SAW)
    assert "The saw is at" not in seen_by(factories.user(Role.OFFICE), second)
