"""A pour under way: what logged trucks make of the rest."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import BadInput, Place, Severity, Supply
from scheduling.engine.replan import Logged, Stand, Watched, follow, placed_rate_m3_h
from scheduling.engine.rounds import evenly

YD3_M3 = 0.764554857984  # exact, from the international yard
SEVEN = datetime(2026, 7, 8, 12, tzinfo=UTC)


def at(hour, minute=0):
    """By the site's clock, five hours behind UTC."""
    return SEVEN + timedelta(hours=hour - 7, minutes=minute)


def watched(loads=6, load_m3=8.0, interval=20, unload=15, starts_at=SEVEN, age_limit=90, gap=60, **more):
    rate_m3_h = 60 * load_m3 / unload
    supply = Supply(truck_m3=12, order_step_m3=0.25, haul_min=25, age_limit_min=age_limit)
    made = deliver((load_m3,) * loads, evenly(interval, loads), starts_at, rate_m3_h, supply, Place())
    return Watched(
        planned=made.loads, rate_m3_h=rate_m3_h, age_limit_min=age_limit, cold_joint_min=gap, **more
    )


def empty(number, arrived, started, emptied, batch_at=None):
    return Logged(
        number=number, arrived_at=arrived, started_at=started, emptied_at=emptied, batch_at=batch_at
    )


def found(run, code):
    return [finding for finding in run.findings if finding.code == code]


# --- loads that age ---------------------------------------------------------------------------


def test_six_trucks_in_the_street_before_the_start_cost_the_last_two():
    # Six loads 30 min old at ten to seven, 15 min each to empty: 45, 60, 75, 90, 105 and 120 min, by
    # arithmetic; at a limit of 90 min (ASTM C94 up to 2021) the fourth is just good.
    came = [Logged(number=n, batch_at=at(6, 20), arrived_at=at(6, 50)) for n in range(1, 7)]
    run = follow(watched(interval=15), came, at(6, 50))
    assert [load.age_min for load in run.loads] == pytest.approx([45, 60, 75, 90, 105, 120])
    assert [finding.facts["load"] for finding in found(run, "load_expires")] == [5, 6]
    assert all(finding.severity is Severity.STOP for finding in found(run, "load_expires"))


def test_as_planned_the_same_six_are_all_45_min_old_when_empty():
    run = follow(watched(interval=15), [], at(6))
    assert [load.age_min for load in run.loads] == pytest.approx([45] * 6)


def test_a_load_that_is_past_its_limit_at_the_gate_is_refused():
    # ticket 05:10, at the gate at 07:00: 110 min old before anybody has touched it
    run = follow(watched(starts_at=at(8)), [Logged(number=1, batch_at=at(5, 10), arrived_at=at(7))], at(7))
    (stop,) = found(run, "load_expires")
    assert stop.facts["age_min"] == pytest.approx(110)
    assert stop.facts["good_until_at"] == at(6, 40)


def test_a_load_that_waits_for_a_slow_crew_is_good_until_ten_past_eight():
    # Trade magazine: batched 06:40, on site 07:25, started 08:00, 10 yd3 at 6 min each: 140 min at the end
    slow = watched(load_m3=10 * YD3_M3, unload=60, starts_at=at(7, 25))
    run = follow(slow, [Logged(number=1, batch_at=at(6, 40), arrived_at=at(7, 25), started_at=at(8))], at(8))
    (stop,) = found(run, "load_expires")
    assert stop.facts["end_age_min"] == pytest.approx(140)
    assert stop.facts["good_until_at"] == at(8, 10)


def test_a_load_without_a_ticket_time_is_not_taken_for_fresh():
    run = follow(watched(), [Logged(number=1, arrived_at=at(7))], at(7))
    (stop,) = found(run, "load_age_unknown")
    assert (stop.severity, stop.facts["load"]) == (Severity.STOP, 1)
    assert run.loads[0].age_min is None


# --- trucks that do not come ------------------------------------------------------------------


def test_an_early_truck_moves_no_other_and_half_a_gap_late_is_missed():
    came = [
        empty(1, at(7), at(7), at(7, 12), at(6, 30)),
        empty(2, at(7, 12), at(7, 12), at(7, 27), at(6, 42)),
    ]
    run = follow(watched(), came, at(7, 49))
    assert not found(run, "truck_missing")
    assert run.loads[3].arrives_at == at(8)
    (late,) = found(follow(watched(), came, at(7, 50)), "truck_missing")
    assert late.facts["load"] == 3
    assert late.facts["late_min"] == pytest.approx(10)
    assert late.facts["dry_min"] == pytest.approx(23)
    assert late.facts["bulkhead_by_at"] == at(8, 27)  # an hour after the last came out, as set here


def test_a_truck_nobody_speaks_of_is_missed_all_the_same():
    # every 20 min, the third due 07:40; five to eight and no word
    came = [
        empty(1, at(7), at(7), at(7, 15), at(6, 30)),
        empty(2, at(7, 20), at(7, 20), at(7, 35), at(6, 50)),
    ]
    run = follow(watched(), came, at(7, 55))
    assert [finding.facts["load"] for finding in found(run, "truck_missing")] == [3]


@pytest.mark.parametrize(
    ("minutes", "code", "severity"),
    [(44, None, None), (59, "gap_growing", Severity.CAUTION), (61, "gap_too_long", Severity.STOP)],
)
def test_the_gap_has_a_warning_and_a_stop(minutes, code, severity):
    # a teaching example: above 28 °C an interruption of 60 min is the hold point
    came = [empty(1, at(7), at(7), at(7, 15), at(6, 30))]
    run = follow(watched(loads=15, interval=15), came, at(7, 15) + timedelta(minutes=minutes))
    gaps = [(finding.code, finding.severity) for finding in run.findings if finding.code.startswith("gap")]
    assert gaps == ([(code, severity)] if code else [])


