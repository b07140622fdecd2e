import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from scheduling.engine.descent import descend


def bowl(matrix, aim):
    """Half the squared distance of matrix times x from the aim."""

    def cost_and_slope(x):
        off = matrix @ x - aim
        return float(off @ off) / 2, matrix.T @ off

    return cost_and_slope


def test_the_bottom_of_a_bowl_is_found():
    aim = np.array([3.0, 1.0, 2.0])
    assert descend(
        bowl(np.diag([1, 5, 0.5]), np.diag([1, 5, 0.5]) @ aim), np.zeros(3), 1.0, 60
    ) == pytest.approx(aim, abs=1e-2)


@given(seed=st.integers(0, 1000), size=st.integers(1, 12))
def test_it_ends_as_low_as_an_exact_solver_with_nothing_below_zero(seed, size):
    luck = np.random.default_rng(seed)
    matrix, aim = luck.normal(size=(size + 4, size)), luck.normal(size=size + 4)
    cost_and_slope = bowl(matrix, aim)
    found = descend(cost_and_slope, np.ones(size), 1.0, 200)
    exact = lsq_linear(matrix, aim, bounds=(0, np.inf)).x
    assert found.min() >= 0
    assert cost_and_slope(found)[0] <= cost_and_slope(exact)[0] * 1.01 + 1e-3


def test_a_start_at_the_bottom_stays_there():
    start = np.array([2.0, 0.0])
    assert np.array_equal(descend(bowl(np.eye(2), np.array([2.0, -5.0])), start, 1.0, 20), start)


def test_no_step_leads_uphill():
    # a kink that no slope tells of
    def kinked(x):
        return float(np.abs(x - 1).sum()), np.sign(x - 1)

    for start in (np.array([1.0, 4.0]), np.array([0.2, 0.1])):
        assert kinked(descend(kinked, start, 3.0, 10))[0] <= kinked(start)[0]


def test_it_asks_no_more_than_it_may():
    asked = []

    def counted(x):
        asked.append(x)
        return bowl(np.diag([1.0, 1000.0]), np.array([5.0, 5.0]))(x)

    descend(counted, np.zeros(2), 1.0, 3)
    assert len(asked) <= 1 + 3 * 7
