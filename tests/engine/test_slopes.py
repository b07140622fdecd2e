from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from scheduling.engine.arrivals import Question
from scheduling.engine.chance import draw_days
from scheduling.engine.inputs import Costs, Place, Supply, Uncertainty
from scheduling.engine.queueing import round_for
from scheduling.engine.stakes import stakes_for

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
NUDGE_MIN = 1e-6


def question(trucks, passing, busy, spread) -> Question:
    luck = np.random.default_rng(3)
    loads = tuple(luck.uniform(4, 8, 10))
    supply = Supply(truck_m3=8, order_step_m3=0.25, haul_min=15, trucks=trucks, plant_rate_m3_h=50)
    uncertainty = Uncertainty(overtaking_chance=passing, unload_cv=spread)
    turn = round_for(loads, supply, Place(), 1.0, SEVEN)
    costs = Costs(overtime_from_at=SEVEN + timedelta(minutes=100))
    draws = draw_days(loads, 30, 15, uncertainty, 200, 1)
    return Question(replace(turn, plant_busy=busy), draws, stakes_for(loads, costs, 60, 25, SEVEN))


@pytest.mark.parametrize("trucks", [None, 2, 3, 5])
@pytest.mark.parametrize("passing", [0.0, 0.3, 1.0])
@pytest.mark.parametrize(("busy", "spread"), [((), 0.3), (((-20.0, -5.0), (30.0, 50.0)), 0.3), ((), 0.0)])
def test_the_slopes_are_those_of_small_differences(trucks, passing, busy, spread):
    asked = question(trucks, passing, busy, spread)
    intervals = np.random.default_rng(5).uniform(4, 20, 9)
    slopes = asked.eased(intervals)[1]
    for number, slope in enumerate(slopes):
        nudge = NUDGE_MIN * (np.arange(9) == number)
        difference = asked.eased(intervals + nudge)[0] - asked.eased(intervals - nudge)[0]
        assert slope == pytest.approx(difference / (2 * NUDGE_MIN), abs=1e-4, rel=1e-5)


def test_a_single_truck_comes_when_it_can_whatever_is_asked():
    assert np.all(question(1, 0.0, (), 0.3).eased(np.full(9, 5.0))[1] == 0)
