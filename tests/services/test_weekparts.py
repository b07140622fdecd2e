"""Parts of the work on a proposal: claimed once, done again if their worker died, the same from anybody."""

import time
from datetime import timedelta

import pytest
from django.conf import settings as django_settings

from scheduling.engine.week import propose_week
from scheduling.models import PartKind, PartState, ProposalState, SharedWeek, WeekPart
from scheduling.services import nudge, week, weekparts
from scheduling.services.weekstarts import frame_of, starts_of
from scheduling.services.weekwork import WORKS, plan_starts, solve_spread
from tests import factories
from tests.factories import NOW, STARTS_AT
from tests.weeks import generated

pytestmark = pytest.mark.django_db

TASKS = [b"one", b"two", b"three", b"four"]


@pytest.fixture(autouse=True)
def hurry(monkeypatch):
    monkeypatch.setattr(weekparts, "POLL_S", 0.0)
    monkeypatch.setattr(weekparts, "PATIENCE_S", 0.0)


@pytest.fixture
def proposal():
    factories.company()
    return factories.proposal(state=ProposalState.WORKING, tries=1)


@pytest.fixture
def asked_for(monkeypatch):
    """The tasks that workers were asked to run."""
    asked = []
    monkeypatch.setattr(nudge, "nudge", asked.append)
    return asked


def others_come(monkeypatch, hands, parts_each):
    """Workers that are nudged come at once, and each does so many parts before the one that asks does any."""
    monkeypatch.setattr(django_settings, "WEEK_HANDS", hands)

    def come(task):
        assert task == weekparts.TASK
        for _ in range(parts_each):
            if part := weekparts._claim_any():
                weekparts._do(part, WORKS[part.kind])

    monkeypatch.setattr(nudge, "nudge", come)


def shouted(part):
    return bytes(part.asked).upper()


def all_answers(proposal, work=shouted, go_on=lambda _: True):
    return weekparts.answers(proposal, PartKind.SEARCH, TASKS, work, go_on)


def a_part(proposal, state=PartState.WAITING):
    return WeekPart.objects.create(proposal=proposal, kind=PartKind.SEARCH, state=state, asked=b"one")


def test_one_worker_alone_answers_every_part_in_order_and_leaves_no_row(proposal, asked_for):
    assert all_answers(proposal) == [b"ONE", b"TWO", b"THREE", b"FOUR"]
    assert not WeekPart.objects.exists()


@pytest.mark.parametrize(("hands", "asked"), [(1, 0), (2, 1), (3, 2), (64, 3)])
def test_so_many_others_are_asked_as_may_help_and_never_more_than_there_are_parts(
    proposal, asked_for, settings, hands, asked
):
    settings.WEEK_HANDS = hands
    all_answers(proposal)
    assert asked_for == [weekparts.TASK] * asked


@pytest.mark.slow
def test_a_search_spread_over_workers_finds_the_week_that_is_found_here(proposal, monkeypatch):
    asked = generated(20, 3, 3, 7, hard=True)
    here = propose_week(asked, effort=0.5)
    for hands, parts_each in ((1, 0), (2, 1), (3, 2)):
        others_come(monkeypatch, hands, parts_each)
        solve_all = solve_spread(proposal, asked, lambda: True)
        assert propose_week(asked, effort=0.5, solve_all=solve_all) == here


@pytest.mark.slow
def test_starts_are_the_same_whoever_plans_them(proposal, monkeypatch):
    """Of the last day of a week, which has few."""
    friday = STARTS_AT + timedelta(days=1)
    pours = [factories.pour(crew=factories.crew(), starts_at=friday) for _ in range(2)]
    for pour in pours:
        factories.forecast(pour.job.site, factories.mild_hours(hours=60))
    counts, told = {pour.pk: 7 for pour in pours}, []

    def planned(hands, parts_each):
        others_come(monkeypatch, hands, parts_each)
        return plan_starts(proposal, counts, STARTS_AT, lambda so_far: not told.append(so_far))

    alone = planned(1, 0)
    assert alone == {pour.pk: starts_of(pour, frame_of(proposal.monday, STARTS_AT)) for pour in pours}
    assert all(alone.values())
    assert planned(2, 1) == alone
    assert sorted(set(told)) == [0, 7, 14]


