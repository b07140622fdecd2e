"""Ask for a better week, work on it, stop it; `weekaccept` takes what it proposes."""

import logging
from collections.abc import Callable
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import F, QuerySet

from scheduling.engine.week import Progress, Proposal, propose_week
from scheduling.engine.weekproblem import WeekProblem
from scheduling.errors import NotAllowed, Refusal
from scheduling.models import UNDER_WAY, ProposalState, SharedWeek, Site, User, WeekPart, WeekProposal
from scheduling.queries.week import office_zone, week_span
from scheduling.queries.weekrows import WeekRows, week_rows
from scheduling.roles import Right
from scheduling.services import nudge, weekparts
from scheduling.services.weekask import WeekAsked, ask_week, counts_to_plan, stays_in_turn
from scheduling.services.weekresult import base_of, result_of
from scheduling.services.weekstarts import Start
from scheduling.services.weekwork import WORKS, plan_starts, solve_spread

log = logging.getLogger(__name__)

Clock = Callable[[], datetime]

LOST_AFTER = timedelta(minutes=2)  # without a sign of its worker a proposal is begun again: our choice
MOST_TRIES = 3
EFFORT_A_POUR, LEAST_EFFORT, MOST_EFFORT = 0.2, 5.0, 60.0  # seconds of one core, about: our choice
SIGN_EVERY = timedelta(seconds=1)


class _Stopped(Exception):
    """Somebody asked to stop before there was a week to keep."""


@transaction.atomic
def ask(
    *, day: date, by: User, now: datetime, lost_on: date | None = None, lost_site: Site | None = None
) -> WeekProposal:
    """Ask for a better week, the one that holds `day`; with a day or a site lost, for what puts that right.

    Raises
    ------
    Refusal
        If that week is over, the lost day is not in it, or one is being worked on already.
    """
    require(by)
    monday = day - timedelta(days=day.weekday())
    if week_span(monday, office_zone())[1] <= now:
        raise Refusal("That week is over.", code="in_the_past", field="day")
    if lost_on is not None and not monday <= lost_on < monday + timedelta(days=7):
        raise Refusal("The lost day is not in that week.", code="not_in_week", field="lost_on")
    if WeekProposal.objects.select_for_update().filter(monday=monday, state__in=UNDER_WAY).exists():
        raise Refusal("A better week is being sought already.", code="under_way", field="day")
    made = WeekProposal.objects.create(
        monday=monday, asked_by=by, asked_at=now, lost_on=lost_on, lost_site=lost_site
    )
    nudge.nudge(weekparts.TASK)
    return made


def stop(*, proposal: WeekProposal, by: User, now: datetime) -> WeekProposal:
    """Stop the work on a proposal; the best week found so far is kept."""
    require(by)
    waiting = WeekProposal.objects.filter(pk=proposal.pk, state=ProposalState.ASKED)
    if not waiting.update(state=ProposalState.STOPPED, settled_by=by, settled_at=now):
        working = WeekProposal.objects.filter(pk=proposal.pk, state=ProposalState.WORKING)
        if not working.update(stop_asked=True, settled_by=by, settled_at=now):
            raise Refusal("Nobody is working on this week any more.", code="not_under_way")
    proposal.refresh_from_db()
    return proposal


def require(by: User) -> None:
    if not (by.may(Right.ASSIGN) and by.may(Right.BOOK)):
        raise NotAllowed("Your role does not include this.", code="not_allowed")


# --- the work ---------------------------------------------------------------------------------


def work_due(*, clock: Clock) -> int:
    """Help those who work on a week, then work on every week that nobody works on; how many of these."""
    weekparts.help_out(WORKS)
    _give_up_lost(clock())
    done = 0
    while proposal := _claim(clock()):
        _work(proposal, clock)
        done += 1
    _clear_up()
    return done


def _clear_up() -> None:
    """Drop what was handed out for proposals that nobody works on any more."""
    WeekPart.objects.exclude(proposal__state=ProposalState.WORKING).delete()
    SharedWeek.objects.exclude(proposal__state=ProposalState.WORKING).delete()


def _give_up_lost(now: datetime) -> None:
    """What a worker that died left behind is begun again, a few times."""
    lost = WeekProposal.objects.filter(state=ProposalState.WORKING, seen_at__lt=now - LOST_AFTER)
    lost.filter(tries__gte=MOST_TRIES).update(
        state=ProposalState.FAILED, fault="Its worker died each time it was begun."
    )
    lost.filter(tries__lt=MOST_TRIES).update(state=ProposalState.ASKED)


