"""A slab under way: its windows follow the concrete, not the plan."""

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduling.engine.daynow import day_now
from scheduling.engine.dayplan import plan_pour
from scheduling.engine.outlook import cold_joint_min
from scheduling.engine.rainclock import SkySeen
from scheduling.engine.replan import Logged, Watched, follow
from tests.planned import PLAIN, changed, shower, weather

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)
PLAN = plan_pour(PLAIN)


def run(*logged, now=None):
    watched = Watched(
        planned=PLAN.delivery.loads,
        rate_m3_h=PLAN.line.rate_m3_h,
        age_limit_min=90,
        cold_joint_min=cold_joint_min(PLAN.first_set),
    )
    return follow(watched, logged, now or PLAN.starts_at - 90 * MINUTE)


def came(late_min=0.0, of=None):
    """Loads of the plan that came so much later, all of them or some by number."""
    for load in PLAN.delivery.loads:
        if of is None or load.number in of:
            moved = late_min * MINUTE
            yield Logged(
                number=load.number,
                batch_at=load.batch_at + moved,
                arrived_at=load.arrives_at + moved,
                started_at=load.starts_at + moved,
                emptied_at=load.ends_at + moved,
            )


def now_of(*logged, hours=PLAIN.forecast, **more):
    end = max((one.emptied_at for one in logged), default=PLAN.starts_at - 90 * MINUTE)
    return day_now(PLAIN, PLAN, run(*logged, now=end), hours, **more)


def test_placed_as_planned_the_day_is_the_plan():
    now = now_of(*came())
    assert now.finished_at == PLAN.finishing.ends_at
    assert now.sawing == PLAN.sawing
    assert now.cure_at == PLAN.finishing.cure_at
    assert [strip.hard_at for strip in now.strips] == [strip.hard_at for strip in PLAN.finishing.strips]


def test_a_start_an_hour_late_in_steady_weather_moves_all_of_it_an_hour():
    now = now_of(*came(60), hours=weather(21.0, hours=96, cloud=1.0, sun_w_m2=0.0))
    same = now_of(*came(0), hours=weather(21.0, hours=96, cloud=1.0, sun_w_m2=0.0))
    for name in ("ready_early_at", "finished_at", "cure_at"):
        assert (getattr(now, name) - getattr(same, name)) / MINUTE == pytest.approx(60, abs=5)
    assert (now.sawing.opens_at - same.sawing.opens_at) / MINUTE == pytest.approx(60, abs=5)


def test_a_late_last_truck_moves_its_own_strips_and_leaves_the_first():
    last = len(PLAN.delivery.loads)
    others = [*came(of=range(1, last))]
    late = [*came(80, of=[last])]
    now = now_of(*others, *late)
    assert now.strips[0].ready_at == PLAN.finishing.strips[0].passes[0].opens_at
    moved = now.strips[-1].hard_at - PLAN.finishing.strips[-1].hard_at
    assert 60 * MINUTE < moved < 110 * MINUTE
    assert now.finished_at > PLAN.finishing.ends_at


def test_warmer_weather_than_planned_brings_everything_forward():
    now = now_of(*came(), hours=weather(33.0))
    assert now.ready_early_at < PLAN.first_set.float_ready.early
    assert now.sawing.last_call_at < PLAN.sawing.last_call_at


def test_a_cooler_load_than_planned_is_later():
    assert now_of(*came(), concrete_c=12.0).ready_early_at > now_of(*came()).ready_early_at


def test_without_weather_it_rests_on_a_mild_day_and_says_so():
    now = now_of(*came(), hours=())
    assert not now.weather_known
    assert now.strips


def test_loads_that_came_in_another_order_are_placed_in_that_order():
    first, second, *rest = came()
    swapped = [
        replace(first, number=2, batch_at=None),
        replace(second, number=1, batch_at=None),
        *rest,
    ]
    assert now_of(*swapped).placed_at == now_of(*came()).placed_at


# --- found ready ------------------------------------------------------------------------------


