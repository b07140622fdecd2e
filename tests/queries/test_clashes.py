"""Clashes found from kept plans: by person and phase, with a start that would be free."""

from datetime import timedelta

import pytest

from scheduling.models import AcceptedClash, Plan, PlanPhase, PourState
from scheduling.queries.clashes import clashes_between, clashes_of
from tests import factories

pytestmark = pytest.mark.django_db

DAY = factories.STARTS_AT.replace(hour=5)  # midnight in Chicago's summer, in UTC


def at(hour):
    return DAY + timedelta(hours=hour)


def planned(crew, *phases):
    """A pour whose current plan keeps the crew busy in these phases: (kind, from hour, to hour, people)."""
    pour = factories.pour(crew=crew, starts_at=at(phases[0][1]))
    plan = Plan.objects.create(
        pour=pour,
        number=1,
        pour_version=1,
        made_at=factories.NOW,
        inputs={},
        result={},
        call_at=at(phases[0][1]),
        starts_at=at(phases[0][1]),
        placed_at=at(phases[0][2]),
        order_m3=1,
        loads=1,
        next_after_min=1,
        interval_min=1,
        worst="note",
    )
    for kind, start, end, people in phases:
        PlanPhase.objects.create(plan=plan, kind=kind, starts_at=at(start), ends_at=at(end), people=people)
    pour.plan = plan
    pour.save()
    return pour


def two_slabs_and_one_finishing_party():
    """Common practice, no source: the party that finishes the first slab cannot finish the second."""
    crew = factories.crew(people=3)
    first = planned(crew, ("place", 7, 9.5, 3), ("finish", 11, 16, 3))
    second = planned(crew, ("place", 9.5, 11, 3), ("finish", 14, 18, 3))
    return first, second


def test_two_pours_with_one_finishing_party_clash_only_where_both_finish():
    first, second = two_slabs_and_one_finishing_party()
    (clash,) = clashes_between(DAY, DAY + timedelta(days=1))
    assert (clash.starts_at, clash.ends_at) == (at(14), at(16))
    assert (clash.needed, clash.available, clash.pours) == (6, 3, (first, second))


def test_the_cure_of_a_clash_is_a_start_of_the_later_pour_that_is_free():
    two_slabs_and_one_finishing_party()
    (clash,) = clashes_between(DAY, DAY + timedelta(days=1))
    # Six and a half hours later its placing follows the first slab's finishing.
    assert clash.free_start_at == at(16)


def test_touching_stretches_are_no_clash():
    crew = factories.crew(people=3)
    planned(crew, ("place", 7, 9, 3), ("finish", 12, 16, 3))
    planned(crew, ("place", 9, 12, 3), ("finish", 16, 18, 3))
    assert clashes_between(DAY, DAY + timedelta(days=1)) == []


def test_people_freed_when_placing_ends_may_work_elsewhere():
    """Six place until half past eleven, three of them stay to trowel and one cuts in the evening."""
    crew = factories.crew(people=6)
    planned(crew, ("place", 7, 11.5, 6), ("finish", 11.5, 16, 3), ("cut", 19, 20.5, 1))
    planned(crew, ("place", 12, 15, 3), ("finish", 16, 19, 5))
    assert clashes_between(DAY, DAY + timedelta(days=1)) == []


def test_more_people_booked_than_the_crew_has_is_a_clash_by_itself():
    crew = factories.crew(people=3)
    pour = planned(crew, ("place", 7, 9, 5))
    (clash,) = clashes_of(pour)
    assert (clash.code, clash.needed, clash.available) == ("people_short", 5, 3)
    assert clash.free_start_at is None


@pytest.mark.parametrize("state", [PourState.CANCELLED, PourState.PLACED])
def test_a_pour_that_no_longer_stands_clashes_with_nothing(state):
    _first, second = two_slabs_and_one_finishing_party()
    second.state = state
    second.save()
    assert clashes_between(DAY, DAY + timedelta(days=1)) == []


def test_an_accepted_clash_is_shown_as_accepted_until_a_pour_changes():
    _first, second = two_slabs_and_one_finishing_party()
    (clash,) = clashes_between(DAY, DAY + timedelta(days=1))
    AcceptedClash.objects.create(key=clash.key, pour=second, accepted_at=factories.NOW)
    assert clashes_between(DAY, DAY + timedelta(days=1))[0].accepted
    second.version += 1
    second.save()
    assert not clashes_between(DAY, DAY + timedelta(days=1))[0].accepted


def test_the_range_is_half_open():
    two_slabs_and_one_finishing_party()
    assert clashes_between(at(16), at(20)) == []
    assert clashes_between(at(10), at(14)) == []
    assert len(clashes_between(at(15), at(20))) == 1


def test_clashes_are_found_in_a_fixed_number_of_queries(django_assert_num_queries):
    two_slabs_and_one_finishing_party()
    with django_assert_num_queries(3):
        clashes_between(DAY, DAY + timedelta(days=1))
    crew = factories.crew(people=3)
    for hour in range(7, 15):
        planned(crew, ("place", hour, hour + 2, 3))
    with django_assert_num_queries(3):
        clashes_between(DAY, DAY + timedelta(days=1))
