"""The week as a person may see it."""

from datetime import UTC, date, datetime

import pytest

from scheduling.models import PourState
from scheduling.queries.visible import messages_for, orders_for, pours_for
from scheduling.queries.week import week_view
from scheduling.roles import Role
from tests import factories

pytestmark = pytest.mark.django_db

FRIDAY = date(2026, 8, 28)


def test_a_week_starts_on_monday_and_has_every_working_crew():
    factories.company()
    crew = factories.crew()
    view = week_view(factories.user(), FRIDAY)
    assert (view.monday, len(view.days), [row.crew for row in view.rows]) == (date(2026, 8, 24), 7, [crew])
    assert (view.before, view.after) == (date(2026, 8, 17), date(2026, 8, 31))


def test_a_pour_stands_on_the_day_its_own_site_calls_it():
    """Half past midnight on Monday in New York is Sunday evening in the office in Chicago."""
    factories.company()
    site = factories.site(time_zone="America/New_York")
    pour = factories.pour(
        site=site, starts_at=datetime(2026, 8, 24, 4, 30, tzinfo=UTC), crew=factories.crew()
    )
    view = week_view(factories.user(), FRIDAY)
    assert view.rows[0].days[0].pours == (pour,)


def test_a_pour_without_a_crew_has_a_row_of_its_own_and_a_cancelled_one_none():
    factories.company()
    pour = factories.pour()
    factories.pour(state=PourState.CANCELLED)
    view = week_view(factories.user(), FRIDAY)
    assert [row.crew for row in view.rows] == [None]
    assert view.pours == [pour]


def test_a_crew_lead_sees_the_pours_of_their_crew_and_nothing_else():
    factories.company()
    mine, other = factories.crew(), factories.crew()
    own, foreign = factories.pour(crew=mine), factories.pour(crew=other)
    for pour in (own, foreign):
        factories.plan(pour)
    lead = mine.lead
    assert week_view(lead, FRIDAY).pours == [own]
    assert list(pours_for(lead)) == [own]
    assert [order.pour for order in orders_for(lead)] == [own]
    assert list(messages_for(lead)) == []
    assert set(pours_for(factories.user(Role.DISPATCHER))) == {own, foreign}


def test_ten_times_the_pours_take_the_same_number_of_queries(django_assert_max_num_queries):
    factories.company()
    crew, office = factories.crew(people=60), factories.user()
    for _ in range(10):
        factories.plan(factories.pour(crew=crew))
    with django_assert_max_num_queries(8):
        view = week_view(office, FRIDAY)
        for pour in view.pours:
            assert pour.plan.result
            assert pour.standing_orders
            assert pour.job.site.name