def test_a_part_is_claimed_once(proposal):
    part = a_part(proposal)
    assert weekparts._claim(proposal.parts.all()) == part
    assert weekparts._claim(proposal.parts.all()) is None
    assert weekparts._claim_any() is None


def test_a_part_that_another_took_between_the_look_and_the_claim_is_left_to_them(proposal):
    part, other = looked = [a_part(proposal), a_part(proposal)]
    WeekPart.objects.filter(pk=part.pk).update(state=PartState.TAKEN)

    class Stale:
        """What was read before."""

        def filter(self, **_):
            return self

        def order_by(self, _):
            return looked

    assert weekparts._claim(Stale()) == other


def test_a_part_whose_worker_died_is_done_by_whoever_waits_for_it(proposal, monkeypatch):
    monkeypatch.setattr(nudge, "nudge", lambda _: weekparts._claim_any())
    assert all_answers(proposal) == [b"ONE", b"TWO", b"THREE", b"FOUR"]


def test_an_answer_that_comes_late_changes_nothing(proposal):
    part = a_part(proposal)
    weekparts._do(part, shouted)
    weekparts._do(part, lambda _: b"otherwise")
    assert bytes(WeekPart.objects.get().answer) == b"ONE"
    part.delete()
    part.pk = 1
    weekparts._do(part, shouted)
    assert not WeekPart.objects.exists()


def test_stopping_gives_back_what_is_there_and_leaves_no_row(proposal, asked_for):
    found = all_answers(proposal, go_on=lambda done: len(done) < 2)
    assert found == [b"ONE", b"TWO", None, None]
    assert not WeekPart.objects.exists()


def test_no_row_is_left_where_the_work_breaks_down(proposal, asked_for):
    with pytest.raises(ZeroDivisionError):
        all_answers(proposal, work=lambda _: 1 // 0)
    assert not WeekPart.objects.exists()


@pytest.mark.parametrize(
    "settled", [{"state": ProposalState.STOPPED}, {"state": ProposalState.ASKED}, {"stop_asked": True}]
)
def test_nobody_helps_with_what_nobody_works_on(proposal, asked_for, settled):
    a_part(proposal)
    type(proposal).objects.update(**settled)
    weekparts.help_out({PartKind.SEARCH: shouted})
    assert WeekPart.objects.get().state == PartState.WAITING


def test_nobody_more_helps_than_may(proposal, asked_for, settings):
    settings.WEEK_HANDS = 2
    for state in (PartState.TAKEN, PartState.TAKEN, PartState.WAITING):
        a_part(proposal, state)
    weekparts.help_out({PartKind.SEARCH: shouted})
    assert WeekPart.objects.filter(state=PartState.WAITING).count() == 1


def test_who_helps_lets_others_have_their_turn_and_asks_for_another(proposal, asked_for, monkeypatch):
    for _ in range(2):
        a_part(proposal)
    monkeypatch.setattr(weekparts, "TURN_S", 0.05)
    weekparts.help_out({PartKind.SEARCH: lambda _: time.sleep(0.06) or b"one"})
    assert asked_for == [weekparts.TASK]
    assert sorted(proposal.parts.values_list("state", flat=True)) == ["answered", "waiting"]


def test_a_part_that_cannot_be_worked_on_elsewhere_is_left_to_who_waits_for_it(proposal, asked_for):
    a_part(proposal)
    weekparts.help_out({PartKind.SEARCH: lambda _: 1 // 0})
    assert WeekPart.objects.get().state == PartState.TAKEN
    assert asked_for == []


def test_a_piece_of_a_week_that_is_gone_is_nobodys_fault(proposal, caplog):
    a_part(proposal)
    weekparts.help_out(WORKS)
    assert not SharedWeek.objects.exists()
    assert not caplog.records


def test_a_worker_whose_week_was_begun_again_by_another_stops_and_writes_nothing(proposal):
    signs = week._Signs(proposal, lambda: NOW, NOW)
    type(proposal).objects.update(tries=2)
    assert not signs.planned(7)
    proposal.refresh_from_db()
    assert (proposal.planned, proposal.seen_at) == (0, None)
