"""A planned pour and the office that gets its reminders."""

from datetime import timedelta

import pytest

from scheduling.roles import Role
from tests import factories
from tests.factories import STARTS_AT

LATER_CALL = STARTS_AT + timedelta(hours=3)  # late enough that the morning text is not just before the call


@pytest.fixture
def office():
    factories.company()
    return factories.user(Role.OFFICE)


@pytest.fixture
def pour(office):
    """A pour at ten whose crew has a lead, planned on a mild day."""
    site = factories.site(name="Mill Rd garage")
    factories.forecast(site)
    made = factories.pour(site=site, crew=factories.crew(), starts_at=LATER_CALL)
    factories.plan(made)
    return made
