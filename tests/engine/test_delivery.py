from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.delivery import (
    DeliveryRun,
    LoadAge,
    age_at,
    deliver,
    last_good_moment,
    lindley,
    load_acceptable,
)
from scheduling.engine.inputs import BadInput, Finding, Place, Severity, Supply
from scheduling.engine.rounds import evenly

YARD_M3 = 0.764554857984  # exact, from the international yard
CHICAGO = ZoneInfo("America/Chicago")
SEVEN = datetime(2026, 6, 10, 7, tzinfo=CHICAGO)


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 6, 10, hour, minute, tzinfo=CHICAGO)


def supply(**changes) -> Supply:
    return Supply(**{"truck_m3": 8.0, "order_step_m3": 0.25, "haul_min": 25.0, **changes})


def run(
    count: int, unload: float, interval: float, *, starts_at=SEVEN, place: Place | None = None, **changes
) -> DeliveryRun:
    """`count` loads of 8 m3, each emptied in `unload` minutes."""
    rate = 60 * 8 / unload
    return deliver(
        (8.0,) * count, evenly(interval, count), starts_at, rate, supply(**changes), place or Place()
    )


def finding(made: DeliveryRun, code: str) -> Finding | None:
    return next((one for one in made.findings if one.code == code), None)


# --- waiting in line


def test_waits_and_idles_follow_the_recursion():
    # Lindley 1952; worked by hand
    waits, idles = lindley((12, 20, 14, 9, 25, 10, 12), (15,) * 6)
    assert waits == (0, 0, 5, 4, 0, 10, 5)
    assert idles == (3, 0, 0, 2, 0, 0)
    assert 6 * 15 + waits[-1] + 12 == 107


@pytest.mark.parametrize(("services", "gaps"), [((), ()), ((5,), (5,)), ((5, 5), ())])
def test_services_and_gaps_that_do_not_belong_together_are_refused(services, gaps):
    with pytest.raises(BadInput):
        lindley(services, gaps)


LOADS = st.lists(st.floats(1, 10), min_size=1, max_size=30)
SUPPLIES = st.builds(
    supply,
    trucks=st.none() | st.integers(1, 8),
    plant_rate_m3_h=st.none() | st.floats(20, 120),
    loading_min=st.floats(0, 12),
    haul_min=st.floats(0, 60),
    return_min=st.none() | st.floats(0, 60),
    washout_min=st.floats(0, 15),
)
PLACES = st.builds(Place, one_truck_at_a_time=st.booleans())


@given(loads=LOADS, interval=st.floats(0, 60), rate=st.floats(5, 100), supply=SUPPLIES, place=PLACES)
def test_every_run_keeps_the_rules_of_plant_road_site_and_fleet(loads, interval, rate, supply, place):
    made = deliver(loads, evenly(interval, len(loads)), SEVEN, rate, supply, place).loads
    slack = timedelta(milliseconds=1)

    def minutes(value: float) -> timedelta:
        return timedelta(minutes=value)

    for load in made:
        assert load.arrives_at >= SEVEN + minutes((load.number - 1) * interval) - slack
        assert load.arrives_at - load.batch_at >= minutes(supply.loading_min + supply.haul_min) - slack
        assert load.starts_at >= load.arrives_at - slack
        assert load.age_min == pytest.approx((load.ends_at - load.batch_at) / minutes(1), abs=1e-4)
    changeover = minutes(5 if place.one_truck_at_a_time else 0)
    for before, after in pairwise(made):
        assert after.batch_at - before.batch_at >= minutes(supply.loading_min) - slack
        if supply.plant_rate_m3_h:
            assert (
                after.batch_at - before.batch_at >= minutes(60 * before.m3 / supply.plant_rate_m3_h) - slack
            )
        assert after.starts_at - before.ends_at >= changeover - slack
    back = supply.washout_min + (supply.haul_min if supply.return_min is None else supply.return_min)
    for truck in {load.truck for load in made}:
        rounds = [load for load in made if load.truck == truck]
        for before, after in pairwise(rounds):
            assert after.batch_at >= before.ends_at + minutes(back) - slack
    assert {load.truck for load in made} == set(range(1, max(load.truck for load in made) + 1))
    assert supply.trucks is None or max(load.truck for load in made) <= supply.trucks


