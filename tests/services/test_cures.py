"""Cures of a clash: planned, tried on the week, and then applied."""

from datetime import time, timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.models import Worker
from scheduling.queries.clashes import clashes_between
from scheduling.queries.weekrules import broken_rules
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
    (cure,) = cures.cures(key=key, now=order.order_by)
    assert (cure.remedy, cure.is_act, cure.by_at) == ("call_order", True, order.order_by)


def broken(code):
    span = STARTS_AT - timedelta(hours=12), STARTS_AT + timedelta(days=1)
    return next(one for one in broken_rules(*span, NOW) if one.code == code)


def remedies(code):
    """The kinds of cure of a broken rule; each, done, is rid of it."""
    found = cures.cures(key=broken(code).key, now=NOW)
    return {one.remedy: one for one in found}


@pytest.fixture
def alone(dispatcher):  # noqa: F811
    pour = factories.pour(crew=factories.crew(people=6))
    factories.forecast(pour.job.site, factories.mild_hours(NOW, hours=24 * 7))
    factories.plan(pour)
    return pour


def test_work_before_the_hours_of_the_site_is_cured_by_a_later_start_or_another_day(alone, dispatcher):  # noqa: F811
    factories.site_hours(alone.job.site, opens_at=time(8), closes_at=time(23), last_on=STARTS_AT.date())
    found = remedies("outside_permit")
    assert found.keys() == {"later"}  # on no other day is any work permitted
    later = found["later"]
    booking.change_pour(pour=alone, version=alone.version, by=dispatcher, now=NOW, starts_at=later.starts_at)
    assert "outside_permit" not in {one.code for one in broken_rules(NOW, NOW + timedelta(days=3), NOW)}


def test_a_broken_promise_is_cured_by_an_earlier_day_and_nothing_later(alone):
    alone.starts_at += timedelta(days=1)
    alone.promised_by = STARTS_AT.date()
    alone.save()
    factories.plan(alone)
    alone.refresh_from_db()
    (key,) = (
        one.key for one in broken_rules(NOW, NOW + timedelta(days=3), NOW) if one.code == "promise_broken"
    )
    found = {one.remedy: one for one in cures.cures(key=key, now=NOW)}
    assert found.keys() == {"other_day"}
    assert found["other_day"].starts_at == STARTS_AT


def test_a_crew_on_leave_is_cured_by_another_crew_or_another_day(alone):
    other = factories.crew(people=6)
    factories.absence(crew=alone.crew)
    found = remedies("crew_away")
    assert found["other_crew"].crew == other
    assert found["other_day"].starts_at.date() != STARTS_AT.date()


def test_loads_planned_before_the_road_was_limited_are_cured_by_planning_afresh(alone):
    alone.plant.truck_empty_kg, alone.plant.truck_m3 = 12_000, 6.9
    alone.plant.save()
    factories.plan(alone)
    factories.road_season(site=alone.job.site, limit_kg=24_000)
    assert "plan_afresh" in remedies("road_season")
    factories.plan(alone)
    with pytest.raises(StopIteration):
        broken("road_season")


def test_somebody_who_can_run_the_pump_is_borrowed(alone):
    alone.method = "line_pump"
    alone.save()
    factories.plan(alone)
    lender = factories.crew(people=6)
    Worker.objects.filter(crew=lender).update(pumps=True)
    borrowed = remedies("skill_missing")["borrow"]
    assert (borrowed.crew, borrowed.borrowed) == (lender, 1)
