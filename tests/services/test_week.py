"""A better week: asked for, worked on, stopped, taken whole or pour by pour."""

from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.errors import NotAllowed, OutOfDate, Refusal
from scheduling.models import PartKind, PartState, ProposalState, SharedWeek, WeekPart
from scheduling.queries.clashes import clashes_between
from scheduling.queries.week import office_zone
from scheduling.roles import Role
from scheduling.services import booking, week, weekaccept
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

FRIDAY = date(2026, 8, 28)


@pytest.fixture
def dispatcher():
    factories.company()
    return factories.user(Role.DISPATCHER)


@pytest.fixture
def booked(dispatcher):
    """Two pours of one crew at once on Friday; the crew has people for one."""
    crew = factories.crew(people=5, name="Ash")
    factories.crew(people=6, name="Birch")
    mix = factories.mix()
    made = []
    for hours in (0, 1):
        job = factories.job()
        factories.forecast(job.site, factories.mild_hours(hours=96))
        made.append(
            booking.book_pour(
                job=job,
                sections=[factories.SECTION],
                by=dispatcher,
                now=NOW,
                accept_clashes=True,
                starts_at=STARTS_AT + timedelta(hours=hours),
                plant=mix.plant,
                mix=mix,
                crew=crew,
                people=5,
            )
        )
    return made


def proposed(by, **said):
    proposal = week.ask(day=FRIDAY, by=by, now=NOW, **said)
    week.work_due(clock=lambda: NOW)
    proposal.refresh_from_db()
    return proposal


def clashes():
    return [one for one in clashes_between(STARTS_AT, STARTS_AT + timedelta(days=3)) if not one.accepted]


def test_a_week_is_proposed_that_cures_the_clash_and_says_so(dispatcher, booked):
    proposal = proposed(dispatcher)
    assert proposal.state == ProposalState.READY, proposal.fault
    differences = proposal.result["differences"]
    assert 1 <= len(differences) <= 2
    reasons = [reason for one in differences for reason in one["reasons"]]
    gone = [reason["clash"] for reason in reasons if reason["code"] == "clash_gone"]
    assert {one["code"] for one in gone} >= {"people_short"}
    assert {one["who"] for one in gone} == {"Ash"}
    assert proposal.planned > 0
    assert proposal.best >= proposal.bound


def test_a_week_taken_whole_moves_the_pours_and_leaves_no_clash(dispatcher, booked):
    proposal = proposed(dispatcher)
    taken = weekaccept.accept(proposal=proposal, by=dispatcher, now=NOW)
    assert taken.state == ProposalState.ACCEPTED
    for one in taken.result["differences"]:
        pour = next(pour for pour in booked if pour.pk == one["pour"])
        pour.refresh_from_db()
        assert pour.starts_at == datetime.fromisoformat(one["to_at"])
        assert pour.crew_id == one["to_crew"]
    assert clashes_between(STARTS_AT, STARTS_AT + timedelta(days=3)) == []


def test_the_second_of_two_dispatchers_is_refused_with_what_changed(dispatcher, booked):
    proposal = proposed(dispatcher)
    other = factories.user(Role.DISPATCHER)
    booking.hold_pour(pour=booked[0], version=booked[0].version, reason="Forms", by=other, now=NOW)
    with pytest.raises(OutOfDate) as refused:
        weekaccept.accept(proposal=proposal, by=dispatcher, now=NOW)
    assert refused.value.facts["changed"] == [
        {"pour": booked[0].pk, "name": str(booked[0]), "what": "changed"}
    ]
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.OUT_OF_DATE
    for pour in booked:
        before = pour.starts_at
        pour.refresh_from_db()
        assert pour.starts_at == before


def test_a_week_taken_twice_is_refused_the_second_time(dispatcher, booked):
    proposal = proposed(dispatcher)
    weekaccept.accept(proposal=proposal, by=dispatcher, now=NOW)
    with pytest.raises(Refusal, match="accepted"):
        weekaccept.accept(proposal=proposal, by=factories.user(Role.DISPATCHER), now=NOW)