@given(loads=LOADS, interval=st.floats(0, 60), rate=st.floats(5, 100), supply=SUPPLIES)
def test_waits_on_site_are_those_of_a_single_line(loads, interval, rate, supply):
    made = deliver(loads, evenly(interval, len(loads)), SEVEN, rate, supply, Place()).loads
    gaps = [(b.arrives_at - a.arrives_at) / timedelta(minutes=1) for a, b in pairwise(made)]
    waits, idles = lindley([60 * m3 / rate for m3 in loads], gaps)
    assert [load.truck_wait_min for load in made] == pytest.approx(waits, abs=1e-3)
    assert [load.crew_wait_min for load in made[1:]] == pytest.approx(idles, abs=1e-3)


# --- age


def test_six_trucks_sent_at_once_age_by_one_unloading_each_and_exactly_the_limit_passes():
    # a contractor's account of trucks staged on the street; 90 min: ASTM C94 up to 2021
    made = run(6, 15, 0, loading_min=0, haul_min=30)
    assert [load.age_min for load in made.loads] == pytest.approx([45, 60, 75, 90, 105, 120])
    stop = finding(made, "load_too_old")
    assert stop.severity == Severity.STOP
    assert stop.facts["loads"] == "5,6"
    assert stop.facts["worst_age_min"] == pytest.approx(120)
    assert stop.facts["age_limit_min"] == 90
    assert "C94" in stop.source


def test_the_same_trucks_an_unloading_apart_all_finish_young():
    made = run(6, 15, 15, loading_min=0, haul_min=30)
    assert [load.age_min for load in made.loads] == pytest.approx([45] * 6)
    assert finding(made, "load_too_old") is None


@pytest.mark.parametrize("tenths", [1, 3, 7])
def test_age_of_exactly_the_limit_passes_though_its_sum_is_noisy(tenths):
    parts = [tenths / 10] * 3  # 0.1 + 0.1 + 0.1 is a little more than 0.3
    made = run(1, parts[0], 0, loading_min=parts[1], haul_min=parts[2], age_limit_min=3 * tenths / 10)
    assert finding(made, "load_too_old") is None


def test_spacing_slightly_too_tight_adds_up_over_the_day():
    # arithmetic: load n waits 4 (n - 1) min
    made = run(11, 16, 12, loading_min=5, haul_min=30)
    assert made.loads[9].age_min == pytest.approx(87)
    assert made.loads[10].age_min == pytest.approx(91)
    stop = finding(made, "load_too_old")
    assert stop.facts["loads"] == "11"
    assert stop.facts["passing_interval_min"] == 16
    assert finding(run(11, 16, 16, loading_min=5, haul_min=30), "load_too_old") is None


def test_no_interval_is_offered_when_the_load_itself_is_too_large_for_its_limit():
    # one 6 yd load by barrow at 1.5 yd/h with 60 min left: 240 min; loads up to 1.5 yd would do (arithmetic)
    made = deliver((6 * YARD_M3,), (0,), SEVEN, 1.5 * YARD_M3, supply(loading_min=10, haul_min=20), Place())
    facts = finding(made, "load_too_old").facts
    assert facts["worst_age_min"] == pytest.approx(270)
    assert facts["passing_interval_min"] is None
    assert facts["largest_load_m3"] == pytest.approx(1.5 * YARD_M3)


def test_no_load_is_small_enough_when_the_haul_alone_eats_the_limit():
    facts = finding(run(2, 10, 20, haul_min=100), "load_too_old").facts
    assert facts["largest_load_m3"] == 0


@given(loads=LOADS, interval=st.floats(0, 30), rate=st.floats(5, 100), supply=SUPPLIES, place=PLACES)
def test_the_interval_offered_makes_every_load_pass(loads, interval, rate, supply, place):
    stop = finding(deliver(loads, evenly(interval, len(loads)), SEVEN, rate, supply, place), "load_too_old")
    if stop is None:
        return
    offered = stop.facts["passing_interval_min"]
    if offered is None:
        assert max(loads) > stop.facts["largest_load_m3"]
    else:
        assert (
            finding(deliver(loads, evenly(offered, len(loads)), SEVEN, rate, supply, place), "load_too_old")
            is None
        )


# --- times


def test_a_metric_pour_by_pump_runs_as_the_published_example():
    # a published teaching example: 120 m3 in 8 m3 trucks at 32 m3/h, one every 15 min
    made = deliver((8.0,) * 15, evenly(15, 15), SEVEN, 32, supply(), Place())
    assert made.loads[-1].arrives_at - made.first_at == timedelta(hours=3, minutes=30)
    assert made.ends_at - made.first_at == timedelta(hours=3, minutes=45)
    assert made.truck_wait_min == made.crew_wait_min == 0
    assert made.findings == ()


