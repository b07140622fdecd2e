"""Why a pour is left out of a week: for each of its days, what there is too little of, and when.

Our own rules say it, not the solver: a solver's reasons may be any that suffice, and change from run to run.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from scheduling.engine.weekboard import PLACE, SHUT, Board, uses
from scheduling.engine.weekproblem import Option, Placed, WeekPour, WeekProblem


class Lack(StrEnum):
    NO_START = "no_start"  # no day planner's start by the latest day
    PEOPLE = "people"
    UNITS = "units"
    PLANT = "plant"
    PLANT_SHUT = "plant_shut"
    CREW_ELSEWHERE = "crew_elsewhere"


_LACKS = {"crew": Lack.PEOPLE, "pool": Lack.UNITS, "plant": Lack.PLANT}


@dataclass(frozen=True, slots=True)
class Shortage:
    """What keeps a pour off a day: `needed` of `name` from one moment to another, and `exist`.

    `pours` are those that have it then. The moments are None where there is no start to speak of.
    """

    pour: str
    day: int
    lack: Lack
    name: str
    needed: int = 0
    exist: int = 0
    starts_at: datetime | None = None
    ends_at: datetime | None = None
    pours: tuple[str, ...] = ()


def why_left_out(problem: WeekProblem, placed: Iterable[Placed]) -> tuple[Shortage, ...]:
    """Say for each pour that is not placed, day by day, what is short at the start that comes nearest.

    Parameters
    ----------
    problem : WeekProblem
    placed : iterable of Placed
        The week without it.

    Returns
    -------
    tuple of Shortage
        By pour and day; a day on which it would fit has none, since then only its cost speaks
        against it.
    """
    board = Board(problem)
    for one in placed:
        board.put(one)
    return tuple(
        shortage
        for pour in problem.pours
        if pour.name not in board.placed
        for shortage in _of_pour(board, pour)
    )


def _of_pour(board: Board, pour: WeekPour) -> Iterator[Shortage]:
    options = board.ask(pour.name).options
    if not options:
        yield Shortage(pour.name, pour.latest_day or 0, Lack.NO_START, pour.name)
    for day in sorted({one.day for one in options}):
        tries = (
            tuple(_lacking(board, pour, Placed(pour.name, option, crew, plant, cut_at)))
            for option in options
            if option.day == day
            for crew in sorted(board.ask(pour.name).crew_cost)
            for plant in sorted(pour.plants)
            for cut_at in _cuts(option)
        )
        nearest = min(tries, key=_badness)
        yield from nearest


def _cuts(option: Option) -> tuple[int, ...]:
    """As soon as it opens, and as late as it may be."""
    opens = option.start + option.cut_after
    return (opens, opens + option.cut_slack) if option.cut_slack else (opens,)


def _badness(lacking: tuple[Shortage, ...]) -> tuple[int, float]:
    """Fewest things short, and those for the shortest time."""
    lasts = (
        (one.ends_at - one.starts_at).total_seconds()
        for one in lacking
        if one.ends_at is not None and one.starts_at is not None
    )
    return len(lacking), sum(lasts)


def _lacking(board: Board, pour: WeekPour, wish: Placed) -> Iterator[Shortage]:
    elsewhere = tuple(sorted(board.in_the_way(pour, wish)))
    first, last = wish.option.stretch(PLACE)
    at = board.problem.at
    if elsewhere:
        yield Shortage(
            pour.name, wish.option.day, Lack.CREW_ELSEWHERE, wish.crew, 1 + len(elsewhere), 1,
            at(first), at(last), elsewhere,
        )  # fmt: skip
    for key, amount, first, last in uses(pour, wish, board.move):
        short = [slot for slot in range(first, last) if board.room[key][slot] < amount]
        if short and not (elsewhere and key[0] == "crew"):
            yield _short(board, wish, key, amount, short)


def _short(board: Board, wish: Placed, key: tuple[str, str], amount: int, slots: Sequence[int]) -> Shortage:
    """From the first slot that lacks it to the last, with the most that would be asked for then."""
    least = min(int(board.room[key][slot]) for slot in slots)
    exist = board.have[key]
    shut = least < SHUT // 2
    return Shortage(
        pour=wish.pour,
        day=wish.option.day,
        lack=Lack.PLANT_SHUT if shut else _LACKS[key[0]],
        name=key[1],
        needed=amount if shut else exist - least + amount,
        exist=0 if shut else exist,
        starts_at=board.problem.at(slots[0]),
        ends_at=board.problem.at(slots[-1] + 1),
        pours=tuple(sorted(_holders(board, key, slots))),
    )


def _holders(board: Board, key: tuple[str, str], slots: Sequence[int]) -> Iterator[str]:
    for name, placed in board.placed.items():
        for held, _, first, last in uses(board.pours[name], placed, board.move):
            if held == key and first <= slots[-1] and last > slots[0]:
                yield name
