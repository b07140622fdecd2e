import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.bestspacing import BestSpacing, best_spacing
from scheduling.engine.inputs import BadInput, Costs, Place, Severity, Supply, Uncertainty, Window

pytestmark = pytest.mark.slow

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
TWELVE_LOADS = (7.0,) * 12
NARROW = Place(one_truck_at_a_time=True)
CERTAIN = Uncertainty(late_mean_min=0, late_sd_min=0, unload_cv=0, overtaking_chance=0)


def best(
    loads=TWELVE_LOADS,
    rate=30.0,
    place=None,
    luck=None,
    costs=None,
    cold_joint_min=60.0,
    starts_at=SEVEN,
    plant_busy=(),
    days=600,
    seed=1,
    **changes,
) -> BestSpacing:
    supply = Supply(**{"truck_m3": 8.0, "order_step_m3": 0.25, "haul_min": 20.0, **changes})
    return best_spacing(
        loads,
        rate,
        supply,
        place or Place(),
        luck or Uncertainty(),
        costs or Costs(),
        cold_joint_min,
        starts_at,
        plant_busy,
        days,
        seed,
    )


def found(plan: BestSpacing) -> dict:
    return {finding.code: finding for finding in plan.findings}


# --- the plan ---------------------------------------------------------------------------------


def test_the_best_plan_costs_less_than_load_divided_by_rate():
    plan = best()
    assert plan.plain_interval_min == 14  # arithmetic: 60 × 7 / 30
    assert plan.free_cost <= plan.sayable_cost < plan.plain_cost
    assert plan.saved_percent == pytest.approx(100 * (1 - plan.sayable_cost / plan.plain_cost))
    assert plan.loss_percent == pytest.approx(100 * (plan.sayable_cost / plan.free_cost - 1))
    assert plan.saved_percent > 3


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"trucks": 4},
        {"rate": 18.0, "haul_min": 35.0},
        {"place": NARROW, "trucks": 6},
        {"loads": (7.0,) * 5 + (2.5,)},
        {"costs": Costs(crew_per_h=400, truck_per_h=100)},
    ],
)
def test_what_can_be_said_gives_up_little(told):
    assert 0 <= best(days=2000, **told).loss_percent < 3


def test_the_asked_moments_are_those_of_what_is_said():
    plan = best()
    assert plan.asked_min == tuple(plan.sayable.asked_min(12))
    assert len(plan.free_intervals_min) == 11
    assert min(plan.free_intervals_min) >= 0


def test_the_same_question_has_the_same_answer():
    assert best() == best()
    assert best(seed=2).risk != best().risk


def test_a_site_for_one_truck_is_never_sent_two_together():
    plan = best(place=NARROW, costs=Costs(crew_per_h=900))
    assert plan.sayable.first_together == 1
    # unload and swap, a diary: the second truck tried to pass the first on a soft drive
    assert plan.sayable.interval_min >= 14 + 5


def test_a_dear_crew_has_trucks_sooner_than_dear_trucks_would_come():
    crew = best(costs=Costs(crew_per_h=600, truck_per_h=10))
    trucks = best(costs=Costs(crew_per_h=100, truck_per_h=120))
    assert crew.risk.crew_wait_mean_min < trucks.risk.crew_wait_mean_min
    assert crew.risk.truck_wait_mean_min > trucks.risk.truck_wait_mean_min


def test_without_luck_trucks_come_as_the_crew_empties_them():
    plan = best(luck=CERTAIN)
    assert (plan.sayable.first_together, plan.sayable.interval_min) == (1, 14)
    assert plan.sayable_cost == pytest.approx(0)
    assert (plan.loss_percent, plan.saved_percent, plan.fleet.enough) == (0, 0, 5)  # (25 + 14 + 25) / 14


def test_overtime_makes_a_plan_tighter():
    late = Costs(overtime_per_h=600, overtime_from_at=SEVEN + timedelta(hours=1))
    assert best(costs=late).risk.finish_mean_min < best().risk.finish_mean_min


def test_other_pours_at_the_plant_delay_this_one():
    busy = [Window(SEVEN, SEVEN + timedelta(minutes=45))]
    assert best(plant_busy=busy).risk.finish_mean_min > best().risk.finish_mean_min + 10


def test_a_single_load_is_simply_sent_for():
    plan = best(loads=(5.0,))
    assert plan.asked_min == (0,)
    assert (plan.sayable.first_together, plan.sayable.interval_min) == (1, 0)
    assert (plan.free_intervals_min, plan.loss_percent, plan.saved_percent) == ((), 0, 0)
    assert plan.fleet.enough == 1


def test_two_loads_have_one_interval():
    plan = best(loads=(7.0, 3.0))
    assert plan.asked_min == (0, plan.sayable.interval_min)
    assert 0 < plan.sayable.interval_min <= 16


def test_three_hundred_loads_can_be_asked_for():
    plan = best(loads=(7.0,) * 300, rate=60.0, days=40)
    assert len(plan.risk.loads) == 300
    assert plan.sayable.interval_min >= 7


# --- what is said of it -----------------------------------------------------------------------