def test_ten_trucks_every_quarter_hour_end_at_half_past_nine():
    # a builder's account: ten 10 yd trucks every 15 min
    made = deliver((10 * YARD_M3,) * 10, evenly(15, 10), SEVEN, 40 * YARD_M3, supply(), Place())
    assert made.loads[-1].starts_at == at(9, 15)
    assert made.ends_at == at(9, 30)


def test_moments_of_one_load_run_back_from_its_arrival():
    load = run(1, 10, 10, loading_min=5, haul_min=25).loads[0]
    assert load.batch_at == at(6, 30)
    assert load.leaves_at == at(6, 35)
    assert load.arrives_at == load.starts_at == at(7)
    assert load.ends_at == at(7, 10)


def test_minutes_are_real_minutes_when_the_clocks_go_back():
    # tz database: Chicago falls back at 02:00 on 2026-11-01
    starts_at = datetime(2026, 11, 1, 0, 30, tzinfo=CHICAGO)
    made = run(4, 60, 60, starts_at=starts_at)
    assert made.first_at == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)
    assert made.ends_at == datetime(2026, 11, 1, 9, 30, tzinfo=UTC)


def test_a_load_kept_waiting_for_its_truck_comes_late_and_the_next_ones_keep_their_times():
    # round trip 5 + 20 + 10 + 5 + 20 = 60 min, two trucks asked for every 20
    made = run(4, 10, 20, trucks=2, loading_min=5, haul_min=20, washout_min=5)
    assert [load.arrives_at for load in made.loads] == [at(7), at(7, 20), at(8), at(8, 20)]
    assert [load.truck for load in made.loads] == [1, 2, 1, 2]
    assert [load.crew_wait_min for load in made.loads] == pytest.approx([0, 10, 30, 10])


def test_the_plant_loads_one_truck_at_a_time():
    made = run(3, 5, 5, loading_min=12)
    assert [load.arrives_at for load in made.loads] == [at(7), at(7, 12), at(7, 24)]


def test_the_plant_makes_no_more_than_its_rate():
    made = run(3, 5, 5, plant_rate_m3_h=24)
    assert [load.batch_at - made.loads[0].batch_at for load in made.loads] == [
        timedelta(minutes=0),
        timedelta(minutes=20),
        timedelta(minutes=40),
    ]


def test_a_site_for_one_truck_needs_a_changeover_between_two():
    made = run(3, 10, 10, place=Place(one_truck_at_a_time=True))
    starts = [load.starts_at for load in made.loads]
    assert starts == [at(7), at(7, 15), at(7, 30)]
    assert [load.truck_wait_min for load in made.loads] == pytest.approx([0, 5, 10])
    assert [load.crew_wait_min for load in made.loads] == pytest.approx([0, 5, 5])


# --- the plant's day


def test_a_load_batched_at_the_moment_of_closing_is_still_made():
    made = run(3, 20, 30, closes_at=at(7, 30))
    assert made.loads[-1].batch_at == at(7, 30)
    assert finding(made, "plant_closed") is None


def test_loads_that_would_batch_after_closing_are_named_with_the_start_that_would_do():
    made = run(4, 20, 30, closes_at=at(7, 15))
    stop = finding(made, "plant_closed")
    assert stop.severity == Severity.STOP
    assert stop.facts["loads"] == "3,4"
    assert stop.facts["last_batch_at"] == at(8)
    latest = stop.facts["latest_start_at"]
    assert latest == at(6, 15)
    assert finding(run(4, 20, 30, starts_at=latest, closes_at=at(7, 15)), "plant_closed") is None


def test_loads_that_would_batch_before_opening_are_named_with_the_start_that_would_do():
    made = run(4, 20, 30, opens_at=at(7, 10))
    stop = finding(made, "plant_not_open")
    assert stop.severity == Severity.STOP
    assert stop.facts["loads"] == "1,2"
    assert stop.facts["earliest_start_at"] == at(7, 40)
    assert finding(run(4, 20, 30, starts_at=at(7, 40), opens_at=at(7, 10)), "plant_not_open") is None


def test_plant_hours_are_compared_as_moments_not_as_clock_faces():
    # tz database: New York is an hour ahead of Chicago
    closes_at = datetime(2026, 6, 10, 8, 0, tzinfo=ZoneInfo("America/New_York"))
    assert finding(run(2, 20, 31, closes_at=closes_at), "plant_closed").facts["loads"] == "2"


def test_the_deadline_for_a_balance_load_is_the_last_batch():
    note = finding(run(2, 20, 20, closes_at=at(16, 30)), "balance_deadline")
    assert note.severity == Severity.NOTE
    assert note.facts == {"call_by_at": at(16, 30)}
    assert finding(run(2, 20, 20), "balance_deadline") is None


