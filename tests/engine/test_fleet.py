from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pytest

from scheduling.engine.chance import Draws, draw_days
from scheduling.engine.fleet import fleet_for
from scheduling.engine.inputs import Place, Supply, Uncertainty
from scheduling.engine.queueing import Round, round_for
from scheduling.engine.spacing import spacing_for

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)


def plain_day(loads, unload) -> Draws:
    return Draws(np.zeros((loads, 1)), np.full((loads, 1), float(unload)), (float(unload),) * loads, 0.0)


def test_seven_trucks_keep_up_with_a_round_trip_of_65_minutes():
    # a producer's questions and answers: load 5, check 5, travel 20, unload 10, wash 5, back 20
    turn = Round(lead_min=30, back_min=25, changeover_min=0, plant_min=(5.0,) * 15)
    fleet = fleet_for(np.arange(15) * 10.0, turn, plain_day(15, 10))
    assert fleet.enough == 7
    assert fleet.crew_wait_min[-1] == 0
    assert fleet.crew_wait_min[0] == 14 * 55  # a single truck: the whole round each time


def test_there_are_no_more_trucks_than_loads():
    turn = Round(lead_min=90, back_min=90, changeover_min=0, plant_min=(5.0,) * 3)
    assert fleet_for(np.arange(3) * 10.0, turn, plain_day(3, 10)).enough == 3
    assert fleet_for(np.zeros(1), turn, plain_day(1, 10)).enough == 1


def test_the_supplys_own_number_does_not_count():
    short = Round(lead_min=30, back_min=25, changeover_min=0, plant_min=(5.0,) * 15, trucks=2)
    assert fleet_for(np.arange(15) * 10.0, short, plain_day(15, 10)).enough == 7


def test_each_truck_but_the_last_was_worth_it():
    # 12 loads, every 18 min, 16 to place, 6 + 25 + 22 min away
    draws = draw_days((8.0,) * 12, 30.0, 25.0, Uncertainty(), 4000, 1)
    turn = Round(lead_min=31, back_min=22, changeover_min=0, plant_min=(6.0,) * 12)
    fleet = fleet_for(np.arange(12) * 18.0, turn, draws)
    waits = fleet.crew_wait_min
    assert fleet.enough == len(waits) == 5
    assert all(fewer - more > 2 for fewer, more in pairwise(waits))
    assert waits[0] > 5 * waits[-1]


def test_luck_asks_for_no_fewer_trucks_than_arithmetic():
    supply = Supply(truck_m3=8.0, order_step_m3=0.25, haul_min=25.0)
    loads = (7.0,) * 14
    needed = spacing_for(loads, 30.0, supply, Place()).trucks_needed
    draws = draw_days(loads, 30.0, 25.0, Uncertainty(), 1000, 1)
    fleet = fleet_for(np.arange(14) * 14.0, round_for(loads, supply, Place(), 0, SEVEN), draws)
    assert needed <= fleet.enough <= needed + 2
    assert fleet.crew_wait_min == pytest.approx(sorted(fleet.crew_wait_min, reverse=True))
