"""Rules of the week beside people booked twice, found from kept plans."""

from datetime import time, timedelta

import pytest

from scheduling.models import OrderState
from scheduling.queries.weekrules import broken_rules
from tests import factories
from tests.queries.test_clashes import DAY, at, planned

pytestmark = pytest.mark.django_db

NEXT = DAY + timedelta(days=1)


def found(now=factories.NOW):
    factories.company()
    return {one.code: one for one in broken_rules(DAY, NEXT, now)}


def test_two_slabs_that_want_the_one_saw_at_once_break_a_rule():
    factories.equipment(kind="saw")
    first = planned(factories.crew(people=6), ("place", 7, 9, 3), ("cut", 13, 15, 1))
    second = planned(factories.crew(people=6), ("place", 7, 9, 3), ("cut", 14, 16, 1))
    broken = found()["gear_short"]
    assert (broken.starts_at, broken.ends_at) == (at(14), at(15))
    assert (broken.who, broken.needed, broken.available) == ("saw", 2, 1)
    assert set(broken.pours) == {first, second}


def test_of_machines_that_nobody_entered_nothing_is_said():
    for _ in range(2):
        planned(factories.crew(people=6), ("place", 7, 9, 3), ("cut", 13, 15, 1))
    assert found() == {}


def test_one_saw_is_enough_where_one_cut_ends_as_the_other_begins():
    factories.equipment(kind="saw")
    planned(factories.crew(people=6), ("place", 7, 9, 3), ("cut", 13, 15, 1))
    planned(factories.crew(people=6), ("place", 7, 9, 3), ("cut", 15, 17, 1))
    assert found() == {}


def test_two_sites_too_far_apart_for_the_time_between_them():
    crew = factories.crew(people=6)
    planned(crew, ("place", 7, 9, 3))
    far = planned(crew, ("place", 9.25, 11, 3))
    far.job.site.latitude += 0.5  # 55.6 km: a degree of latitude is 111.2 km
    far.job.site.save()
    broken = found()["too_far"]
    # 55.6 km, a third more by road, at 45 km/h: our choice.
    assert broken.needed == pytest.approx(96, abs=1)
    assert broken.available == 15
    assert broken.who == crew.name


def test_loud_work_outside_a_sites_hours():
    pour = planned(factories.crew(people=6), ("place", 6, 9, 3))
    pour.job.site.loud_from, pour.job.site.loud_until = time(7), time(19)
    pour.job.site.save()
    broken = found()["outside_loud_hours"]
    assert (broken.starts_at, broken.ends_at) == (at(6), at(9))


def test_an_order_not_called_by_its_time_is_said_from_then_on():
    factories.company()
    pour = factories.pour(crew=factories.crew(people=6))
    factories.plan(pour)
    order = pour.orders.get()
    assert "order_not_called" not in found(order.order_by - timedelta(minutes=1))
    assert found(order.order_by)["order_not_called"].pours == (pour,)
    order.state = OrderState.CALLED
    order.save()
    assert "order_not_called" not in found(order.order_by)


def test_a_day_longer_than_twelve_hours_however_it_is_shared():
    """From memory: no federal limit for grown-ups; twelve hours are our choice."""
    planned(factories.crew(people=3), ("place", 6, 12, 3), ("finish", 12, 18.5, 3))
    broken = found()["long_day"]
    assert (broken.needed, broken.available) == (12.5, 12)
