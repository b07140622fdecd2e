"""What limits a week, from its row to a proposal that keeps to it or says why it cannot."""

from datetime import date, datetime, time, timedelta

import pytest

from scheduling.models import PlantFee, ProposalState, Worker
from scheduling.queries.weekrows import week_rows
from scheduling.roles import Role
from scheduling.services import ordering, week, weekaccept
from scheduling.services.weekask import ask_week, stays_in_turn
from scheduling.services.weekstarts import frame_of, starts_of
from tests import factories
from tests.factories import NOW, STARTS_AT

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

FRIDAY, SATURDAY = date(2026, 8, 28), date(2026, 8, 29)
MONDAY = FRIDAY - timedelta(days=4)


@pytest.fixture
def dispatcher():
    factories.company(crew_per_h=250)
    return factories.user(Role.DISPATCHER)


@pytest.fixture
def pour(dispatcher):
    """On Friday at seven; the plant also batches on Saturday, and never on Sunday."""
    made = factories.pour(crew=factories.crew(people=6, name="Ash"))
    factories.forecast(made.job.site, factories.mild_hours(NOW, hours=24 * 5))
    factories.plan(made)
    made.refresh_from_db()
    return made


def proposed(by, **said):
    proposal = week.ask(day=FRIDAY, by=by, now=NOW, **said)
    week.work_due(clock=lambda: NOW)
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.READY, proposal.fault
    return proposal


def moved(proposal):
    """To when and to whom the one pour would go, why, and what speaks against it."""
    (one,) = proposal.result["differences"]
    at = datetime.fromisoformat(one["to_at"])
    told = [[reason["code"] for reason in one[name]] for name in ("reasons", "against")]
    return at.date(), one["to_crew_name"], *told


def lacks(proposal):
    return {(one["day"], one["lack"]): (one["needed"], one["exist"]) for one in proposal.result["shortages"]}


def test_a_crew_on_leave_makes_way_for_another_and_alone_is_told_with_who_is_there(pour, dispatcher):
    factories.absence(crew=pour.crew, ends_at=STARTS_AT + timedelta(days=2))
    factories.absence(
        worker=pour.crew.workers.first()
    )  # away with the rest already: 0 of 6 are there, not less
    left = proposed(dispatcher)
    assert [one["pour"] for one in left.result["left_out"]] == [pour.pk]
    assert {(day, lack) for day, lack in lacks(left)} >= {
        (4, "people_away"),
        (5, "people_away"),
        (6, "plant_shut"),
    }
    assert lacks(left)[4, "people_away"] == (5, 0)
    rows, planned = week_rows(MONDAY), {pour.pk: starts_of(pour, frame_of(MONDAY, NOW))}
    asked = ask_week(rows, left, next(stays_in_turn(rows, left, NOW)), planned, NOW)
    assert (
        sum(people for *_, people in asked.problem.crews[0].away) == 7
    )  # the crew of six, and one of them again
    factories.crew(people=6, name="Birch")
    assert moved(proposed(dispatcher))[:2] == (FRIDAY, "Birch")


def test_a_plants_fee_for_saturday_moves_a_pour_off_it(pour, dispatcher):
    pour.starts_at += timedelta(days=1)
    pour.save()
    factories.plan(pour)
    assert proposed(dispatcher).result["differences"] == []
    PlantFee.objects.create(plant=pour.plant, day="saturday", flat=2_500, per_m3=0)
    day, _, reasons, _ = moved(proposed(dispatcher))
    assert day == FRIDAY
    assert "less" in reasons


def test_a_late_change_of_a_called_order_costs_its_fee_in_the_week_too(pour, dispatcher):
    pour.plant.change_notice_h, pour.plant.late_change_fee = 24, 2_500
    pour.plant.save()
    ordering.call_in(order=pour.orders.get(), taken_by="Gert", by=dispatcher, now=NOW)
    proposal = proposed(dispatcher, lost_on=FRIDAY)
    (one,) = proposal.result["differences"]
    fee = next(reason for reason in one["against"] if reason.get("danger") == "change_fee")
    assert fee["hours"] == 10  # 2,500 at 250 for an hour of the crew


def test_a_lost_day_moves_a_promised_pour_within_its_promise_and_else_tells_that_it_is_late(pour, dispatcher):
    for promised, against in ((SATURDAY, False), (FRIDAY, True)):
        pour.promised_by = promised
        pour.save()
        day, _, reasons, told = moved(proposed(dispatcher, lost_on=FRIDAY))
        assert (day, reasons[0], "late" in told) == (SATURDAY, "lost", against)


def test_after_a_lost_day_what_is_not_displaced_stays_whatever_rule_it_breaks(pour, dispatcher):
    other = factories.pour(
        crew=factories.crew(people=6, name="Birch"), starts_at=STARTS_AT + timedelta(days=1), mix=pour.mix
    )
    factories.forecast(other.job.site, factories.mild_hours(NOW, hours=24 * 5))
    factories.site_hours(other.job.site, opens_at=time(8), closes_at=time(23, 59))
    factories.plan(other)
    assert [one["pour"] for one in proposed(dispatcher).result["differences"]] == [other.pk]
    assert [one["pour"] for one in proposed(dispatcher, lost_on=FRIDAY).result["differences"]] == [pour.pk]


def test_a_promise_that_nobody_is_there_to_keep_is_what_a_pour_left_out_is_told(pour, dispatcher):
    factories.absence(crew=pour.crew)
    pour.promised_by = FRIDAY
    pour.save()
    told = lacks(proposed(dispatcher))
    assert told[4, "people_away"][1] == 0
    assert told[5, "promise"] == (1, 0)


def test_no_start_outside_the_hours_of_its_site_is_proposed_and_the_one_that_stands_there_moves(
    pour, dispatcher
):
    factories.site_hours(pour.job.site, opens_at=time(8), closes_at=time(23, 59))
    proposal = proposed(dispatcher)
    (one,) = proposal.result["differences"]
    at = datetime.fromisoformat(one["to_at"])
    assert at.hour - 5 == 10  # of the clock times tried, in Kansas City
    assert {"code": "rule_kept", "rule": "outside_permit", "name": pour.job.site.name} in one["reasons"]
    weekaccept.accept(proposal=proposal, by=dispatcher, now=NOW)
    pour.refresh_from_db()
    assert pour.starts_at == at


def test_a_pour_that_no_days_hours_allow_says_how_many_of_its_hours_they_hold(pour, dispatcher):
    factories.site_hours(pour.job.site, kind="loud", opens_at=time(9), closes_at=time(11))
    told = lacks(proposed(dispatcher, lost_on=FRIDAY))
    assert (4, "lost") in told
    needed, exist = told[5, "outside_loud_hours"]
    assert needed > exist <= 2


def test_a_pour_goes_to_the_crew_that_can_run_its_pump(pour, dispatcher):
    pour.method = "line_pump"
    pour.save()
    factories.plan(pour)
    other = factories.crew(people=6, name="Birch")
    Worker.objects.filter(crew=other).update(pumps=True)
    _, crew, reasons, _ = moved(proposed(dispatcher))
    assert (crew, reasons[0]) == ("Birch", "fit_crew")
    factories.absence(crew=other, ends_at=STARTS_AT + timedelta(days=2))
    other.workers.update(active=False)
    assert proposed(dispatcher).result["differences"] == []
