"""Two dispatchers at the same second: the second is told, and nothing is lost. On either database."""

from datetime import timedelta

import pytest

from scheduling.errors import Clashes, OutOfDate, Refusal
from scheduling.models import EventKind, Pour, PourEvent, WeekProposal
from scheduling.queries.clashes import clashes_between
from scheduling.queries.week import office_zone
from scheduling.roles import Role
from scheduling.services import booking, cures, weekaccept
from scheduling.services.weekresult import base_of
from tests import factories
from tests.atonce import alone, at_once
from tests.factories import NOW, STARTS_AT

CHANGES = (EventKind.CHANGED, EventKind.MOVED)

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def two():
    factories.company()
    return [factories.user(Role.DISPATCHER) for _ in range(2)]


def book(by, crew, mix, **said):
    return booking.book_pour(
        job=said.pop("job", None) or factories.job(), sections=[factories.SECTION], by=by, now=NOW,
        plant=mix.plant, mix=mix, crew=crew, **{"starts_at": STARTS_AT, "people": 5} | said,
    )  # fmt: skip


def told(answers):
    """What the one who was refused heard; the other was not."""
    (refused,) = (one for one in answers if isinstance(one, Exception))
    return refused


def test_of_two_who_book_one_crew_at_once_one_books_and_the_other_hears_of_the_clash(two, tmp_path):
    crew, mix, jobs = factories.crew(people=5), factories.mix(), [factories.job() for _ in two]

    def books(by, job):
        return lambda: book(by, crew, mix, job=job)

    answers = at_once(tmp_path, *(books(by, job) for by, job in zip(two, jobs, strict=True)))
    assert isinstance(told(answers), Clashes)
    assert alone(tmp_path, Pour.objects.count) == 1


@pytest.fixture
def clashing(two):
    crew, mix = factories.crew(people=5), factories.mix()
    factories.crew(people=6)
    return [
        book(two[0], crew, mix, starts_at=STARTS_AT + timedelta(hours=n), accept_clashes=True)
        for n in range(2)
    ]


def test_of_two_who_apply_one_cure_at_once_the_second_is_told_and_the_first_keeps_it(two, clashing, tmp_path):
    span = STARTS_AT - timedelta(hours=3), STARTS_AT + timedelta(days=1)
    cure = cures.cures(key=clashes_between(*span)[0].key, now=NOW)[0]
    pour = cure.pour

    def applies(by):
        return lambda: booking.change_pour(
            pour=Pour.objects.get(pk=pour.pk), version=pour.version, by=by, now=NOW,
            starts_at=cure.starts_at, crew=cure.crew,
        )  # fmt: skip

    answers = at_once(tmp_path, *(applies(by) for by in two))
    refused = told(answers)
    assert isinstance(refused, OutOfDate)
    assert refused.facts["version"] == pour.version + 1
    kept = alone(tmp_path, lambda: Pour.objects.get(pk=pour.pk))
    assert (kept.starts_at, kept.crew_id, kept.version) == (
        cure.starts_at, cure.crew.pk, pour.version + 1,
    )  # fmt: skip
    assert alone(tmp_path, PourEvent.objects.filter(pour=pour, kind__in=CHANGES).count) == 1
    assert alone(tmp_path, lambda: clashes_between(*span)) == []


def test_of_two_who_move_both_pours_of_a_clash_to_one_hour_the_second_is_told_of_the_new_clash(
    two, clashing, tmp_path
):
    def moves(by, pour):
        return lambda: booking.change_pour(
            pour=Pour.objects.get(pk=pour.pk), version=pour.version, by=by, now=NOW,
            starts_at=STARTS_AT + timedelta(days=3),
        )  # fmt: skip

    answers = at_once(tmp_path, *(moves(by, pour) for by, pour in zip(two, clashing, strict=True)))
    assert isinstance(told(answers), Clashes)
    assert alone(tmp_path, lambda: sorted(Pour.objects.values_list("version", flat=True))) == [1, 2]


def test_of_two_who_take_a_proposed_week_at_once_one_moves_its_pours(two, clashing, tmp_path):
    _, second = clashing
    difference = {
        "pour": second.pk,
        "name": str(second),
        "to_at": (STARTS_AT + timedelta(hours=5)).isoformat(),
        "to_crew": second.crew_id,
        "taken": False,
    }
    proposal = factories.proposal(base=base_of(STARTS_AT.date() - timedelta(days=4), office_zone()))
    proposal.result["differences"] = [difference]
    proposal.save()

    def takes(by):
        return lambda: weekaccept.accept(
            proposal=WeekProposal.objects.get(pk=proposal.pk), by=by, now=NOW, accept_clashes=True
        )

    answers = at_once(tmp_path, *(takes(by) for by in two))
    refused = told(answers)
    assert isinstance(refused, Refusal)
    assert refused.code == "proposal_state"
    kept = alone(tmp_path, lambda: Pour.objects.get(pk=second.pk))
    assert (kept.starts_at, kept.version) == (STARTS_AT + timedelta(hours=5), 2)
