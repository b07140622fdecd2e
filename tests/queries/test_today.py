"""What of all pours, orders and texts is of today, and for whom."""

from datetime import timedelta

import pytest

from scheduling.models import Answer, MessagePour, MessageState, OrderState, PourState
from scheduling.queries.today import today_view
from scheduling.roles import Role
from tests import factories

pytestmark = [pytest.mark.django_db]

# Seven in the morning of the pour's day in Kansas City.
SEVEN = factories.STARTS_AT


@pytest.fixture
def office():
    factories.company()
    return factories.user(Role.OFFICE)


@pytest.fixture
def pour(office):
    return planned()


def planned(**columns):
    made = factories.pour(**columns)
    factories.plan(made)
    return made


def shown(user, now=SEVEN):
    return list(today_view(user, now).pours)


def test_a_pour_is_of_today_by_the_calendar_of_its_site(office, pour):
    tokyo = factories.site(time_zone="Asia/Tokyo")  # where it is nine in the evening
    there = planned(site=tokyo, starts_at=SEVEN + timedelta(hours=4))
    assert shown(office) == [pour]
    assert there in shown(office, SEVEN + timedelta(hours=4))


def test_yesterdays_pour_stays_until_its_last_cut(office, pour):
    pour.plan.phases.update(ends_at=SEVEN + timedelta(hours=26))
    result = pour.plan.result
    result["phases"][-1]["ends_at"] = (SEVEN + timedelta(hours=26)).isoformat()
    type(pour.plan).objects.filter(pk=pour.plan.pk).update(result=result)
    assert shown(office, SEVEN + timedelta(hours=25)) == [pour]
    assert shown(office, SEVEN + timedelta(hours=27)) == []


def test_a_cancelled_pour_is_not_shown_and_a_held_one_is(office, pour):
    pour.state = PourState.ON_HOLD
    pour.save()
    assert shown(office) == [pour]
    pour.state = PourState.CANCELLED
    pour.save()
    assert shown(office) == []


def test_a_lead_sees_the_own_crews_pours_and_neither_orders_nor_texts(office, pour):
    crew = factories.crew()
    own = planned(crew=crew)
    view = today_view(crew.lead, SEVEN - timedelta(days=1, hours=2))
    assert view.orders == ()
    assert view.replies == ()
    assert shown(crew.lead) == [own]
    assert set(shown(office)) == {pour, own}


def test_an_order_waits_here_from_the_day_of_its_cut_off_until_its_first_truck(office, pour):
    order = pour.orders.get()
    assert [o.pk for o in today_view(office, order.order_by - timedelta(hours=3)).orders] == [order.pk]
    assert today_view(office, order.order_by - timedelta(days=2)).orders == ()
    assert len(today_view(office, SEVEN - timedelta(minutes=1)).orders) == 1
    assert today_view(office, SEVEN).orders == ()
    order.state = OrderState.CONFIRMED
    order.save()
    assert today_view(office, SEVEN - timedelta(hours=1)).orders == ()


@pytest.mark.parametrize(
    ("columns", "waits"),
    [
        ({"state": MessageState.SENT}, True),
        ({"state": MessageState.FAILED}, True),
        ({"state": MessageState.QUEUED}, False),
        ({"state": MessageState.SENT, "answer": Answer.YES, "answered_at": SEVEN}, False),
    ],
)
def test_a_morning_text_waits_for_an_answer_until_its_pour_begins(office, pour, columns, waits):
    text = factories.message(factories.crew().lead, **columns)
    MessagePour.objects.create(message=text, pour=pour, pour_version=1)
    before = today_view(office, SEVEN - timedelta(minutes=30))
    assert [one.pk for one in before.unanswered] == ([text.pk] if waits else [])
    assert today_view(office, SEVEN + timedelta(minutes=1)).unanswered == ()


def test_a_reply_that_was_kept_for_the_text_counts_as_an_answer(office, pour):
    text = factories.message(factories.crew().lead, state=MessageState.SENT)
    MessagePour.objects.create(message=text, pour=pour, pour_version=1)
    factories.reply(text.recipient, message=text)
    view = today_view(office, SEVEN - timedelta(minutes=30))
    assert view.unanswered == ()
    assert len(view.replies) == 1
