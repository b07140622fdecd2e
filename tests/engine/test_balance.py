"""Short by measure: what to order, in which truck, and until when."""

from datetime import timedelta

import pytest

from scheduling.engine.balance import balance_by_measure
from scheduling.engine.inputs import BadInput
from scheduling.engine.replan import Logged, Watched, follow
from tests.planned import PLAIN, YD3, at, changed, plan_pour

MINUTE = timedelta(minutes=1)
PLAN = plan_pour(PLAIN, days=20)
LOADS = PLAN.delivery.loads


def left(yards, *, minutes, out=0, request=PLAIN, plan=PLAN):
    """So much measured so long after the start, with the first loads out as planned."""
    now = plan.starts_at + minutes * MINUTE
    loads = plan.delivery.loads
    watched = Watched(planned=loads, rate_m3_h=plan.line.rate_m3_h, age_limit_min=90, cold_joint_min=60)
    logged = [
        Logged(number=one.number, arrived_at=one.arrives_at, started_at=one.starts_at, emptied_at=one.ends_at)
        for one in loads[:out]
    ]
    return balance_by_measure(yards * YD3, now, request, plan, follow(watched, logged, now), now)


def test_half_a_yard_left_when_all_is_out_is_ordered_with_the_plans_allowance_in_the_plants_steps():
    # 0.5 yd3 and 6 %: 0.53, so 0.75 in quarter yards
    found = left(0.5, minutes=120, out=len(LOADS))
    assert found.order_m3 == pytest.approx(0.75 * YD3)
    assert (found.coming_m3, found.load, found.loads) == (0, None, 1)


def test_one_more_truck_is_called_until_the_plants_last_batch():
    # A diary: two yards short, the plant closed; last batch 16:30, so that is the deadline
    shut = changed(supply={"closes_at": at(16, 30)})
    assert left(2, minutes=120, out=len(LOADS), request=shut).by_at == at(16, 30)
    unknown = changed(supply={"closes_at": None})
    assert left(2, minutes=120, out=len(LOADS), request=unknown).by_at is None


def test_what_is_still_to_come_out_is_not_ordered_again():
    rest = sum(load.m3 for load in LOADS[1:])
    unheld = changed(hold_last_load=False)
    found = left(12, minutes=(LOADS[0].ends_at - PLAN.starts_at) / MINUTE, out=1, request=unheld)
    assert found.coming_m3 == pytest.approx(rest)
    assert found.order_m3 == 0
    assert found.loads == 0


def test_a_load_half_out_counts_for_its_other_half():
    half = LOADS[-1].starts_at + (LOADS[-1].ends_at - LOADS[-1].starts_at) / 2
    found = left(9, minutes=(half - PLAN.starts_at) / MINUTE, out=len(LOADS))
    assert found.coming_m3 == pytest.approx(LOADS[-1].m3 / 2, rel=0.01)


def test_the_load_held_back_brings_what_is_short_until_it_is_batched():
    # NRMCA CIP 8: measured while the last two or three trucks can be changed
    last = LOADS[-1]
    batched = (last.batch_at - PLAN.starts_at) / MINUTE
    found = left(11, minutes=batched - 1)
    assert (found.load, found.by_at) == (last.number, last.batch_at)
    assert found.coming_m3 == pytest.approx(sum(load.m3 for load in LOADS[:-1]), rel=0.05)
    loading = left(11, minutes=batched + 1)
    assert loading.load is None
    assert loading.coming_m3 == pytest.approx(found.coming_m3 + last.m3, rel=0.05)


def test_more_than_a_truck_carries_takes_two():
    assert left(12, minutes=120, out=len(LOADS)).loads == 2  # trucks of 9 yd3


def test_nobody_measures_less_than_nothing():
    with pytest.raises(BadInput):
        left(-1, minutes=60)
