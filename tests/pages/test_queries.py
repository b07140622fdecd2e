"""The first view of every page asks the database the same few questions, however many pours there are."""

from copy import copy
from datetime import date, timedelta
from itertools import count

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Plan, PlanPhase, PlantOrder, Pour, SlabSection
from scheduling.pages.urls import urlpatterns
from tests import factories
from tests.browser.visits import FORMS, MACHINES, PIECES

FEW = 15


def first_views(pour: Pour) -> dict[str, str]:
    """Every page but a week's rules, which come once it stands, and the phone's, whose own test counts."""
    names = {pattern.name for pattern in urlpatterns} - FORMS - MACHINES - PIECES - {"phone", "week-rules"}
    patterns = {pattern.name: pattern.pattern for pattern in urlpatterns if pattern.name in names}
    rows = {"pour": pour.pk, "crew": pour.crew_id}
    addresses = {
        name: reverse(name, kwargs=dict.fromkeys(found.converters, rows.get(name.split("-")[0])))
        for name, found in patterns.items()
    }
    of_days = {name: f"{addresses[name]}?day=2026-09-03" for name in ("week-of", "drafts")}
    return {**addresses, **of_days}


def copied(pour: Pour, numbers: count, many: int) -> None:
    """So many more pours like it on the same and the next days, each with crew, plan, phases and order."""
    phases, order = list(pour.plan.phases.all()), pour.orders.get()
    section = pour.sections.get()
    for number in [next(numbers) for _ in range(many)]:
        later = timedelta(days=number // 20, minutes=number)
        made = anew(pour, booking_key=None, starts_at=pour.starts_at + later, plan=None, crew=crew_of(number))
        plan = anew(pour.plan, pour=made)
        Pour.objects.filter(pk=made.pk).update(plan=plan)
        anew(section, pour=made)
        anew(order, pour=made)
        for phase in phases:
            anew(phase, plan=plan, starts_at=phase.starts_at + later, ends_at=phase.ends_at + later)


def anew(row: Pour | Plan | PlanPhase | PlantOrder | SlabSection, **columns):
    made = copy(row)
    made.pk = made.id = None
    for name, value in columns.items():
        setattr(made, name, value)
    made._state.adding = True
    made.save(force_insert=True)
    return made


def crew_of(number: int):
    return factories.crew(people=2, name=f"Crew {number}")


def questions(page, addresses: dict[str, str]) -> dict[str, int]:
    asked = {}
    for name, address in addresses.items():
        with CaptureQueriesContext(connection) as queries:
            answer = page.get(address)
        assert answer.status_code in (200, 302, 400), (name, answer.status_code)
        asked[name] = len(queries)
    return asked


@pytest.mark.slow
def test_every_first_view_asks_the_same_few_questions_with_10_and_with_100_pours(page, pour):
    numbers, addresses = count(1), first_views(pour)
    factories.proposal(monday=date(2026, 8, 31))
    questions(page, addresses)  # what is kept from the first view on is no page's own
    copied(pour, numbers, 9)
    few = questions(page, addresses)
    copied(pour, numbers, 90)
    assert questions(page, addresses) == few
    assert {name: number for name, number in few.items() if number >= FEW} == {}