def test_a_pour_booked_meanwhile_makes_a_week_out_of_date(dispatcher, booked):
    proposal = proposed(dispatcher)
    late = factories.pour(crew=factories.crew(), starts_at=STARTS_AT + timedelta(hours=6))
    factories.plan(late)
    assert [one["what"] for one in weekaccept.what_changed(proposal, office_zone())] == ["booked"]


def test_the_same_week_is_proposed_every_time(dispatcher, booked):
    first, second = proposed(dispatcher), proposed(dispatcher)
    assert first.result == second.result


def test_a_proposal_stopped_before_it_is_begun_stays_stopped(dispatcher, booked):
    proposal = week.ask(day=FRIDAY, by=dispatcher, now=NOW)
    assert week.stop(proposal=proposal, by=dispatcher, now=NOW).state == ProposalState.STOPPED
    assert week.work_due(clock=lambda: NOW) == 0


def test_stopping_keeps_the_best_found_so_far(dispatcher, booked, monkeypatch):
    """Somebody asks to stop as soon as a first week is there."""
    proposal = week.ask(day=FRIDAY, by=dispatcher, now=NOW)
    told = week._Signs.found

    def stop_at_first(signs, progress):
        if not signs.stopped:
            week.stop(proposal=proposal, by=dispatcher, now=NOW)
            signs.told_at = None
        return told(signs, progress)

    monkeypatch.setattr(week._Signs, "found", stop_at_first)
    week.work_due(clock=lambda: NOW)
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.STOPPED
    assert proposal.result["differences"]


def test_one_pour_may_be_taken_alone_and_the_rest_later(dispatcher, booked):
    day = STARTS_AT.astimezone(UTC)
    proposal = proposed(dispatcher, lost_on=FRIDAY)
    differences = proposal.result["differences"]
    assert len(differences) == 2, proposal.result
    assert all(datetime.fromisoformat(one["to_at"]).date() != day.date() for one in differences)
    first, second = differences
    left = weekaccept.accept(proposal=proposal, by=dispatcher, now=NOW, pours=[first["pour"]])
    assert left.state == ProposalState.READY
    done = weekaccept.accept(proposal=left, by=dispatcher, now=NOW, pours=[second["pour"]])
    assert done.state == ProposalState.ACCEPTED
    with pytest.raises(Refusal):
        weekaccept.accept(proposal=done, by=dispatcher, now=NOW, pours=[first["pour"]])


def test_what_one_may_not_ask_for_is_refused(dispatcher, booked):
    with pytest.raises(NotAllowed):
        week.ask(day=FRIDAY, by=booked[0].crew.lead, now=NOW)
    with pytest.raises(Refusal, match="over"):
        week.ask(day=FRIDAY - timedelta(days=14), by=dispatcher, now=NOW)
    with pytest.raises(Refusal, match="not in that week"):
        week.ask(day=FRIDAY, by=dispatcher, now=NOW, lost_on=FRIDAY + timedelta(days=7))
    week.ask(day=FRIDAY, by=dispatcher, now=NOW)
    with pytest.raises(Refusal, match="already"):
        week.ask(day=FRIDAY, by=dispatcher, now=NOW)


def test_a_worker_that_died_is_followed_by_another_until_it_has_died_three_times(dispatcher, booked):
    proposal = week.ask(day=FRIDAY, by=dispatcher, now=NOW)
    for tries in (1, 3):
        proposal.state, proposal.tries, proposal.seen_at = ProposalState.WORKING, tries, NOW
        proposal.save()
        week._give_up_lost(NOW + timedelta(minutes=11))
        proposal.refresh_from_db()
        assert proposal.state == (ProposalState.ASKED if tries == 1 else ProposalState.FAILED)


@pytest.mark.parametrize("state", [ProposalState.STOPPED, ProposalState.FAILED, ProposalState.READY])
def test_of_a_week_nobody_works_on_no_part_is_left_lying(dispatcher, state):
    for each, left in ((state, 0), (ProposalState.WORKING, 1)):
        proposal = factories.proposal(state=each, seen_at=NOW)
        WeekPart.objects.create(proposal=proposal, kind=PartKind.SEARCH, asked=b"one", state=PartState.TAKEN)
        SharedWeek.objects.create(proposal=proposal, problem=b"week")
        week.work_due(clock=lambda: NOW)
        assert (WeekPart.objects.count(), SharedWeek.objects.count()) == (left, left)