def _claim(now: datetime) -> WeekProposal | None:
    for proposal in WeekProposal.objects.filter(state=ProposalState.ASKED).order_by("asked_at", "id"):
        asked = WeekProposal.objects.filter(pk=proposal.pk, state=ProposalState.ASKED)
        if asked.update(state=ProposalState.WORKING, seen_at=now, tries=F("tries") + 1) == 1:
            proposal.refresh_from_db()
            return proposal
    return None


def _work(proposal: WeekProposal, clock: Clock) -> None:
    try:
        _propose(proposal, clock)
    except _Stopped:
        _end(proposal, state=ProposalState.STOPPED)
    except Exception:  # one week that cannot be worked on must not keep the others from it
        log.exception("No better week could be sought for %s", proposal.monday)
        _end(proposal, state=ProposalState.FAILED, fault="The search broke down; it was noted.")


def _propose(proposal: WeekProposal, clock: Clock) -> None:
    began = clock()
    proposal.parts.all().delete()  # of a worker that died over it
    rows = week_rows(proposal.monday)
    signs = _Signs(proposal, clock, began)
    _end(proposal, base=base_of(proposal.monday, rows.zone))
    asked, found = _sought(proposal, rows, signs)
    _end(
        proposal,
        state=ProposalState.STOPPED if signs.stopped else ProposalState.READY,
        result=result_of(asked, found),
        planned=F("to_plan"),
        best=found.cost,
        bound=found.bound,
        seconds=(clock() - began).total_seconds(),
    )


def _sought(proposal: WeekProposal, rows: WeekRows, signs: "_Signs") -> tuple[WeekAsked, Proposal]:
    """The best week found, with as many pours staying as lets every other find a place."""
    planned: dict[int, list[Start]] = {}
    for stays in stays_in_turn(rows, proposal, signs.began):
        counts = counts_to_plan(rows, stays, signs.began)
        fresh = {pour: count for pour, count in counts.items() if pour not in planned}
        _end(proposal, to_plan=sum(fresh.values()), planned=0)
        planned |= plan_starts(proposal, fresh, signs.began, signs.planned)
        if signs.stopped:
            raise _Stopped
        asked = ask_week(rows, proposal, stays, planned, signs.began)
        found = search(proposal, asked.problem, signs)
        if signs.stopped or not found.left_out:
            break
    return asked, found


def search(proposal: WeekProposal, problem: WeekProblem, signs: "_Signs") -> Proposal:
    """The best week within an effort that grows with the number of pours."""
    effort = min(MOST_EFFORT, max(LEAST_EFFORT, EFFORT_A_POUR * len(problem.pours)))
    solve_all = solve_spread(proposal, problem, signs.going)
    return propose_week(problem, effort=effort, solve_all=solve_all, on_progress=signs.found)


def _end(proposal: WeekProposal, **columns: object) -> None:
    """Note how it stands, unless somebody has settled it meanwhile, or another worker begun it again."""
    _ours(proposal).update(**columns)


def _ours(proposal: WeekProposal) -> QuerySet[WeekProposal]:
    return WeekProposal.objects.filter(pk=proposal.pk, state=ProposalState.WORKING, tries=proposal.tries)


class _Signs:
    """Tells how far the work has come, at most once a second, and hears whether to stop."""

    def __init__(self, proposal: WeekProposal, clock: Clock, began: datetime) -> None:
        self.proposal, self.clock, self.began = proposal, clock, began
        self.told_at: datetime | None = None
        self.columns: dict[str, int] = {}
        self.stopped = False

    def planned(self, starts: int) -> bool:
        """So many starts are planned: whether to go on."""
        self.columns["planned"] = starts
        return self.going()

    def found(self, progress: Progress) -> bool:
        """The search has come this far: whether to go on."""
        self.columns |= {"best": progress.best, "bound": min(progress.bound, progress.best)}
        return self.going()

    def going(self) -> bool:
        """Whether to go on."""
        now = self.clock()
        if self.told_at is not None and now - self.told_at < SIGN_EVERY:
            return not self.stopped
        self.told_at = now
        _end(self.proposal, seen_at=now, seconds=(now - self.began).total_seconds(), **self.columns)
        self.stopped = not _ours(self.proposal).filter(stop_asked=False).exists()
        return not self.stopped
