"""A board's week as arrays of whole numbers for the many small tries, which are compiled, and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import accumulate

import numpy as np

from scheduling.engine.weekasked import Asked
from scheduling.engine.weekboard import Board
from scheduling.engine.weekproblem import WORKED, Placed, cost_of_placed
from scheduling.engine.weekshuffle import NOWHERE, Asks, Ints, Stands


def asks_of(board: Board, least: Mapping[str, int]) -> Asks:
    """The pours of a board's week as arrays."""
    problem = board.problem
    pours = problem.pours
    asked = [board.ask(pour.name) for pour in pours]
    crews, plants = _numbers(board, "crew"), _numbers(board, "plant")
    pools = _numbers(board, "pool")
    sites = {site: n for n, site in enumerate(dict.fromkeys(pour.site for pour in pours))}
    legs = np.zeros((len(sites), len(sites)), np.int64)
    for (here, there), leg in board.legs.items():
        if here in sites and there in sites:
            legs[sites[here], sites[there]] = leg
    options, option_of = _rows([_options(one) for one in asked], 8)
    crew_rows, crew_of = _rows([[(crews[name], cost) for name, cost in one.crews] for one in asked], 2)
    plant_rows, plant_of = _rows([_plants(one, plants) for one in asked], 2)
    needs, need_of = _rows(
        [[(WORKED.index(n.phase), pools[n.pool], n.count) for n in pour.needs] for pour in pours], 3
    )
    return Asks(
        options=options, option_of=option_of, crews=crew_rows, crew_of=crew_of, plants=plant_rows,
        plant_of=plant_of, needs=needs, need_of=need_of,
        people=_ints([[pour.people.get(phase, 0) for phase in WORKED] for pour in pours]).reshape(-1, 3),
        rate=_ints([pour.rate for pour in pours]),
        site=_ints([sites[pour.site] for pour in pours]),
        cheap=_ints([len(one.cheap) for one in asked]),
        least=_ints([least[pour.name] for pour in pours]),
        legs=legs,
        moves=_ints([board.move[pool.name] for pool in problem.pools]),
        free=_ints([n for n, pour in enumerate(pours) if not pour.pinned]),
        left_out=problem.weights.left_out,
    )  # fmt: skip


def stands_of(board: Board, asks: Asks) -> Stands:
    """A board's week as it stands, in arrays of its own."""
    problem, pours = board.problem, board.problem.pours
    crews, plants = _numbers(board, "crew"), _numbers(board, "plant")
    at = np.full((len(pours), 4), NOWHERE, np.int64)
    costs = np.full(len(pours), asks.left_out, np.int64)
    of_crew, many = np.zeros((len(crews), len(pours)), np.int64), np.zeros(len(crews), np.int64)
    for n, pour in enumerate(pours):
        placed = board.placed.get(pour.name)
        if placed is None:
            continue
        one = board.ask(pour.name)
        option = int(asks.option_of[n]) + _order(one).index(one.options.index(placed.option))
        crew = crews[placed.crew]
        at[n] = option, crew, plants[placed.plant], placed.cut_at
        costs[n] = cost_of_placed(problem, pour, placed)
        of_crew[crew, many[crew]] = n
        many[crew] += 1
    return Stands(
        crew_room=_room(board, "crew"), pool_room=_room(board, "pool"), plant_room=_room(board, "plant"),
        at=at, costs=costs, of_crew=of_crew, many=many,
    )  # fmt: skip


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
        found.append(
            Placed(
                one.pour.name,
                one.options[index],
                problem.crews[crew].name,
                problem.plants[plant].name,
                cut_at,
            )
        )
    return tuple(found)


def _order(one: Asked) -> list[int]:
    """A pour's options, the cheapest first and the earliest of those alike."""
    order: list[int] = np.lexsort((one.start, one.cost)).tolist()
    return order


def _options(one: Asked) -> list[tuple[int, ...]]:
    columns = (
        one.start, one.place_end, one.finish, one.finish_end, one.cut, one.cut_lasts, one.cut_slack, one.cost
    )  # fmt: skip
    rows: list[tuple[int, ...]] = np.stack(columns, axis=1)[_order(one)].tolist()
    return rows


def _plants(one: Asked, plants: Mapping[str, int]) -> list[tuple[int, int]]:
    return sorted(((plants[name], cost) for name, cost in one.plants), key=lambda pair: pair[::-1])


def _numbers(board: Board, kind: str) -> dict[str, int]:
    """The crews, pools or plants by their number."""
    return {name: n for n, (_, name) in enumerate(key for key in board.room if key[0] == kind)}


def _ints(rows: Sequence[object]) -> Ints:
    return np.array(rows, dtype=np.int64)


def _rows(lists: Sequence[Sequence[Sequence[int]]], width: int) -> tuple[Ints, Ints]:
    """Rows of all pours one after another, and where each pour's begin."""
    every = [row for rows in lists for row in rows]
    return _ints(every).reshape(-1, width), _ints([0, *accumulate(len(rows) for rows in lists)])


def _room(board: Board, kind: str) -> Ints:
    rooms = [room for key, room in board.room.items() if key[0] == kind]
    return np.array(rooms, dtype=np.int64).reshape(len(rooms), board.slots)
