"""Orders: the plant's cut-off, who has said what, and revisions when the plan moves."""

from datetime import UTC, datetime, time, timedelta

import pytest

from scheduling.errors import Refusal
from scheduling.models import OrderState, PlantClosure, PlantOrder, PourState
from scheduling.services import booking, ordering
from tests import factories
from tests.factories import STARTS_AT

pytestmark = pytest.mark.django_db

NOW = factories.NOW


def chicago(day, hour):
    return datetime(2026, 8, day, hour + 5, tzinfo=UTC)


def test_the_cut_off_is_on_the_plants_clock_the_day_before():
    plant = factories.plant(order_cutoff_at=time(15))
    assert ordering.order_by(plant, factories.STARTS_AT) == chicago(27, 15)


def test_for_a_monday_it_is_on_saturday_where_the_plant_is_shut_on_sundays():
    plant = factories.plant(order_cutoff_at=time(15))
    assert ordering.order_by(plant, chicago(31, 7)) == chicago(29, 15)


def test_a_holiday_pushes_it_back_to_the_last_open_day():
    plant = factories.plant(order_cutoff_at=time(15))
    PlantClosure.objects.create(plant=plant, on=datetime(2026, 8, 29).date(), reason="Holiday")
    assert ordering.order_by(plant, chicago(31, 7)) == chicago(28, 15)


def test_the_day_before_is_the_plants_own_day_where_its_zone_differs():
    """At 00:30 on Friday in New York it is still Thursday in Chicago, whose eve is Wednesday."""
    plant = factories.plant(order_cutoff_at=time(15))
    midnight_in_new_york = datetime(2026, 8, 28, 4, 30, tzinfo=UTC)
    assert ordering.order_by(plant, midnight_in_new_york) == chicago(26, 15)


def test_an_order_is_called_in_then_confirmed_and_the_pour_remembers_both():
    order, by = factories.plan(factories.pour()).pour.orders.get(), factories.user()
    ordering.call_in(order=order, taken_by="Gert", by=by, now=NOW)
    ordering.confirm(order=order, ticket="Q-117", by=by, now=NOW)
    order.refresh_from_db()
    assert (order.state, order.taken_by, order.ticket) == (OrderState.CONFIRMED, "Gert", "Q-117")
    kinds = list(order.pour.events.values_list("kind", flat=True))
    assert kinds[-2:] == ["order_called", "order_confirmed"]
    of_the_order = order.pour.reminders.filter(kind__in=("order", "confirm"))
    assert set(of_the_order.values_list("state", flat=True)) == {"not_needed"}


def test_an_order_called_in_twice_is_refused():
    order, by = factories.plan(factories.pour()).pour.orders.get(), factories.user()
    ordering.call_in(order=order, taken_by="Gert", by=by, now=NOW)
    with pytest.raises(Refusal) as refused:
        ordering.call_in(order=order, taken_by="Gert", by=by, now=NOW)
    assert refused.value.facts["state"] == "called"


def test_a_pour_on_hold_cannot_have_its_order_confirmed():
    order = factories.plan(factories.pour()).pour.orders.get()
    order.pour.state = PourState.ON_HOLD
    with pytest.raises(Refusal) as refused:
        ordering.confirm(order=order, ticket="", by=factories.user(), now=NOW)
    assert refused.value.code == "pour_on_hold"


def test_trucks_that_must_back_are_not_promised_while_no_spotter_is_named():
    # NIOSH FACE 04NE040, California FACE 07CA001: a helper backed over though the alarm worked
    by, crew = factories.user(), factories.crew()
    pour = factories.pour(site=factories.site(trucks_must_back=True), crew=crew)
    factories.plan(pour)
    with pytest.raises(Refusal) as refused:
        ordering.confirm(order=pour.orders.get(), ticket="", by=by, now=NOW)
    assert (refused.value.code, refused.value.field) == ("no_spotter", "spotter")
    assert pour.orders.get().state == OrderState.TO_CALL
    booking.change_pour(pour=pour, version=1, by=by, now=NOW, spotter="Cruz")
    named = PlantOrder.objects.get(state=OrderState.TO_CALL)
    assert ordering.confirm(order=named, ticket="", by=by, now=NOW).state == OrderState.CONFIRMED


def test_planning_again_without_a_change_leaves_the_order_alone():
    plan = factories.plan(factories.pour())
    factories.plan(plan.pour)
    assert plan.pour.orders.count() == 1


def test_a_called_order_whose_numbers_change_must_be_called_again():
    plan = factories.plan(factories.pour())
    ordering.call_in(order=plan.pour.orders.get(), taken_by="Gert", by=factories.user(), now=NOW)
    plan.pour.sections.update(depth_m=0.15)
    factories.plan(plan.pour)
    standing = ordering.standing_order(plan.pour)
    assert (standing.revision, standing.state) == (2, OrderState.TO_CALL)


@pytest.mark.parametrize(("notice_h", "fee"), [(12, 150), (4, 0), (None, 0)])
def test_a_change_within_the_plants_notice_costs_its_fee(notice_h, fee):
    """Two suppliers' own terms: a fee inside 12 h, or inside 4; 7:00 moved at 20:10 the evening before."""
    pour = factories.pour()
    factories.plan(pour)
    pour.plant.change_notice_h, pour.plant.late_change_fee = notice_h, 150
    pour.plant.save()
    order, evening = pour.orders.get(), STARTS_AT - timedelta(hours=10, minutes=50)
    assert order.change_fee(evening) == 0  # nobody has called it in
    ordering.call_in(order=order, taken_by="Gert", by=factories.user(), now=NOW)
    order = pour.orders.get()
    assert order.change_fee(evening) == fee
    if notice_h:
        assert order.change_fee(STARTS_AT - timedelta(hours=notice_h)) == 0  # at the hour it is still free


def test_one_move_replaces_the_order_and_every_reminder_of_the_old_plan_by_those_of_the_new():
    pour = factories.pour(crew=factories.crew())
    factories.plan(pour)
    ordering.call_in(order=pour.orders.get(), taken_by="Gert", by=factories.user(), now=NOW)
    before = dict(pour.reminders.filter(state="waiting").values_list("kind", "due_at"))
    monday = STARTS_AT + timedelta(days=3)
    moved = booking.move_pour(pour=pour, version=1, starts_at=monday, by=factories.user(), now=NOW)
    after = dict(moved.reminders.filter(state="waiting").values_list("kind", "due_at"))
    assert set(moved.orders.values_list("state", "revision")) == {("replaced", 1), ("to_call", 2)}
    assert {"finish", "first_cut", "cure"} <= before.keys() <= after.keys()
    assert all(after[kind] - before[kind] > timedelta(days=1) for kind in before)
    # one pour still, from Friday to Monday, with its history
    assert (moved.pk, moved.version) == (pour.pk, 2)
    assert {"planned", "moved", "order_made"} <= set(moved.events.values_list("kind", flat=True))
