"""Arrivals as they are asked of the plant, load by load."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import BadInput, Place, Supply

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)


def at(hour, minute=0):
    return SEVEN + timedelta(hours=hour - 7, minutes=minute)


def supply(**changes) -> Supply:
    return Supply(truck_m3=8.0, order_step_m3=0.25, haul_min=25.0, **changes)


@pytest.mark.parametrize("asked", [(0,), (0, 20), (0, 30, 20), (0, 10, 20, 30)])
def test_asked_arrivals_are_one_for_each_load_and_never_go_back(asked):
    with pytest.raises(BadInput):
        deliver((8, 8, 8), asked, SEVEN, 30, supply(), Place())


def test_the_first_ones_may_be_asked_for_together():
    # by hand: loads of 16 min, two at the start, the next after 20 min
    made = deliver((8.0,) * 3, (0, 0, 20), SEVEN, 30, supply(trucks=3), Place()).loads
    assert [load.asked_at for load in made] == [SEVEN, SEVEN, at(7, 20)]
    assert [load.starts_at for load in made] == [SEVEN, at(7, 16), at(7, 32)]
