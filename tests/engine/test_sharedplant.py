"""Trucks of a plant that also loads other pours of ours."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import BadInput, Place, Supply, Window
from scheduling.engine.rounds import after_others
from scheduling.engine.sharedplant import spans_from

START = datetime(2026, 6, 10, 12, tzinfo=UTC)
# 5 min to load and 20 on the road: a load asked at the start is batched 25 min before
SUPPLY = Supply(truck_m3=7.5, order_step_m3=0.25, loading_min=5, haul_min=20)


def busy(*minutes: float) -> tuple[Window, ...]:
    starts = (START + timedelta(minutes=minute) for minute in minutes)
    return tuple(Window(start, start + timedelta(minutes=5)) for start in starts)


def run(*minutes: float):
    return deliver((7.5, 7.5, 7.5), (0, 20, 40), START, 22.5, SUPPLY, Place(), busy(*minutes))


def test_a_load_waits_until_the_plant_has_loaded_the_others():
    # worked by hand: the second load, due at the plant at -5, meets a truck loaded from -7 to -2
    second = run(-7).loads[1]
    assert second.batch_at == START + timedelta(minutes=-2)
    assert second.arrives_at == START + timedelta(minutes=23)
    assert second.crew_wait_min == pytest.approx(3)


def test_a_truck_loaded_just_before_or_after_is_in_nobodys_way():
    assert run(-10, 0).loads == run().loads


def test_what_is_put_off_may_run_into_the_next_of_the_others():
    # at -5 it meets one until -2, and then the one from -2 to 3
    assert run(-7, -2).loads[1].batch_at == START + timedelta(minutes=3)


def test_the_others_are_told_with_the_loads_they_put_off():
    (finding,) = (f for f in run(-7, 15).findings if f.code == "plant_loads_others")
    assert finding.facts == {"other_loads": 2, "loads": "2,3", "held_min": pytest.approx(5)}
    assert "plant_loads_others" not in {f.code for f in run(-90, 300).findings}


def test_others_far_from_these_hours_change_nothing():
    assert run(-90, 300) == run()


def test_spans_come_in_order_and_a_moment_without_zone_is_refused():
    assert spans_from(busy(10, -7), START) == ((-7, -2), (10, 15))
    naive = datetime(2026, 6, 10, 12)
    with pytest.raises(BadInput) as caught:
        spans_from([Window(naive, naive + timedelta(minutes=5))], START)
    assert caught.value.field == "plant_busy"


def test_putting_off_takes_the_plants_own_minutes_into_account():
    assert after_others(0.0, 5.0, ((4.0, 9.0),)) == 9.0
    assert after_others(0.0, 4.0, ((4.0, 9.0),)) == 0.0
