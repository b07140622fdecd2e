import random
from itertools import product

import pytest

from scheduling.engine.weekboard import Board, fill
from scheduling.engine.weekproblem import Placed, WeekProblem, cost_of_placed
from tests.tinyweeks import option, pour, problem, tiny
from tests.weeks import generated


def by_trying_each(board: Board, name: str) -> int | None:
    """The least cost of all places of a pour that fit, each looked at slot by slot."""
    asked = board.pours[name]
    places = (
        Placed(name, one, crew, plant, one.start + one.cut_after + slip)
        for one, crew, plant in product(board.ask(name).options, asked.crews, asked.plants)
        for slip in range(one.cut_slack + 1)
    )
    costs = [cost_of_placed(board.problem, asked, place) for place in places if board.fits(place)]
    return min(costs, default=None)


def half_filled(asked: WeekProblem, seed: int) -> tuple[Board, list[str]]:
    names = [one.name for one in asked.pours]
    random.Random(seed).shuffle(names)
    board = Board(asked)
    fill(board, names[: len(names) // 2])
    return board, names[len(names) // 2 :]


@pytest.mark.parametrize("seed", range(8))
def test_the_cheapest_place_is_the_cheapest_of_all_that_fit(seed):
    for asked in (tiny(seed), generated(8, 2, 1, seed, hard=True)):
        board, rest = half_filled(asked, seed)
        for name in rest:
            found = board.cheapest(name)
            assert (found and found[0]) == by_trying_each(board, name)
            assert found is None or board.fits(found[1])


def test_of_two_options_that_start_alike_the_one_that_fits_is_found():
    long, short = option(10, place=8), option(10, place=4, risk=5)
    asked = problem(pour("A", option(14)), pour("B", long, short))
    board = Board(asked)
    fill(board, ["A"])
    found = board.cheapest("B")
    assert found is not None
    assert found[1].option == short