def test_a_pour_with_time_and_trucks_to_spare_needs_no_warning():
    assert [finding.code for finding in best().findings] == ["arrivals_weighed"]
    assert not best().fragile


def test_arrivals_are_told_beside_the_quickest_there_could_be():
    plan = best()
    told = found(plan)["arrivals_weighed"]
    assert told.severity == Severity.NOTE
    assert told.facts["quickest_interval_min"] == plan.plain_interval_min
    assert told.facts["crew_wait_min"] == plan.risk.crew_wait_mean_min
    assert told.facts["truck_wait_min"] == plan.risk.truck_wait_mean_min


def test_a_crew_that_stands_a_third_of_the_time_is_worth_saying():
    plan = best(rate=60.0, trucks=2, haul_min=40.0, age_limit_min=180.0)
    told = found(plan)["crew_waits"]
    assert told.severity == Severity.CAUTION
    assert told.facts["crew_wait_min"] > 0.3 * told.facts["run_min"]


def test_loads_that_come_a_long_way_to_slow_hands_may_die():
    plan = best(rate=14.0, haul_min=40.0)
    told = found(plan)["load_may_die"]
    assert told.severity == Severity.CAUTION
    assert told.source == "ASTM C94/C94M-21"
    assert told.facts["age_limit_min"] == 90
    assert told.facts["chance"] == plan.risk.any_dead_chance > 0.1
    worst = plan.risk.loads[told.facts["load"] - 1]
    assert worst.dead_chance == max(load.dead_chance for load in plan.risk.loads)
    assert told.facts["age_p90_min"] == worst.age_p90_min


def test_a_short_lived_joint_between_far_trucks_is_told():
    plan = best(trucks=2, haul_min=30.0, cold_joint_min=40.0)
    told = found(plan)["cold_joint_risk"]
    assert told.facts["chance"] == plan.risk.cold_joint_chance > 0.1
    assert told.facts["cold_joint_min"] == 40
    assert told.facts["gap_p90_min"] > 40


def test_a_plan_that_only_punctual_trucks_keep_is_fragile():
    # on time is within 15 min either side: a supplier's published price page
    punctual = Uncertainty(late_mean_min=0, late_sd_min=1, unload_cv=0.1)
    plan = best(luck=punctual, age_limit_min=50.0)  # 25 on the way and 14 to empty, when all goes well
    assert plan.fragile
    assert plan.risk.any_dead_chance < 0.1
    facts = found(plan)["fragile_spacing"].facts
    assert facts["lateness_min"] == 15
    assert facts["dead_chance"] > 0.1
    assert "cold_joint_chance" not in facts  # that stays unlikely
    assert not best(luck=punctual).fragile


def test_more_trucks_are_asked_for_where_they_feed_the_crew():
    plan = best(trucks=3)
    told = found(plan)["more_trucks_help"]
    assert told.severity == Severity.NOTE
    assert told.facts["trucks"] == 3
    assert told.facts["trucks_enough"] == plan.fleet.enough > 3
    assert told.facts["crew_wait_with_enough_min"] < told.facts["crew_wait_min"] - 10
    assert "more_trucks_help" not in found(best(trucks=plan.fleet.enough))
    assert "more_trucks_help" not in found(best())


def test_the_fleet_is_told_for_the_work_and_not_for_the_trucks_at_hand():
    assert best(trucks=3).fleet.enough == pytest.approx(best().fleet.enough, abs=1)


# --- nonsense ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "field", "code"),
    [
        ({"rate": 0}, "rate_m3_h", "not_positive"),
        ({"rate": -5}, "rate_m3_h", "not_positive"),
        ({"rate": math.nan}, "rate_m3_h", "not_positive"),
        ({"loads": ()}, "loads_m3", "no_loads"),
        ({"loads": (7.0, -1.0)}, "loads_m3", "not_positive"),
        ({"loads": (7.0,) * 400}, "loads_m3", "too_many_loads"),
        ({"trucks": 0}, "trucks", "not_positive"),
        ({"haul_min": -1}, "haul_min", "negative"),
        ({"cold_joint_min": 0}, "cold_joint_min", "not_positive"),
        ({"starts_at": datetime(2026, 6, 10, 7)}, "starts_at", "naive_time"),
        ({"days": 0}, "days", "not_positive"),
        ({"seed": -1}, "seed", "negative"),
    ],
)
def test_nonsense_is_refused_and_named(told, field, code):
    with pytest.raises(BadInput) as refused:
        best(**told)
    assert (refused.value.field, refused.value.code) == (field, code)


def test_a_load_that_can_never_be_in_time_is_told_as_lost():
    plan = best(haul_min=80.0)
    assert plan.risk.any_dead_chance > 0.99
    assert found(plan)["load_may_die"].facts["chance"] > 0.99
    assert not plan.fragile  # nothing is left to break


def test_the_supply_given_is_left_as_it_was():
    supply = Supply(truck_m3=8.0, order_step_m3=0.25, haul_min=20.0, trucks=3)
    kept = replace(supply)
    best_spacing((7.0,) * 4, 30.0, supply, Place(), Uncertainty(), Costs(), 60.0, SEVEN, days=50)
    assert supply == kept
