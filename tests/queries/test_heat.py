"""Who is new to the heat, and who is told."""

from datetime import timedelta

import pytest

from scheduling.models import Worker
from scheduling.queries.heat import heat_starts
from scheduling.queries.week import local_day
from scheduling.roles import Role
from scheduling.services import briefing, morning
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def pour():
    """A pour in 36 °C, with Abel on his second day in the heat."""
    factories.company()
    site = factories.site()
    factories.forecast(site, factories.mild_hours(factories.NOW, air_c=36.0))
    made = factories.pour(site=site, crew=factories.crew(people=3))
    factories.plan(made)
    Worker.objects.filter(crew=made.crew, name="Abel").update(
        heat_from_on=local_day(made) - timedelta(days=1)
    )
    return made


@pytest.mark.parametrize("role", [Role.OFFICE, Role.DISPATCHER])
def test_those_who_send_people_out_see_who_is_new_to_the_heat(pour, role):
    # NIOSH 2016-106: 40 % on the second day
    (start,) = heat_starts(pour, factories.user(role))
    assert (start.name, start.day, start.share) == ("Abel", 2, 0.4)


def test_nobody_they_work_with_sees_it(pour):
    assert heat_starts(pour, pour.crew.lead) == ()
    assert heat_starts(pour, factories.user(Role.CREW_LEAD)) == ()


def test_no_text_to_the_crew_tells_it(pour):
    told = [
        morning.compose(lead=pour.crew.lead, day=local_day(pour)),
        str(briefing.pour_facts(pour, factories.company())),
    ]
    for words in told:
        assert words
        assert "40" not in words.replace("4000", "")
        assert "new to" not in words
        assert "heat_from" not in words


def test_those_back_in_the_heat_start_higher_and_are_told_of_as_such(pour):
    # NIOSH 2016-106: 60 % on the second day back
    Worker.objects.filter(name="Abel").update(heat_before=True)
    (start,) = heat_starts(pour, factories.user(Role.DISPATCHER))
    assert (start.share, start.returning) == (0.6, True)


@pytest.mark.parametrize(("days", "told"), [(3, 1), (4, 0), (-2, 1)])
def test_from_the_fifth_day_nobody_is_new(pour, days, told):
    Worker.objects.filter(name="Abel").update(heat_from_on=local_day(pour) - timedelta(days=days))
    assert len(heat_starts(pour, factories.user(Role.OFFICE))) == told


def test_on_a_mild_day_nobody_need_be_told(pour):
    mild = factories.pour(crew=pour.crew, starts_at=pour.starts_at)
    factories.forecast(mild.job.site)
    factories.plan(mild)
    assert heat_starts(mild, factories.user(Role.OFFICE)) == ()
