"""A board's week as arrays of whole numbers for the many small tries, which are compiled, and back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate
from typing import TypeAlias

import numpy as np

from scheduling.engine.weekasked import Asked
from scheduling.engine.weekboard import Board, Key
from scheduling.engine.weeknumbers import Asks, Ints, Stands
from scheduling.engine.weekproblem import WORKED, Placed, cost_of_placed
from scheduling.engine.weekshuffle import (
    AMOUNT,
    CUT_LASTS,
    FINISH_LASTS,
    LONGEST,
    NOBODY,
    NOWHERE,
    OF,
    PLACE,
    WHO,
)

Level: TypeAlias = tuple[Key, int]  # so much of something


def asks_of(board: Board, least: Mapping[str, int]) -> Asks:
    """The pours of a board's week as arrays."""
    problem = board.problem
    pours = problem.pours
    asked = [board.ask(pour.name) for pour in pours]
    levels = _levels(board, asked)
    sites = {site: n for n, site in enumerate(dict.fromkeys(pour.site for pour in pours))}
    legs = np.zeros((len(sites), len(sites)), np.int64)
    for (here, there), leg in board.legs.items():
        if here in sites and there in sites:
            legs[sites[here], sites[there]] = leg
    options, option_of = _rows([_options(one) for one in asked], 8)
    crews, crew_of = _rows([_crews(board, one, levels) for one in asked], 5)
    plants, plant_of = _rows([_plants(one, levels) for one in asked], 2)
    needs, need_of = _rows([_needs(one, levels) for one in asked], 2)
    level_rows = _level_rows(board, levels, options)
    serves = np.zeros((len(pours), len(problem.crews)), np.bool_)
    for pour in range(len(pours)):
        serves[pour, crews[crew_of[pour] : crew_of[pour + 1], WHO]] = True
    return Asks(
        options=options, option_of=option_of, crews=crews, crew_of=crew_of, plants=plants,
        plant_of=plant_of, needs=needs, need_of=need_of,
        levels=level_rows,
        level_of=np.searchsorted(level_rows[:, OF], range(len(board.room) + 1)),
        site=_ints([sites[pour.site] for pour in pours]),
        serves=serves,
        cheap=_ints([len(one.cheap) for one in asked]),
        least=_ints([least[pour.name] for pour in pours]),
        legs=legs,
        free=_ints([n for n, pour in enumerate(pours) if not pour.pinned]),
        left_out=problem.weights.left_out,
    )  # fmt: skip


def stands_of(board: Board, asks: Asks) -> Stands:
    """A board's week as it stands, in arrays of its own."""
    problem, pours = board.problem, board.problem.pours
    at = np.full((len(pours), 4), NOWHERE, np.int64)
    costs = np.full(len(pours), asks.left_out, np.int64)
    crews = {crew.name: n for n, crew in enumerate(problem.crews)}
    of_crew, many = np.zeros((len(crews), len(pours)), np.int64), np.zeros(len(crews), np.int64)
    for n, pour in enumerate(pours):
        placed = board.placed.get(pour.name)
        if placed is None:
            continue
        one = board.ask(pour.name)
        option = _order(one).index(one.options.index(placed.option))
        crew = [name for name, _ in one.crews].index(placed.crew)
        plant = [name for name, _ in _by_cost(one)].index(placed.plant)
        at[n] = asks.option_of[n] + option, asks.crew_of[n] + crew, asks.plant_of[n] + plant, placed.cut_at
        costs[n] = cost_of_placed(problem, pour, placed)
        crew = crews[placed.crew]
        of_crew[crew, many[crew]] = n
        many[crew] += 1
    room = np.array(list(board.room.values()), np.int64).reshape(-1, board.slots)
    return Stands(room=room, runs=_runs(room, asks), at=at, costs=costs, of_crew=of_crew, many=many)


def _runs(room: Ints, asks: Asks) -> Ints:
    """Through how many slots in a row, from each on, there is room for each level."""
    runs = np.zeros((len(asks.levels), room.shape[1] + 1), np.int64)
    free = room[asks.levels[:, OF]] >= asks.levels[:, AMOUNT, None]
    for slot in range(room.shape[1] - 1, -1, -1):
        runs[:, slot] = np.where(free[:, slot], np.minimum(runs[:, slot + 1] + 1, asks.levels[:, LONGEST]), 0)
    return runs


