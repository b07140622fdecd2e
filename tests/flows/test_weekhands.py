"""A better week sought by several workers on real parts, of which some are killed over it."""

from dataclasses import replace
from functools import partial

import pytest

from scheduling.services import weekparts
from tests.flows.servers import a_postgres
from tests.flows.trial import a_house, wait_until

pytestmark = [pytest.mark.slow, pytest.mark.trial]

WORKERS = 3

# Fourteen pours, two a crew on one day, while their plant is open on the next too: more than is solved whole.
# The better week is sought here alone, and then asked for again.
WEEK = """
from datetime import UTC, datetime, timedelta
from django.core.management import call_command
from django.utils import timezone
from scheduling.models import PlantHours
from scheduling.roles import Role
from scheduling.services import week
from tests import factories
call_command("migrate", verbosity=0)
now = timezone.now()
monday = (now - timedelta(days=now.weekday())).date() + timedelta(days=14)
dispatcher, mix = factories.user(Role.DISPATCHER), factories.mix()
PlantHours.objects.filter(plant=mix.plant, weekday__gt=1).delete()
crews = [factories.crew() for _ in range(7)]
for n in range(14):
    at = datetime(monday.year, monday.month, monday.day, 13 + n % 3, tzinfo=UTC)
    factories.plan(factories.pour(mix=mix, crew=crews[n % 7], starts_at=at), now=now)
week.ask(day=monday, by=dispatcher, now=now)
week.work_due(clock=timezone.now)
week.ask(day=monday, by=dispatcher, now=now)
"""

FOUND = "select state, fault, result from scheduling_weekproposal order by id"
TAKEN = "select kind from scheduling_weekpart where state = 'taken'"
# What time does by itself: a worker that gives no sign is taken for dead.
AGE = """
update scheduling_weekproposal set seen_at = seen_at - interval '5 minutes'
where state = 'working' and seen_at < now() - interval '8 seconds' returning id
"""


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    with a_postgres() as server, a_house(tmp_path_factory.mktemp("house"), server.url, 0.0) as made:
        made.env |= {"WEEK_HANDS": str(WORKERS)}
        made.task = weekparts.TASK
        yield made


def busy(house, *kinds):
    """Whether several workers have a part of such a kind in hand."""
    house.rows(AGE)
    return sum(kind in kinds for (kind,) in house.rows(TAKEN)) > 1


def over(house):
    house.rows(AGE)
    return house.rows(FOUND)[-1][0] in ("ready", "failed")


def test_a_week_ends_the_same_though_workers_are_killed_over_it(house):
    """One soon after they began and one in the search; whichever of them took the proposal up."""
    for _ in range(WORKERS):
        house.start_worker(hands=1)
    replace(house, env=house.env | {"REDIS_URL": ""}).python(WEEK)  # so that nobody is asked to help
    wait_until(lambda: len(house.hands(up_s=3.0)) == WORKERS, 60)
    for kinds in (("starts", "search"), ("search",)):
        house.ring_until(partial(busy, house, *kinds), 120, every=0.05, beat_s=1.0)
        house.kill_a_worker()
    house.ring_until(lambda: over(house), 180, beat_s=1.0)
    alone, together = house.rows(FOUND)
    assert together == alone
    assert alone[:2] == ("ready", "")
    assert alone[2]["differences"]
    assert house.rows("select count(*) from scheduling_weekpart") == [(0,)]
