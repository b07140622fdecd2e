"""A better week on the week page: asked for, looked at, stopped, taken."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from scheduling.engine.weekproblem import Lack
from scheduling.models import ProposalState, WeekProposal
from scheduling.pages import betterweek
from scheduling.queries.week import office_zone
from scheduling.services import booking, week
from scheduling.services.weekresult import base_of
from scheduling.services.weekstarts import BARRING
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import html_of, text_of

pytestmark = pytest.mark.slow

WEEK = "/week/?day=2026-09-03"
MONDAY = {"day": "2026-08-31"}


def worked() -> WeekProposal:
    week.work_due(clock=timezone.now)
    return WeekProposal.objects.get()


def test_a_week_is_asked_for_and_while_it_is_sought_the_page_asks_how_far_it_is(page, pour):
    assert "Propose a better week" in text_of(page.get(WEEK))
    assert page.post("/week/better/", MONDAY).status_code == 302
    proposal = WeekProposal.objects.get()
    html = html_of(page.get(WEEK))
    assert "Waiting for a worker to begin." in html
    assert f'hx-get="/week/better/{proposal.pk}/progress/"' in html
    line = page.get(f"/week/better/{proposal.pk}/progress/")
    assert line.content.decode().strip() == "Waiting for a worker to begin."
    assert "HX-Retarget" not in line.headers


def test_once_it_is_there_the_section_takes_its_own_place_with_differences_and_reasons(page, pour, clashing):
    page.post("/week/better/", MONDAY)
    proposal = worked()
    answer = page.get(f"/week/better/{proposal.pk}/progress/")
    assert answer.headers["HX-Retarget"] == "#better-week"
    text = text_of(answer)
    assert "no longer 10 people needed of Ash, which has 5" in text
    assert "Move this one" in text
    assert "/progress/" not in html_of(page.get(WEEK))


def test_taking_it_moves_the_pours_and_the_clash_is_gone(page, pour, clashing):
    page.post("/week/better/", MONDAY)
    proposal = worked()
    answer = page.post(f"/week/better/{proposal.pk}/take/", {}, follow=True)
    text = text_of(answer)
    assert "Moved as proposed, and planned afresh." in text
    assert "The proposed week was accepted." in text
    assert "to settle" not in text
    assert "needed, the crew has" not in text


def test_one_pour_is_taken_and_the_others_are_left_to_take(page, pour, clashing):
    page.post("/week/better/", {**MONDAY, "lost_on": "2026-09-03"})
    proposal = worked()
    first, *others = proposal.result["differences"]
    assert others
    page.post(f"/week/better/{proposal.pk}/take/", {"pour": first["pour"]})
    text = text_of(page.get(WEEK))
    assert "Rained out: Thu, Sep 3, at every site." in text
    assert "It moves 2 pours, all rained out; " in text
    assert "moved" in text
    assert "Move this one" in text


def test_one_pour_that_clashes_is_taken_only_when_somebody_says_so(page, pour, book):
    """The other pour is proposed to make room, and stays: of the crew's five the two want ten."""
    other = book(starts_at=THURSDAY + timedelta(hours=24), crew=pour.crew)
    difference = {
        "pour": other.pk, "name": str(other), "taken": False,
        "reasons": [{"code": "makes_room"}], "against": [],
        "from_at": other.starts_at.isoformat(), "from_crew": pour.crew_id, "from_crew_name": "Ash",
        "to_at": pour.starts_at.isoformat(), "to_crew": pour.crew_id, "to_crew_name": "Ash",
    }  # fmt: skip
    proposal = factories.proposal(
        monday=THURSDAY.date() - timedelta(days=3),
        base=base_of(THURSDAY.date() - timedelta(days=3), office_zone()),
    )
    proposal.result["differences"] = [difference]
    proposal.save()
    take = f"/week/better/{proposal.pk}/take/"
    refused = page.post(take, {"pour": other.pk})
    assert refused.status_code == 409
    text = text_of(refused)
    assert "This clashes with what is booked." in text
    assert "Take it anyway" in text
    other.refresh_from_db()
    assert other.starts_at != pour.starts_at
    page.post(take, {"pour": other.pk, "accept_clashes": "1"})
    other.refresh_from_db()
    assert other.starts_at == pour.starts_at
    assert "Booked twice, and accepted" in text_of(page.get(WEEK))


