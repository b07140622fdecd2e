"""The database itself refuses rows that cannot be true, whoever writes them."""

from datetime import time, timedelta

import pytest
from django.db import IntegrityError, transaction

from scheduling import models
from tests import factories

pytestmark = pytest.mark.django_db


def refuses(write):
    with pytest.raises(IntegrityError), transaction.atomic():
        write()


def test_there_is_one_company():
    factories.company()
    refuses(lambda: models.Company.objects.create(pk=2, name="Another"))


def test_a_role_nobody_knows_is_refused():
    refuses(lambda: models.User.objects.create(username="x", role="boss"))


def test_plant_hours_that_close_when_they_open_are_refused():
    plant = factories.plant()
    refuses(lambda: models.PlantHours.objects.filter(plant=plant).update(closes_at=time(6)))


def test_a_weekday_has_one_row_of_hours():
    plant = factories.plant()
    refuses(
        lambda: models.PlantHours.objects.create(plant=plant, weekday=0, opens_at=time(5), closes_at=time(6))
    )


@pytest.mark.parametrize(
    "columns",
    [
        {"shape": "rectangle", "length_m": None},
        {"shape": "rectangle", "width_m": 0},
        {"shape": "circle", "diameter_m": None},
        {"shape": "trapezoid", "side_b_m": None},
        {"shape": "area", "area_m2": -1},
        {"shape": "hexagon"},
        {"depth_m": None},
        {"depth_kind": "spots", "spot_depths_m": None},
        {"fall_m": -0.01},
    ],
)
def test_a_section_needs_what_its_shape_and_depth_need(columns):
    section = factories.pour().sections.get()
    refuses(lambda: models.SlabSection.objects.filter(pk=section.pk).update(**columns))


@pytest.mark.parametrize(
    "columns",
    [
        {"people": 0},
        {"people": 61},
        {"finishers": 0},
        {"state": "tentative"},
        {"slope": 0.6},
        {"carry_m": -1},
    ],
)
def test_a_pour_has_people_and_a_known_state(columns):
    pour = factories.pour()
    refuses(lambda: models.Pour.objects.filter(pk=pour.pk).update(**columns))


def test_a_phase_may_not_be_empty():
    plan = factories.plan(factories.pour())
    refuses(
        lambda: models.PlanPhase.objects.create(
            plan=plan, kind="place", starts_at=plan.starts_at, ends_at=plan.starts_at, people=1
        )
    )


def test_plan_numbers_are_unique_in_a_pour():
    plan = factories.plan(factories.pour())
    columns = {f.name: getattr(plan, f.name) for f in plan._meta.fields if f.name != "id"}
    refuses(lambda: models.Plan.objects.create(**columns))


def test_a_kept_plan_is_never_edited():
    plan = factories.plan(factories.pour())
    plan.order_m3 = 99
    with pytest.raises(TypeError, match="never edited"):
        plan.save()


def test_one_order_stands_for_a_pour():
    order = factories.plan(factories.pour()).pour.orders.get()
    order.pk, order.revision = None, 2
    order._state.adding = True
    refuses(order.save)


def test_a_reminder_kind_comes_once_a_pour():
    pour = factories.plan(factories.pour()).pour
    reminder = pour.reminders.first()
    refuses(
        lambda: models.Reminder.objects.create(
            pour=pour,
            kind=reminder.kind,
            due_at=reminder.due_at,
            useful_until=reminder.due_at + timedelta(hours=1),
            pour_version=1,
        )
    )


def test_a_text_that_is_never_useful_is_refused():
    columns = {
        "key": "k",
        "kind": "morning",
        "recipient": factories.user(),
        "body": "x",
        "made_at": factories.NOW,
        "due_at": factories.NOW,
        "next_try_at": factories.NOW,
        "useful_until": factories.NOW,
    }
    refuses(lambda: models.Message.objects.create(**columns))
