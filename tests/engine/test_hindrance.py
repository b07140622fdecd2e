"""What makes work slower does so by degrees, and an ordinary slab is not slowed at all."""

import pytest

from scheduling.engine.hindrance import (
    CHUTING,
    PUMPING,
    RAKING,
    STRIKING,
    WHEELING,
    depth_factor,
)
from scheduling.engine.inputs import Method, Placing, Reinforcement

INCH_M = 0.0254
WORKS = {"chute": CHUTING, "pump": PUMPING, "rake": RAKING, "strike": STRIKING, "wheel": WHEELING}


def slab(**fields):
    return Placing(method=Method.CHUTE, people=5, **fields)


@pytest.mark.parametrize("work", WORKS.values(), ids=WORKS)
def test_an_ordinary_level_plain_slab_is_not_slowed(work):
    assert work.factor(slab()) == work.factor(slab(slump_mm=100.0)) == work.factor(slab(slope=0.02)) == 1.0


@pytest.mark.parametrize("work", WORKS.values(), ids=WORKS)
def test_more_of_a_hindrance_never_makes_work_faster(work):
    for field, values in (("slump_mm", (150.0, 100.0, 60.0, 20.0)), ("slope", (0.0, 0.04, 0.08, 0.3))):
        factors = [work.factor(slab(**{field: value})) for value in values]
        assert factors == sorted(factors, reverse=True)
    steel = [work.factor(slab(reinforcement=kind)) for kind in Reinforcement]
    assert steel == sorted(steel, reverse=True)


def test_the_points_of_the_tables_are_kept_and_between_them_it_runs_straight():
    assert RAKING.factor(slab(slump_mm=50.0)) == pytest.approx(0.7)
    assert RAKING.factor(slab(slump_mm=62.5)) == pytest.approx((0.7 + 0.85) / 2)
    assert STRIKING.factor(slab(slope=0.075)) == pytest.approx((0.9 + 0.75) / 2)
    assert RAKING.factor(slab(slump_mm=50.0, fibres=True)) == pytest.approx(0.7 * 0.9)


def test_a_raker_grades_a_thick_slab_with_less_raking_for_each_cubic_metre():
    assert depth_factor(4 * INCH_M) == depth_factor(5 * INCH_M) == depth_factor(6 * INCH_M) == 1
    assert depth_factor(0.03) == 0.8 < depth_factor(3 * INCH_M) < 1
    assert 1 < depth_factor(7 * INCH_M) < depth_factor(9 * INCH_M) < depth_factor(1.0) == 1.3
