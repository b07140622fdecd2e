import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.costs import fees_for, minutes_over, run_fees, wait_fee
from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import BadInput, Costs, Counted, Place, Supply, TruckWaitRule

YARD_M3 = 0.764554857984  # exact, from the international yard
NINE_YARDS_M3 = 9 * YARD_M3
QUARTERS = {"free_min": 45, "price": 50, "block_min": 15}


def per_yard(minutes: float, **price) -> TruckWaitRule:
    return TruckWaitRule(free_min_per_m3=minutes / YARD_M3, **price)


@pytest.mark.parametrize(
    ("rule", "fee"),
    [
        # published terms of five suppliers; 9 yards, 80 minutes on site
        pytest.param(per_yard(6, price=1), 26.00, id="6 min a yard, then 1 a minute"),
        pytest.param(per_yard(7, price=130, block_min=60), 36.83, id="7 min a yard, then 130 an hour"),
        pytest.param(per_yard(10, price=2), 0, id="10 min a yard"),
        pytest.param(TruckWaitRule(**QUARTERS, counted=Counted.STARTED), 150, id="45 min, quarters begun"),
        pytest.param(TruckWaitRule(**QUARTERS, counted=Counted.FULL), 100, id="45 min, full quarters"),
    ],
)
def test_nine_yards_eighty_minutes_on_site_cost_what_each_supplier_says(rule, fee):
    assert wait_fee(rule, NINE_YARDS_M3, 80) == pytest.approx(fee, abs=0.005)


def test_forty_free_minutes_a_truck_leave_forty_over():
    # a supplier's published terms
    assert minutes_over(TruckWaitRule(free_min=40, price=1), NINE_YARDS_M3, 80) == pytest.approx(40)


@pytest.mark.parametrize(
    ("on_site", "started", "full"), [(45, 0, 0), (45.01, 50, 0), (60, 50, 50), (60.01, 100, 50), (10, 0, 0)]
)
def test_blocks_turn_exactly_at_their_ends(on_site, started, full):
    for counted, fee in ((Counted.STARTED, started), (Counted.FULL, full)):
        assert wait_fee(TruckWaitRule(**QUARTERS, counted=counted), 7, on_site) == fee


def test_rounding_noise_at_a_blocks_end_costs_nothing():
    over = np.array([0.1 + 0.2 - 0.3 + 15, 15 - 1e-12])
    assert fees_for(TruckWaitRule(**QUARTERS, counted=Counted.STARTED), over).tolist() == [50, 50]
    assert fees_for(TruckWaitRule(**QUARTERS, counted=Counted.FULL), over).tolist() == [50, 50]


@given(over=st.floats(0, 500), block=st.floats(1, 60), price=st.floats(0, 200))
def test_full_blocks_cost_no_more_than_exact_minutes_and_started_ones_no_less(over, block, price):
    full, exact, started = (
        fees_for(TruckWaitRule(price=price, block_min=block, counted=counted), np.array([over]))[0]
        for counted in (Counted.FULL, Counted.EXACT, Counted.STARTED)
    )
    assert full <= exact + 1e-3
    assert exact <= started + 1e-3
    assert started - full <= price + 1e-9


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"price": -1}, "price"),
        ({"price": 1, "free_min": -1}, "free_min"),
        ({"price": 1, "free_min_per_m3": math.nan}, "free_min_per_m3"),
        ({"price": 1, "block_min": 0}, "block_min"),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(changes, field):
    with pytest.raises(BadInput) as refused:
        TruckWaitRule(**changes)
    assert refused.value.field == field


@pytest.mark.parametrize(("load", "on_site"), [(0, 10), (7, -1), (7, math.inf)])
def test_a_truck_that_makes_no_sense_is_refused(load, on_site):
    with pytest.raises(BadInput):
        wait_fee(TruckWaitRule(price=1), load, on_site)


@pytest.mark.parametrize(
    "name", ["crew_per_h", "truck_per_h", "rejected_load", "cold_joint", "overtime_per_h"]
)
def test_a_cost_below_nothing_is_refused(name):
    with pytest.raises(BadInput) as refused:
        Costs(**{name: -1})
    assert refused.value.field == name


def test_overtime_begins_at_a_moment_with_a_zone():
    with pytest.raises(BadInput):
        Costs(overtime_from_at=datetime(2026, 6, 10, 15))


def test_a_run_is_charged_load_by_load_for_its_time_on_site():
    # worked by hand: 20 min to empty each; the second waits 10, so 30 on site with 25 free, at 2 a minute
    supply = Supply(truck_m3=7.5, order_step_m3=0.25, haul_min=20)
    start = datetime(2026, 6, 10, 12, tzinfo=UTC)
    run = deliver((7.5, 7.5), (0, 10), start, 22.5, supply, Place())
    assert run_fees(TruckWaitRule(free_min=25, price=2), run.loads) == (0.0, pytest.approx(10.0))
