"""What a crew's own pours say of its rate: from notes to the next plan, and begun anew."""

from datetime import timedelta

import pytest

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import NoteKind, RateReset
from scheduling.queries.rates import crew_rates
from scheduling.roles import Role
from scheduling.services import rates
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.database]

DAY, MINUTE = timedelta(days=1), timedelta(minutes=1)
SLAB = [{"length_m": 16.0, "width_m": 12.0, "depth_m": 0.125}]
LATER = factories.STARTS_AT + 30 * DAY


@pytest.fixture
def crew():
    factories.company()
    return factories.crew(people=5)


def pour_of(crew, days=0, **columns):
    made = factories.pour(
        crew=crew, people=5, sections=SLAB, starts_at=factories.STARTS_AT + days * DAY, **columns
    )
    factories.plan(made)
    return made


def placed(pour, factor=1.0, loads=None):
    """Note every load as it would go at so many times the planned rate, half an hour apart."""
    line = pour.plan.result["line"]
    for load in pour.plan.result["delivery"]["loads"][:loads]:
        at = pour.starts_at + load["number"] * 90 * MINUTE
        took = 60 * load["m3"] / (line["rate_m3_h"] * factor) * MINUTE
        for kind, moment in ((NoteKind.TRUCK_STARTED, at), (NoteKind.TRUCK_EMPTY, at + took)):
            factories.site_note(pour, kind=kind, load=load["number"], happened_at=moment)


def test_a_crew_faster_than_planned_is_planned_faster_and_never_for_all_it_showed(crew):
    before = pour_of(crew)
    placed(before, factor=1.4)
    next_one = factories.pour(crew=crew, people=5, sections=SLAB, starts_at=LATER + DAY)
    after = factories.plan(next_one, now=LATER)
    gained = after.inputs["placing"]["rate_factor"]
    assert gained == pytest.approx(1.4**0.5, rel=0.01)  # one pour counts as much as the default
    assert after.inputs["uncertainty"]["unload_cv"] != before.plan.inputs["uncertainty"]["unload_cv"]
    assert after.placed_at - after.starts_at < before.plan.placed_at - before.plan.starts_at


def test_what_is_learned_stands_against_the_default_however_the_plan_was_made(crew):
    """A second pour at the same pace says the same, though its plan knew of the first."""
    placed(pour_of(crew), factor=1.4)
    second = factories.pour(crew=crew, people=5, sections=SLAB, starts_at=factories.STARTS_AT + 7 * DAY)
    plan = factories.plan(second, now=factories.STARTS_AT + 6 * DAY)
    placed(second, factor=1.4 / plan.inputs["placing"]["rate_factor"])
    (rate,) = crew_rates(crew, LATER)
    assert [lesson.factor for lesson in rate.lessons] == pytest.approx([1.4, 1.4], rel=0.01)


def test_waits_for_trucks_are_no_slow_work(crew):
    placed(pour_of(crew), factor=1.0)  # with the trucks far apart
    (rate,) = crew_rates(crew, LATER)
    assert rate.learned.factor == pytest.approx(1.0, rel=0.01)


def test_a_pour_under_way_teaches_nothing_yet(crew):
    pour = pour_of(crew)
    placed(pour, factor=1.4)
    assert crew_rates(crew, pour.starts_at + timedelta(hours=10)) == []


def test_a_load_that_was_not_timed_and_a_note_taken_back_do_not_count(crew):
    pour = pour_of(crew)
    placed(pour, loads=2)
    pour.site_notes.filter(load=1, kind=NoteKind.TRUCK_STARTED).update(undone_at=factories.NOW)
    (rate,) = crew_rates(crew, LATER)
    assert rate.lessons[0].m3 == pytest.approx(pour.plan.result["delivery"]["loads"][1]["m3"])


def test_the_ticket_says_better_than_the_plan_what_was_in_the_truck(crew):
    pour = pour_of(crew)
    placed(pour, loads=2)
    factories.site_note(pour, kind=NoteKind.TICKET, load=1, ticket_m3=3.0)
    (rate,) = crew_rates(crew, LATER)
    assert rate.lessons[0].m3 == pytest.approx(3.0 + pour.plan.result["delivery"]["loads"][1]["m3"])


def test_half_the_people_are_not_slow_people(crew):
    pour = pour_of(crew)
    placed(pour, factor=0.6)
    factories.site_note(pour, kind=NoteKind.PEOPLE_THERE, people=3)
    (rate,) = crew_rates(crew, LATER)
    assert rate.lessons[0].factor == pytest.approx(1.0, rel=0.01)


def test_another_crew_and_another_method_learn_nothing_from_it(crew):
    placed(pour_of(crew), factor=1.4)
    other = factories.crew()
    assert rates.learned_for(factories.pour(crew=other), LATER) is None
    assert rates.learned_for(factories.pour(crew=crew, method="barrow"), LATER) is None
    assert rates.learned_for(factories.pour(crew=None), LATER) is None


def test_begun_anew_only_pours_from_then_on_count_and_it_is_kept_who_did_it(crew):
    placed(pour_of(crew), factor=1.4)
    dispatcher = factories.user(Role.DISPATCHER)
    rates.reset(crew=crew, method="chute", by=dispatcher, now=factories.STARTS_AT + 3 * DAY)
    (rate,) = crew_rates(crew, LATER)
    assert (rate.learned.pours, rate.lessons) == (0, ())
    assert (rate.since, rate.reset_by) == (factories.STARTS_AT + 3 * DAY, str(dispatcher))
    placed(pour_of(crew, days=4), factor=1.2)
    (rate,) = crew_rates(crew, LATER)
    assert rate.learned.pours == 1


def test_a_lead_begins_nothing_anew(crew):
    with pytest.raises(NotAllowed):
        rates.reset(crew=crew, method="chute", by=crew.lead, now=LATER)
    with pytest.raises(Refusal):
        rates.reset(crew=crew, method="shovel", by=factories.user(Role.OFFICE), now=LATER)
    assert not RateReset.objects.exists()


def test_asking_costs_the_same_for_one_pour_and_for_ten(crew, django_assert_num_queries):
    for days in range(6):
        placed(pour_of(crew, days=days))
    with django_assert_num_queries(3):
        crew_rates(crew, LATER)
