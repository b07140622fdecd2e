"""What a search for a week hands to whoever works on it: parts solved by themselves, the same anywhere."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from scheduling.engine.weekarrays import asks_of, placed_of, stands_of
from scheduling.engine.weekboard import Board
from scheduling.engine.weekmodel import Part, solve_part
from scheduling.engine.weekproblem import Placed, WeekProblem
from scheduling.engine.weekshuffle import better

# Effort is counted so that it is about seconds of one core, yet the same on every machine: our choice.
TRY_EFFORT = 0.000012
SOLVER_EFFORT = 8.0  # for each unit of CP-SAT's deterministic time
PART_EFFORT = 1.0


@dataclass(frozen=True, slots=True)
class Tries:
    """So many small tries at a week; `since` and `until` say which stretch of all tries they are."""

    seed: int
    count: int
    since: float
    until: float


@dataclass(frozen=True, slots=True)
class Subweek:
    """A part of a week to solve by itself: everything a worker anywhere must know.

    With `tries` the whole week is bettered by them, without them CP-SAT places those that are `free`.
    """

    problem: WeekProblem
    placed: tuple[Placed, ...]
    free: tuple[str, ...]
    effort: float = PART_EFFORT
    tries: Tries | None = None


SolveAll: TypeAlias = Callable[[Sequence[Subweek]], Sequence[Part | None]]


def solve_subweek(part: Subweek, like: Board | None = None) -> Part | None:
    """Solve one part; a pure function, for a worker on any machine. A board `like` it spares some work."""
    if part.tries is not None:
        return _shuffled(part, part.tries, like)
    free = set(part.free)
    hint = {placed.pour: placed for placed in part.placed}
    board = board_of(part.problem, (one for one in part.placed if one.pour not in free), like)
    return solve_part(board, part.free, hint, part.effort / SOLVER_EFFORT)


def _shuffled(part: Subweek, tries: Tries, like: Board | None) -> Part:
    board = board_of(part.problem, part.placed, like)
    asks = asks_of(board, least_costs(part.problem, board))
    lots = np.random.default_rng(tries.seed)
    cost, at = better(asks, stands_of(board, asks), lots, tries.count, tries.since, tries.until)
    effort = tries.count * TRY_EFFORT / SOLVER_EFFORT
    return Part(placed_of(board, asks, at), int(cost), 0, False, effort)


def board_of(problem: WeekProblem, placed: Iterable[Placed], like: Board | None = None) -> Board:
    """A board with pours on it as they are placed."""
    board = Board(problem, like)
    for one in placed:
        board.put(one)
    return board


def least_costs(problem: WeekProblem, board: Board) -> dict[str, int]:
    """What each pour costs at least, were it alone in the week."""
    alone = Board(problem, board)
    found = {name: alone.cheapest(name) for name in board.pours}
    left_out = problem.weights.left_out
    return {name: min(left_out, one[0]) if one else left_out for name, one in found.items()}


# --- solved by other processes ------------------------------------------------------------------

_latest: dict[bytes, Board] = {}


def spread_over(pool: Executor, problem: WeekProblem) -> SolveAll:
    """Let a pool of processes solve a search's parts; what they have in common is packed but once.

    Parameters
    ----------
    pool : Executor
        Kept by the caller, who says how many workers there are.
    problem : WeekProblem
        The one that the search is for.

    Returns
    -------
    SolveAll
    """
    packed = pickle.dumps(problem)
    bare = replace(problem, pours=(), legs={})

    def solve_all(parts: Sequence[Subweek]) -> Sequence[Part | None]:
        return list(pool.map(_solve_packed, [(packed, replace(part, problem=bare)) for part in parts]))

    return solve_all


def _solve_packed(sent: tuple[bytes, Subweek]) -> Part | None:
    """Solve a part of a packed problem, which is unpacked only if it is not the one unpacked last."""
    packed, part = sent
    if packed not in _latest:
        _latest.clear()
        _latest[packed] = Board(pickle.loads(packed))
    like = _latest[packed]
    return solve_subweek(replace(part, problem=like.problem), like)
