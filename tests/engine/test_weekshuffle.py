"""Small tries at a week: the arrays they work on stay true to the board, and they better it."""

import numpy as np
import pytest

from scheduling.engine.weekarrays import asks_of, placed_of, stands_of
from scheduling.engine.weekboard import greedy
from scheduling.engine.weekparts import board_of, least_costs
from scheduling.engine.weekproblem import cost_of_placed
from scheduling.engine.weekshuffle import NOWHERE, better
from tests.weeks import generated

pytestmark = pytest.mark.slow  # what is compiled is compiled once on a machine, in some seconds


def tried(asked, count=400, seed=3):
    board = greedy(asked)
    asks = asks_of(board, least_costs(asked, board))
    stands = stands_of(board, asks)
    cost, at = better(asks, stands, np.random.default_rng(seed), count, 0.0, 1.0)
    return board, asks, stands, cost, at


def test_a_week_goes_into_arrays_and_comes_back_as_it_was():
    asked = generated(20, 3, 3, 3, hard=True)
    board = greedy(asked)
    asks = asks_of(board, least_costs(asked, board))
    back = placed_of(board, asks, stands_of(board, asks).at)
    assert {one.pour: one for one in back} == board.placed


@pytest.mark.parametrize("seed", range(1, 7))
def test_room_and_costs_are_true_to_where_the_pours_are(seed):
    asked = generated(20, 3, 3, seed, hard=True)
    board, asks, stands, _, _ = tried(asked, seed=seed)
    again = stands_of(board_of(asked, placed_of(board, asks, stands.at)), asks)
    for name in ("room", "runs", "many", "costs"):
        assert np.array_equal(getattr(stands, name), getattr(again, name)), name
    there = stands.at[:, 0] != NOWHERE
    assert np.array_equal(stands.at[there], again.at[there])
    for crew, many in enumerate(stands.many):
        assert set(stands.of_crew[crew, :many]) == set(again.of_crew[crew, :many])


@pytest.mark.parametrize("seed", range(1, 7))
def test_the_best_week_fits_and_costs_what_is_said(seed):
    asked = generated(20, 3, 3, seed, hard=True)
    board, asks, _, cost, at = tried(asked, seed=seed)
    empty, total = board_of(asked, ()), 0
    pours = {pour.name: pour for pour in asked.pours}
    for one in placed_of(board, asks, at):
        assert empty.fits(one), one
        empty.put(one)
        total += cost_of_placed(asked, pours[one.pour], one)
    left_out = len(pours) - len(empty.placed)
    assert cost == total + left_out * asked.weights.left_out


def test_the_same_lots_give_the_same_week():
    asked = generated(20, 3, 3, 2, hard=True)
    assert np.array_equal(tried(asked)[-1], tried(asked)[-1])
