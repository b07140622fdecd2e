"""What needs a person: each kind comes up when it should, and not a minute longer."""

from datetime import timedelta

import pytest

from scheduling.models import MessageState, OrderState, PaperKind, PlantOrder, Pour, Site
from scheduling.queries.attention import attention
from scheduling.services import booking, ordering, papers, planning
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = pytest.mark.django_db

WEEK = NOW + timedelta(days=7)


@pytest.fixture
def office():
    factories.company()
    return factories.user()


@pytest.fixture
def pour(office):
    made = factories.pour(crew=factories.crew())
    factories.forecast(made.job.site)
    factories.plan(made)
    return Pour.objects.get(pk=made.pk)


def kinds(office, now=NOW):
    """The kinds that anything is found of."""
    found = attention(office, WEEK, now)
    return {name for name in found.__dataclass_fields__ if getattr(found, name)}


def test_an_order_is_to_be_called_then_confirmed_then_at_rest(office, pour):
    assert kinds(office) == {"to_call"}
    ordering.call_in(order=pour.orders.get(), taken_by="Ruth", by=office, now=NOW)
    assert kinds(office) == {"unconfirmed"}
    ordering.confirm(order=pour.orders.get(), ticket="", by=office, now=NOW)
    assert kinds(office) == set()


def test_a_pour_that_has_begun_or_is_cancelled_asks_for_nothing(office, pour):
    assert kinds(office, STARTS_AT + timedelta(minutes=1)) == set()
    booking.cancel_pour(pour=pour, version=pour.version, reason="Rain", by=office, now=NOW)
    assert kinds(office) == set()


def test_a_pour_without_a_crew_comes_up(office, pour):
    Pour.objects.update(crew=None)
    assert "without_crew" in kinds(office)


def test_open_forms_and_an_inspection_come_up_until_each_is_passed(office, pour):
    PlantOrder.objects.update(state=OrderState.CONFIRMED)
    for kind, name in ((PaperKind.FORMS, "forms_open"), (PaperKind.INSPECTION, "inspection_open")):
        papers.ask(pour=pour, kind=kind, by=office, now=NOW)
        assert kinds(office) == {name}
        papers.passed(pour=pour, kind=kind, passed_by="Lee", by=office, now=NOW)
        assert kinds(office) == set()  # nor has it made the plan stale
        papers.ask(pour=pour, kind=kind, by=office, now=NOW)
        assert kinds(office) == {name}
        papers.drop(pour=pour, kind=kind, by=office, now=NOW)


def test_a_pour_without_a_spotter_comes_up_only_where_trucks_must_back(office, pour):
    PlantOrder.objects.update(state=OrderState.CONFIRMED)
    assert kinds(office) == set()
    Site.objects.update(trucks_must_back=True)
    assert kinds(office) == {"without_spotter"}
    Pour.objects.update(spotter="Abel")
    assert kinds(office) == set()


def test_a_plan_of_an_earlier_version_is_stale_but_hold_and_release_make_none(office, pour):
    PlantOrder.objects.update(state=OrderState.CONFIRMED)
    booking.hold_pour(pour=pour, version=1, reason="Forms", by=office, now=NOW)
    booking.release_pour(pour=pour, version=2, by=office, now=NOW)
    assert kinds(office) == set()
    Pour.objects.update(version=4)
    assert kinds(office) == {"changed_since_plan"}
    planning.plan_pour(pour=Pour.objects.get(), by=None, now=NOW + timedelta(minutes=1))
    assert "changed_since_plan" not in kinds(office)


def test_a_pour_without_a_plan_is_stale(office):
    factories.pour(crew=factories.crew())
    assert kinds(office) == {"changed_since_plan"}


def test_a_newer_forecast_makes_a_plan_stale_until_it_is_planned_again(office, pour):
    PlantOrder.objects.update(state=OrderState.CONFIRMED)
    factories.forecast(pour.job.site, fetched_at=NOW + timedelta(hours=1))
    assert kinds(office) == {"newer_forecast"}
    booking.replan_pour(pour=pour, version=1, by=office, now=NOW + timedelta(hours=1))
    assert "newer_forecast" not in kinds(office)


def test_a_forecast_that_does_not_reach_the_pour_is_no_newer_one(office, pour):
    PlantOrder.objects.update(state=OrderState.CONFIRMED)
    early = factories.mild_hours(STARTS_AT - timedelta(hours=30), hours=12)
    factories.forecast(pour.job.site, early, fetched_at=NOW + timedelta(hours=1))
    assert kinds(office) == set()


@pytest.mark.parametrize(
    ("state", "due", "expected"),
    [
        (MessageState.FAILED, timedelta(hours=-1), {"lost_texts"}),
        (MessageState.UNKNOWN, timedelta(hours=-1), {"lost_texts"}),
        (MessageState.WITHHELD, timedelta(hours=-1), {"lost_texts"}),
        (MessageState.FAILED, timedelta(days=-3), set()),
        (MessageState.QUEUED, timedelta(minutes=-11), {"lost_texts"}),
        (MessageState.QUEUED, timedelta(minutes=-9), set()),
        (MessageState.DELIVERED, timedelta(hours=-1), {"unanswered"}),
    ],
)
def test_a_text_comes_up_when_it_is_lost_stuck_or_not_answered(office, state, due, expected):
    factories.message(factories.user(), state=state, due_at=NOW + due, sent_at=NOW + due)
    assert kinds(office) == expected


def test_an_answered_text_and_a_reply_that_was_read_ask_for_nothing(office):
    lead = factories.user()
    factories.message(lead, state=MessageState.SENT, sent_at=NOW - timedelta(hours=1), answered_at=NOW)
    text = factories.message(lead, state=MessageState.SENT, sent_at=NOW - timedelta(hours=1))
    reply = factories.reply(lead, message=text)
    assert kinds(office) == {"replies"}
    reply.seen_at = NOW
    reply.save()
    assert kinds(office) == set()


def test_ten_times_the_pours_take_the_same_three_queries(office, django_assert_num_queries):
    crew = factories.crew(people=60)
    for _ in range(10):
        factories.plan(factories.pour(crew=crew))
    with django_assert_num_queries(3):
        found = attention(office, WEEK, NOW)
        assert {pour.plant.name and pour.job.site.name and pour.crew.name for pour in found.to_call}
