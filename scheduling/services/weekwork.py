"""What parts of the work on a proposal are, asked and answered: a pour's starts, a piece of the search."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from scheduling.engine.weekboard import Board
from scheduling.engine.weekmodel import Part
from scheduling.engine.weekparts import SolveAll, Subweek, solve_subweek
from scheduling.engine.weekproblem import WeekProblem
from scheduling.models import PartKind, SharedWeek, WeekPart, WeekProposal
from scheduling.queries.weekrows import pours_to_plan
from scheduling.services import weekparts
from scheduling.services.weekpack import pack, unpack
from scheduling.services.weekstarts import Start, frame_of, starts_of

# --- starts -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StartsAsked:
    """Which pour, in which week, as seen from when."""

    pour: int
    monday: date
    now: datetime


def plan_starts(
    proposal: WeekProposal, counts: Mapping[int, int], now: datetime, go_on: Callable[[int], bool]
) -> dict[int, list[Start]]:
    """The starts of each pour in `counts`, which says how many they are; none of it once `go_on` says no.

    `go_on` is told how many are planned.
    """
    pours = list(counts)
    asked = [pack(StartsAsked(pour, proposal.monday, now)) for pour in pours]
    found = weekparts.answers(
        proposal,
        PartKind.STARTS,
        asked,
        WORKS[PartKind.STARTS],
        lambda done: go_on(sum(counts[pours[index]] for index in done)),
    )
    return {pour: unpack(one, list[Start]) for pour, one in zip(pours, found, strict=True) if one is not None}


def _starts(part: WeekPart) -> bytes:
    asked = unpack(part.asked, StartsAsked)
    pour = pours_to_plan().get(pk=asked.pour)
    return pack(starts_of(pour, frame_of(asked.monday, asked.now)))


# --- pieces of the search ---------------------------------------------------------------------


def solve_spread(proposal: WeekProposal, problem: WeekProblem, go_on: Callable[[], bool]) -> SolveAll:
    """Have the pieces of a proposal's search solved by whichever workers have time."""
    SharedWeek.objects.update_or_create(proposal=proposal, defaults={"problem": pack(problem)})
    bare = replace(problem, pours=(), crews=(), pools=(), plants=(), legs={})

    def solve_all(pieces: Sequence[Subweek]) -> list[Part | None]:
        asked = [pack(replace(piece, problem=bare)) for piece in pieces]
        work = WORKS[PartKind.SEARCH]
        found = weekparts.answers(proposal, PartKind.SEARCH, asked, work, lambda _: go_on())
        return [None if one is None else unpack(one, Found).part for one in found]

    return solve_all


@dataclass(frozen=True, slots=True)
class Found:
    """What a piece of the search came to."""

    part: Part | None


_boards: dict[bytes, Board] = {}  # of the week that this process worked on last


def _solved(part: WeekPart) -> bytes:
    board = _board_of(bytes(SharedWeek.objects.get(proposal=part.proposal_id).problem))
    piece = replace(unpack(part.asked, Subweek), problem=board.problem)
    return pack(Found(solve_subweek(piece, board)))


def _board_of(packed: bytes) -> Board:
    board = _boards.get(packed)
    if board is None:
        board = Board(unpack(packed, WeekProblem))
        _boards.clear()
        _boards[packed] = board
    return board


WORKS: dict[str, weekparts.Work] = {PartKind.STARTS: _starts, PartKind.SEARCH: _solved}
