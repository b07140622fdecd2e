"""Cures of a clash: planned, tried on the week, and then applied."""

from datetime import timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.queries.clashes import clashes_between
from scheduling.services import booking, cures
from tests import factories
from tests.factories import NOW, STARTS_AT
from tests.services.test_week import booked, dispatcher  # noqa: F401 (fixtures)

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def clashes():
    return clashes_between(STARTS_AT - timedelta(hours=3), STARTS_AT + timedelta(days=1))


def test_a_clash_has_up_to_three_cures_of_different_kinds_and_each_works(booked, dispatcher):  # noqa: F811
    key = clashes()[0].key
    found = cures.cures(key=key, now=NOW)
    assert 2 <= len(found) <= 3
    assert len({cure.remedy for cure in found}) == len(found)
    cure = next(one for one in found if one.remedy == "other_crew")
    booking.change_pour(pour=cure.pour, version=cure.pour.version, by=dispatcher, now=NOW, crew=cure.crew)
    assert clashes() == []


def test_cures_of_a_clash_that_is_gone_are_refused(booked, dispatcher):  # noqa: F811
    key = clashes()[0].key
    booking.hold_pour(pour=booked[0], version=booked[0].version, reason="", by=dispatcher, now=NOW)
    with pytest.raises(Refusal, match="gone"):
        cures.cures(key=key, now=NOW)
    with pytest.raises(Refusal):
        cures.cures(key="nonsense", now=NOW)


def test_an_order_to_call_in_is_cured_by_calling_and_by_nothing_else(dispatcher):  # noqa: F811
    pour = factories.pour(crew=factories.crew(people=6))
    factories.plan(pour)
    order = pour.orders.get()
    key = f"order_not_called:place:{pour.pk}.{pour.version}"
    assert cures.cures(key=key, now=order.order_by) == []