def placed_of(board: Board, asks: Asks, at: Ints) -> tuple[Placed, ...]:
    """The pours that may move where `at` has them; those left out are not among them."""
    problem = board.problem
    found = []
    for n in asks.free.tolist():
        option, crew, plant, cut_at = at[n].tolist()
        if option == NOWHERE:
            continue
        one = board.ask(problem.pours[n].name)
        index = _order(one)[option - int(asks.option_of[n])]
        who, _ = one.crews[crew - int(asks.crew_of[n])]
        whence, _ = _by_cost(one)[plant - int(asks.plant_of[n])]
        found.append(Placed(one.pour.name, one.options[index], who, whence, cut_at))
    return tuple(found)


def _order(one: Asked) -> list[int]:
    """A pour's options, the cheapest first and the earliest of those alike."""
    order: list[int] = np.lexsort((one.start, one.cost)).tolist()
    return order


def _options(one: Asked) -> list[tuple[int, ...]]:
    columns = (
        one.start, one.place_end - one.start, one.finish, one.finish_end - one.finish,
        one.cut, one.cut_lasts, one.cut_slack, one.cost,
    )  # fmt: skip
    rows: list[tuple[int, ...]] = np.stack(columns, axis=1)[_order(one)].tolist()
    return rows


def _by_cost(one: Asked) -> list[tuple[str, int]]:
    return sorted(one.plants, key=lambda pair: pair[::-1])


def _plants(one: Asked, levels: Mapping[Level, int]) -> list[tuple[int, int]]:
    return [(levels[("plant", name), one.pour.rate], cost) for name, cost in _by_cost(one)]


def _crews(board: Board, one: Asked, levels: Mapping[Level, int]) -> list[tuple[int, ...]]:
    numbers = _numbers(board)
    people = [one.pour.people.get(phase, 0) for phase in WORKED]
    return [
        (
            numbers["crew", name],
            cost,
            *(levels[("crew", name), count] if count else NOBODY for count in people),
        )
        for name, cost in one.crews
    ]


def _needs(one: Asked, levels: Mapping[Level, int]) -> list[tuple[int, int]]:
    return [(WORKED.index(need.phase), levels[("pool", need.pool), need.count]) for need in one.pour.needs]


def _levels(board: Board, asked: Sequence[Asked]) -> dict[Level, int]:
    """Each amount that is asked of something, numbered, in the order of what it is asked of."""
    numbers = _numbers(board)
    found: set[Level] = set()
    for one in asked:
        people = {count for count in one.pour.people.values() if count}
        found |= {(("crew", name), count) for name, _ in one.crews for count in people}
        found |= {(("plant", name), one.pour.rate) for name, _ in one.plants}
        found |= {(("pool", need.pool), need.count) for need in one.pour.needs}
    order = sorted(found, key=lambda level: (numbers[level[0]], level[1]))
    return {level: n for n, level in enumerate(order)}


def _level_rows(board: Board, levels: Iterable[Level], options: Ints) -> Ints:
    """Of what, how much, how long its way to the next use takes, and the most slots it is asked for."""
    numbers = _numbers(board)
    moves = {("pool", name): move for name, move in board.move.items()}
    lasts = int(options[:, [PLACE, FINISH_LASTS, CUT_LASTS]].max(initial=0))
    rows = [(numbers[key], amount, moves.get(key, 0), lasts + moves.get(key, 0)) for key, amount in levels]
    return _ints(rows).reshape(-1, 4)


def _numbers(board: Board) -> dict[Key, int]:
    """Crews, pools and plants numbered through; crews come first."""
    return {key: n for n, key in enumerate(board.room)}


def _ints(rows: Sequence[object]) -> Ints:
    return np.array(rows, dtype=np.int64)


def _rows(lists: Sequence[Sequence[Sequence[int]]], width: int) -> tuple[Ints, Ints]:
    """Rows of all pours one after another, and where each pour's begin."""
    every = [row for rows in lists for row in rows]
    return _ints(every).reshape(-1, width), _ints([0, *accumulate(len(rows) for rows in lists)])