def balance_after_close(loads_yd: tuple[float, ...], interval: float) -> Finding | None:
    """From 15:00, 20 min away, last batch at 16:30."""
    loads_m3 = [yards * YARD_M3 for yards in loads_yd]
    made = deliver(
        loads_m3,
        evenly(interval, len(loads_m3)),
        at(15),
        30 * YARD_M3,
        supply(haul_min=20, closes_at=at(16, 30)),
        Place(),
    )
    return finding(made, "balance_after_close")


def test_an_afternoon_pour_that_learns_what_is_short_after_the_last_batch_is_flagged():
    # a home diary: 10 + 9 + 7 yd from 15:00, about 2 yd short, plant closed
    caution = balance_after_close((10, 9, 7), 60)
    assert caution.severity == Severity.CAUTION
    assert caution.facts["call_by_at"] == at(16, 30)
    assert caution.facts["last_full_load_ends_at"] == at(17, 14)
    assert caution.facts["latest_start_at"] == at(14, 16)


def test_a_balance_known_just_before_the_last_batch_is_not_flagged():
    assert balance_after_close((10, 9, 7), 38) is None
    assert balance_after_close((10, 9, 7), 39) is not None


def test_the_small_last_load_is_the_balance_itself():
    assert balance_after_close((10, 10, 10, 2), 35) is None
    assert balance_after_close((10, 10, 10, 6), 35) is not None


# --- waiting worth saying


def test_more_than_one_truck_waiting_on_average_is_worth_saying():
    caution = finding(run(11, 16, 12), "trucks_wait")
    assert caution.severity == Severity.CAUTION
    assert caution.facts["truck_wait_min"] == pytest.approx(220)
    assert caution.facts["longest_wait_min"] == pytest.approx(40)


def test_one_truck_waiting_while_another_discharges_is_normal():
    # a builder's account: about three present, one washing, one discharging, one waiting
    ten = deliver((8.0,) * 10, evenly(15, 10), SEVEN, 32, supply(), Place())
    three = run(3, 15, 0, loading_min=0)
    assert finding(ten, "trucks_wait") is None
    assert finding(three, "trucks_wait") is None


# --- a load as it came


def test_a_load_is_good_until_its_limit_and_no_longer():
    # 90 min: ASTM C94 up to 2021; batched 06:40
    batch_at = at(6, 40)
    assert last_good_moment(batch_at, 90) == at(8, 10)
    assert load_acceptable(batch_at, at(8, 10), 90) is LoadAge.GOOD
    assert load_acceptable(batch_at, at(8, 10) + timedelta(microseconds=1), 90) is LoadAge.TOO_OLD
    assert age_at(batch_at, at(9)) == 140
    assert load_acceptable(batch_at, at(9), 90) is LoadAge.TOO_OLD


def test_a_load_that_came_an_hour_early_is_as_old_as_its_ticket_says():
    assert age_at(at(5, 10), at(7)) == 110


def test_a_missing_ticket_time_is_never_age_nought():
    assert age_at(None, SEVEN) is None
    assert load_acceptable(None, SEVEN, 90) is LoadAge.AGE_UNKNOWN


def test_a_ticket_time_still_to_come_tells_no_age():
    assert age_at(at(7, 1), SEVEN) is None
    assert load_acceptable(at(16, 40), at(9), 90) is LoadAge.AGE_UNKNOWN


def test_age_runs_in_real_minutes_when_the_clocks_go_back():
    # tz database: Chicago falls back at 02:00 on 2026-11-01
    before = datetime(2026, 11, 1, 1, 30, fold=0, tzinfo=CHICAGO)
    after = datetime(2026, 11, 1, 1, 15, fold=1, tzinfo=CHICAGO)
    assert age_at(before, after) == 45


def test_moments_without_a_zone_are_refused():
    naive = datetime(2026, 6, 10, 7)
    with pytest.raises(BadInput):
        age_at(naive, SEVEN)
    with pytest.raises(BadInput):
        run(1, 10, 10, starts_at=naive)
    with pytest.raises(BadInput, match="closes_at"):
        run(1, 10, 10, closes_at=naive)


@pytest.mark.parametrize(("loads", "interval", "rate"), [((), 10, 30), ((8, 0), 10, 30), ((8,), 10, 0)])
def test_nonsense_is_refused(loads, interval, rate):
    with pytest.raises(BadInput):
        deliver(loads, evenly(interval, len(loads)), SEVEN, rate, supply(), Place())
