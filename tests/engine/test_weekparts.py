from concurrent.futures import ProcessPoolExecutor

import pytest

from scheduling.engine.week import propose_week
from scheduling.engine.weekboard import greedy
from scheduling.engine.weekparts import Subweek, Tries, solve_subweek, spread_over
from scheduling.engine.weekproblem import cost_of_week
from tests.weeks import generated


@pytest.mark.slow
def test_a_pool_of_processes_finds_the_week_that_is_found_here():
    weeks = [generated(20, 3, 3, seed, hard=True) for seed in (7, 8)]
    with ProcessPoolExecutor(2) as pool:
        spread = [propose_week(one, effort=1.0, solve_all=spread_over(pool, one)) for one in weeks]
    assert spread == [propose_week(one, effort=1.0) for one in weeks]


@pytest.mark.slow
def test_tries_better_a_week_and_say_what_it_costs():
    asked = generated(20, 3, 3, 4, hard=True)
    board = greedy(asked)
    part = solve_subweek(Subweek(asked, tuple(board.placed.values()), (), tries=Tries(5, 200, 0.0, 1.0)))
    assert part is not None
    assert part.cost == cost_of_week(asked, {one.pour: one for one in part.placed})
    assert part.cost < cost_of_week(asked, board.placed)