def test_one_strip_found_slow_moves_itself_and_no_other():
    # Trade magazine on spot retardation: less than a truckload of the slab sets slow
    before = now_of(*came())
    slow = before.strips[1].ready_at + 90 * MINUTE
    after = now_of(*came(), ready_at={2: slow})
    assert after.strips[1].ready_at == slow
    assert after.strips[1].found_ready
    assert after.strips[1].hard_at > before.strips[1].hard_at + 90 * MINUTE
    assert (after.strips[0].ready_at, after.strips[0].hard_at) == (
        before.strips[0].ready_at,
        before.strips[0].hard_at,
    )


def test_the_first_strip_ready_does_not_release_the_whole_slab_to_the_saw():
    before = now_of(*came())
    early = before.strips[0].ready_at - 20 * MINUTE
    after = now_of(*came(), ready_at={1: early})
    assert after.strips[-1].ready_at == before.strips[-1].ready_at
    # but for the minutes that the party is there sooner
    assert abs(after.sawing.last_call_at - before.sawing.last_call_at) < 5 * MINUTE


def test_a_press_just_after_placing_does_not_set_the_strip_at_once():
    pressed_at_once = now_of(*came(), ready_at={1: PLAN.starts_at + MINUTE})
    assert pressed_at_once.strips[0].hard_at > PLAN.starts_at + 60 * MINUTE


def test_a_strip_that_is_not_there_is_passed_over():
    assert now_of(*came(), ready_at={99: PLAN.starts_at}) == now_of(*came())


def test_a_strip_that_too_few_people_get_to_too_late_is_lost_as_in_the_plan():
    few = changed(finishing={"people": 1, "power_trowels": 0})
    plan = plan_pour(few, days=20)
    lost = [strip.lost for strip in plan.finishing.strips]
    assert any(lost)
    now = day_now(few, plan, run(*came()), few.forecast)
    assert [strip.lost for strip in now.strips] == lost


@pytest.mark.parametrize("people", [2, 6])
def test_it_never_touches_what_was_ordered(people):
    request = changed(finishing={"people": people})
    plan = plan_pour(request)
    day_now(request, plan, run(*came(), now=PLAN.placed_at), request.forecast)
    assert plan.quantity == plan_pour(request).quantity


def test_a_strip_names_the_loads_that_lie_in_it():
    loads = [strip.loads for strip in now_of(*came()).strips]
    assert loads[0][0] == 1
    assert {number for strip in loads for number in strip} == {load.number for load in PLAN.delivery.loads}


# --- rain as people see it --------------------------------------------------------------------


def test_rain_that_is_seen_does_what_the_same_rain_forecast_does():
    told = now_of(*came(), hours=shower(rain_mm=3.0))
    rain_at = PLAN.starts_at + 6 * HOUR  # from one to five in the afternoon, as in the forecast
    seen = now_of(*came(), sky=SkySeen((rain_at,), (rain_at + 4 * HOUR,)))
    assert seen == told
    assert seen.rain_waits_min > 0


def test_rain_for_two_hours_amid_the_finishing_stretches_it_and_moves_the_cut():
    # Trade magazine: rain three hours after placing, for two; a builder's diary: sheets on, the crew waited
    dry = now_of(*came())
    rain_at = dry.placed_at + 3 * HOUR
    wet = now_of(*came(), sky=SkySeen((rain_at,), (rain_at + 2 * HOUR,)))
    assert (wet.finished_at - dry.finished_at) / MINUTE == pytest.approx(120, abs=0.1)
    assert wet.rain_waits_min == pytest.approx(120, abs=0.1)
    assert wet.finishing_from_at == dry.finishing_from_at  # the crew stays from then on
    assert (wet.sawing.opens_at - dry.sawing.opens_at) / MINUTE == pytest.approx(120, abs=10)
    assert wet.last_hard_at == dry.last_hard_at  # the slab sets on


def test_under_a_roof_rain_that_is_seen_takes_nothing():
    indoors = changed(place={"indoors": True})
    plan = plan_pour(indoors, days=20)
    rain_at = plan.finishing.ends_at - 15 * MINUTE
    dry, wet = (
        day_now(indoors, plan, run(*came()), indoors.forecast, sky=sky)
        for sky in (SkySeen(), SkySeen((rain_at,)))
    )
    assert wet == dry