def test_a_day_is_called_rained_out_where_it_stands(page, pour):
    assert "lost=2026-09-03#rained-out" in html_of(page.get(WEEK))
    assert '<option value="2026-09-03" selected>' in html_of(page.get(f"{WEEK}&lost=2026-09-03"))


def test_nothing_lost_is_refused_in_words(page, pour):
    answer = page.post("/week/better/", {**MONDAY, "rained_out": "1"})
    assert answer.status_code == 400
    assert "Say which day is lost, or which site." in text_of(answer)


def test_what_a_search_came_to_is_said_in_plain_words(page, pour):
    monday = date(2026, 8, 31)
    lack = {
        "pour": pour.pk, "day": 3, "lack": "people", "name": "Ash", "needed": 10, "exist": 5, "names": [],
        "starts_at": "2026-09-03T19:00:00+00:00", "ends_at": "2026-09-03T22:00:00+00:00",
    }  # fmt: skip
    proposal = factories.proposal(monday=monday, base=base_of(monday, office_zone()))
    left = {"left_out": [{"pour": pour.pk, "name": str(pour)}], "shortages": [lack]}
    proposal.result = {**proposal.result, **left, "failed": True}
    proposal.save()
    text = text_of(page.get(WEEK))
    assert "The search broke down. What is shown was filled in pour by pour" in text
    assert "fits on no day of this week and stays as it is" in text
    # Two to five in the afternoon, on the clock of Kansas City.
    assert "Thu, Sep 3, 2:00–5:00 pm: 10 people of Ash needed, 5 exist" in text
    WeekProposal.objects.update(state=ProposalState.STOPPED, result=None)
    assert "Stopped before there was a week to propose: every pour stays where it is." in text_of(
        page.get(WEEK)
    )
    how_far = {"best": 490, "bound": 450, "seconds": 12.3}
    WeekProposal.objects.update(state=ProposalState.WORKING, **how_far)
    said = "The best week so far costs 49.0 crew-hours of trouble; no week costs less than 45.0. 12 s so far."
    assert said in text_of(page.get(WEEK))


def test_the_second_of_two_dispatchers_reads_what_changed(page, pour, clashing, office):
    page.post("/week/better/", MONDAY)
    proposal = worked()
    other = signed_in(factories.user(factories.Role.DISPATCHER))
    booking.hold_pour(pour=pour, version=pour.version, reason="Forms", by=office, now=factories.NOW)
    answer = other.post(f"/week/better/{proposal.pk}/take/", {})
    assert answer.status_code == 412
    assert f"The week has changed since this was proposed: {pour} was changed." in text_of(answer)
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.OUT_OF_DATE


def test_one_that_is_being_sought_is_stopped_and_not_asked_for_twice(page, pour):
    page.post("/week/better/", MONDAY)
    again = page.post("/week/better/", MONDAY)
    assert again.status_code == 400
    assert "sought already" in text_of(again)
    proposal = WeekProposal.objects.get()
    page.post(f"/week/better/{proposal.pk}/stop/", {})
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.STOPPED


def test_a_lead_is_shown_no_better_week_and_may_not_ask_for_one(pour, crew):
    lead = signed_in(crew.lead)
    assert "better week" not in text_of(lead.get(WEEK))
    assert lead.post("/week/better/", MONDAY).status_code == 403
    proposal = factories.proposal()
    for action in ("stop", "take"):
        assert lead.post(f"/week/better/{proposal.pk}/{action}/", {}).status_code == 403
    assert lead.get(f"/week/better/{proposal.pk}/progress/").status_code == 403


def test_nonsense_is_refused_in_words(page, pour):
    assert page.post("/week/better/", {"day": "someday"}).status_code == 400
    proposal = factories.proposal()
    assert page.post(f"/week/better/{proposal.pk}/take/", {"pour": "x"}).status_code == 400
    assert page.post(f"/week/better/{10**9}/take/", {}).status_code == 404


def test_whatever_keeps_a_pour_out_has_its_words():
    assert set(betterweek.LACKS) == {lack.value for lack in Lack}
    assert set(betterweek.KEPT) == {lack.value for lack in BARRING}
