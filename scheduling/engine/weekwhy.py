"""Why a pour is left out of a week: for each of its days, what there is too little of, and when.

Our own rules say it, not the solver: a solver's reasons may be any that suffice, and change from run to run.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from scheduling.engine.weekboard import PLACE, SHUT, Board, uses
from scheduling.engine.weekproblem import (
    Lack,
    Option,
    Placed,
    Shortage,
    WeekPour,
    WeekProblem,
    cost_of_placed,
)

_LACKS = {"crew": Lack.PEOPLE, "pool": Lack.UNITS, "plant": Lack.PLANT}


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
        By pour and day, and at least one for each pour: on a day with starts what is short at the one
        that comes nearest, and on any day why others are not offered.
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


def _of_pour(board: Board, pour: WeekPour) -> list[Shortage]:
    offered = board.ask(pour.name).options
    days = sorted({one.day for one in offered})
    short = chain.from_iterable(_of_day(board, pour, [o for o in offered if o.day == day]) for day in days)
    found = [*short, *_too_late(pour), *_not_offered(pour)]
    if not found:
        return [Shortage(pour.name, pour.latest_day or 0, Lack.NO_START, pour.name)]
    return sorted(found, key=lambda one: one.day)


def _of_day(board: Board, pour: WeekPour, options: Sequence[Option]) -> tuple[Shortage, ...]:
    """What is short most at the start that comes nearest; where one fits, only its cost speaks against it."""
    tries = {
        wish: tuple(_lacking(board, pour, wish))
        for wish in (
            Placed(pour.name, option, crew, plant, cut_at)
            for option in options
            for crew in sorted(board.ask(pour.name).crew_cost)
            for plant in sorted(pour.plants)
            for cut_at in _cuts(option)
        )
    }
    costs = [cost_of_placed(board.problem, pour, wish) for wish, lacking in tries.items() if not lacking]
    if costs:
        left_out = board.problem.weights.left_out
        return (Shortage(pour.name, options[0].day, Lack.DEAR, pour.name, min(costs), left_out),)
    nearest = min(tries.values(), key=_badness)
    most = {(one.lack, one.name): one for one in sorted(nearest, key=_excess)}
    return tuple(most.values())


def _excess(one: Shortage) -> float:
    return one.needed - one.exist


def _too_late(pour: WeekPour) -> Iterator[Shortage]:
    """The first day that would be later than was promised."""
    if (latest := pour.latest_day) is not None:
        late = [option.day for option in pour.options if option.day > latest]
        if late:
            yield Shortage(pour.name, min(late), Lack.PROMISE, pour.name, min(late) - latest)


def _not_offered(pour: WeekPour) -> list[Shortage]:
    """Why starts were not offered: each reason once a day, where it comes nearest to none."""
    nearest: dict[tuple[int, Lack, str], Shortage] = {}
    for one in sorted(pour.barred, key=_excess):
        nearest.setdefault((one.day, one.lack, one.name), one)
    return list(nearest.values())


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
    shut = least < SHUT // 2
    away = 0 if shut else _away(board, key, slots)
    exist = board.have[key] - away
    lack = Lack.PLANT_SHUT if shut else Lack.PEOPLE_AWAY if away else _LACKS[key[0]]
    return Shortage(
        pour=wish.pour,
        day=wish.option.day,
        lack=lack,
        name=key[1],
        needed=amount if shut else exist - least + amount,
        exist=0 if shut else max(0, exist),  # one on leave may be counted with the crew too
        starts_at=board.problem.at(slots[0]),
        ends_at=board.problem.at(slots[-1] + 1),
        pours=tuple(sorted(_holders(board, key, slots))),
    )


def _away(board: Board, key: tuple[str, str], slots: Sequence[int]) -> int:
    """How many of a crew are on leave when it lacks people most."""
    if key[0] != "crew":
        return 0
    crew = next(one for one in board.problem.crews if one.name == key[1])
    worst = min(slots, key=lambda slot: int(board.room[key][slot]))
    return sum(count for first, last, count in crew.away if first <= worst < last)


def _holders(board: Board, key: tuple[str, str], slots: Sequence[int]) -> Iterator[str]:
    for name, placed in board.placed.items():
        for held, _, first, last in uses(board.pours[name], placed, board.move):
            if held == key and first <= slots[-1] and last > slots[0]:
                yield name