def test_no_gap_grows_while_a_truck_empties_or_when_all_is_down():
    going = [Logged(number=1, batch_at=at(6, 30), arrived_at=at(7), started_at=at(7))]
    assert not found(follow(watched(gap=30, loads=1), going, at(9)), "gap_too_long")
    done = [empty(1, at(7), at(7), at(7, 15), at(6, 30))]
    assert not found(follow(watched(gap=30, loads=1), done, at(9)), "gap_too_long")


def test_the_day_as_planned_ends_as_planned():
    # 120 m3 in 8 m3 trucks by a pump of 32 m3/h: every 15 min, 15 loads, the end 3 h 45 after the first
    run = follow(watched(loads=15, interval=15), [], at(6))
    assert run.ends_at - SEVEN == timedelta(hours=3, minutes=45)
    assert run.loads[-1].arrives_at - SEVEN == timedelta(hours=3, minutes=30)
    assert run.findings == ()
    assert run.hold is None


# --- a crew that is slower --------------------------------------------------------------------


def test_half_the_people_empty_a_truck_in_twice_the_time_and_the_rest_is_held():
    # 20 yd3/h by four, 10 yd3 loads every 30 min; two are there: 10 yd3/h, an hour a load
    slow = watched(load_m3=10 * YD3_M3, interval=30, unload=30, loads=4, people_share=0.5)
    run = follow(slow, [], at(6, 5))
    assert run.rate_m3_h == pytest.approx(10 * YD3_M3)
    assert (run.hold.first_load, run.hold.arrives_at, run.hold.interval_min) == (2, at(8), 60)
    assert found(run, "hold_trucks")


def test_loads_already_on_the_road_are_not_held():
    # at seven load 2 (asked for 07:30, 30 min of loading and haul) has just been batched
    slow = watched(load_m3=10 * YD3_M3, interval=30, unload=30, loads=4, people_share=0.5)
    run = follow(slow, [Logged(number=1, batch_at=at(6, 30), arrived_at=at(7), started_at=at(7))], at(7, 1))
    assert run.hold.first_load == 3
    assert run.hold.arrives_at == at(9)


def test_what_the_crew_has_placed_sets_its_rate():
    came = [empty(1, at(7), at(7), at(7, 20)), empty(2, at(7, 20), at(7, 20), at(7, 50))]
    assert placed_rate_m3_h(watched(), came) == pytest.approx(60 * 16 / 50)
    assert placed_rate_m3_h(watched(), []) == pytest.approx(32)


def test_a_crew_that_keeps_up_holds_nothing():
    came = [empty(1, at(7), at(7), at(7, 15), at(6, 30))]
    assert follow(watched(), came, at(7, 16)).hold is None


# --- whatever is logged -----------------------------------------------------------------------


@st.composite
def days(draw):
    """A pour some of whose loads have come, each in order of time, and a moment after all of it."""
    plan = watched(loads=draw(st.integers(1, 8)), interval=draw(st.integers(5, 40)))
    logged, last = [], SEVEN
    for number in range(1, draw(st.integers(0, len(plan.planned))) + 1):
        steps = [timedelta(minutes=draw(st.integers(0, 60))) for _ in range(3)]
        arrived = last + steps[0]
        started = arrived + steps[1] if draw(st.booleans()) else None
        emptied = started + steps[2] if started and draw(st.booleans()) else None
        last = emptied or started or arrived
        logged.append(empty(number, arrived, started, emptied, arrived - timedelta(minutes=30)))
    return plan, logged, last + timedelta(minutes=draw(st.integers(0, 120)))


@given(days())
def test_nothing_that_has_not_happened_lies_in_the_past(day):
    plan, logged, now = day
    run = follow(plan, logged, now)
    for load in run.loads:
        assert load.arrives_at <= load.starts_at <= load.ends_at
        if load.stand is Stand.COMING:
            assert load.arrives_at >= now
        if load.stand is not Stand.EMPTY:
            assert load.ends_at >= now
    assert run.ends_at == max(load.ends_at for load in run.loads)


@given(days())
def test_what_is_held_is_not_yet_batched_and_comes_no_sooner(day):
    plan, logged, now = day
    hold = follow(plan, logged, now).hold
    if hold is not None:
        asked = plan.planned[hold.first_load - 1]
        assert asked.batch_at > now
        assert hold.arrives_at > asked.asked_at
        assert hold.later_min % 5 == 0


@pytest.mark.parametrize(
    "logged",
    [
        [Logged(number=9, arrived_at=at(7))],
        [Logged(number=1, arrived_at=at(7)), Logged(number=1, arrived_at=at(8))],
    ],
)
def test_loads_that_were_not_planned_or_are_logged_twice_are_refused(logged):
    with pytest.raises(BadInput):
        follow(watched(), logged, at(9))


def test_a_load_is_not_empty_before_it_came():
    with pytest.raises(BadInput):
        Logged(number=1, arrived_at=at(8), emptied_at=at(7))


@pytest.mark.parametrize("name", ["rate_m3_h", "age_limit_min", "cold_joint_min", "people_share"])
def test_nothing_is_followed_by_a_measure_of_nought(name):
    with pytest.raises(BadInput):
        replace(watched(), **{name: 0})
