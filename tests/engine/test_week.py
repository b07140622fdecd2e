import random
from dataclasses import replace
from datetime import UTC

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.engine import weekmodel, weekparts
from scheduling.engine.inputs import BadInput
from scheduling.engine.week import Subweek, propose_week, solve_subweek
from scheduling.engine.weekboard import greedy
from scheduling.engine.weekcheck import conflicts_in
from scheduling.engine.weeklost import Lost, after_loss, changed
from scheduling.engine.weekproblem import (
    Lack,
    Need,
    Placed,
    Shortage,
    Standing,
    WeekCrew,
    WeekPlant,
    WeekProblem,
    cost_of_week,
)
from tests.jobshop import best_by_jobshop
from tests.tinyweeks import DAY, FINISH, FIRST_AT, PLACE, by_brute_force, option, pour, problem, tiny
from tests.weeks import generated


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_a_tiny_week_costs_what_the_best_of_all_weeks_costs(seed):
    asked = tiny(seed)
    found = propose_week(asked)
    assert found.proven
    assert found.cost == by_brute_force(asked) == cost_of_week(asked, {p.pour: p for p in found.placed})


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_a_tiny_week_costs_what_a_general_job_scheduling_library_finds(seed):
    asked = tiny(seed)
    assert propose_week(asked).cost == best_by_jobshop(asked, seconds=60).cost


# --- what every answer holds


@pytest.mark.slow
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10_000), st.integers(3, 24), st.integers(1, 4), st.booleans())
def test_no_proposal_has_a_conflict_and_each_is_no_dearer_than_the_greedy_one(seed, pours, crews, hard):
    asked = generated(pours, crews, 3, seed, hard)
    found = propose_week(asked, effort=1.0)
    assert found.conflicts == conflicts_in(asked, found.placed, UTC) == ()
    assert not found.failed
    assert found.bound <= found.cost <= found.greedy_cost
    assert found.cost == cost_of_week(asked, {one.pour: one for one in found.placed})
    assert {one.pour for one in found.placed} | set(found.left_out) == {one.name for one in asked.pours}
    assert all(one.option.day <= latest(asked, one) for one in found.placed)


def latest(asked: WeekProblem, placed: Placed) -> int:
    return next(one.latest_day for one in asked.pours if one.name == placed.pour)


@pytest.mark.slow
def test_parts_solved_anywhere_in_any_order_give_the_same_week():
    def from_the_last(parts):
        """As a pool that starts with the last part, each on a board of its own."""
        return [solve_subweek(part) for part in reversed(parts)][::-1]

    asked = generated(24, 3, 3, 7, hard=True)
    assert propose_week(asked, effort=2.0, solve_all=from_the_last) == propose_week(asked, effort=2.0)


def test_twelve_alike_pours_over_four_crews_are_placed_the_same_in_twenty_runs():
    # the input that several workers of the solver answer in two ways
    alike = [
        pour(f"pour {number}", *(option(start) for start in range(24)), crews=dict.fromkeys("abcd", 0))
        for number in range(12)
    ]
    asked = problem(*alike, crews=tuple(WeekCrew(name, 6) for name in "abcd"))
    first = propose_week(asked)
    assert len(first.placed) == 12
    assert all(propose_week(asked) == first for _ in range(19))


# --- wishes


def test_a_promised_day_is_kept_though_another_is_fairer():
    fair, rainy = option(10, 1), option(10, 0, risk=150)
    assert propose_week(problem(pour("A", fair, rainy, wanted_day=0))).placed[0].option == rainy


def test_after_the_latest_day_a_pour_is_left_out_rather_than_late():
    found = propose_week(problem(pour("A", option(10, 3), latest_day=2)))
    assert found.left_out == ("A",)
    assert [(one.lack, one.day, one.needed) for one in found.shortages] == [(Lack.PROMISE, 3, 1)]


def test_what_stands_stays_unless_moving_saves_more_than_it_upsets():
    stands = Standing(10, "north", "plant")
    small, large = option(12, risk=0), option(10, risk=9)
    assert propose_week(problem(pour("A", small, large, standing=stands))).placed[0].option == large
    large = replace(large, risk=11)
    assert propose_week(problem(pour("A", small, large, standing=stands))).placed[0].option == small


def test_a_pinned_pour_stays_and_another_makes_way():
    pinned = pour("A", option(10), option(30), standing=Standing(10, "north", "plant"), pinned=True)
    found = propose_week(problem(pinned, pour("B", option(10), option(20, risk=90))))
    assert [(one.pour, one.option.start) for one in found.placed] == [("A", 10), ("B", 20)]


def test_pinned_pours_that_clash_are_told_and_the_rest_is_placed_around_them():
    at = Standing(10, "north", "plant")
    pair = [pour(name, option(10), standing=at, pinned=True) for name in "AB"]
    found = propose_week(problem(*pair, pour("C", option(12), option(20))))
    assert {one.code for one in found.conflicts} == {"people_short", "two_placings"}
    assert all(one.pours == ("A", "B") for one in found.conflicts)
    assert found.placed[2].option.start == 20
    assert not found.failed


def test_a_pour_pinned_where_it_has_no_start_is_refused():
    with pytest.raises(BadInput):
        pour("A", option(10), standing=Standing(11, "north", "plant"), pinned=True)


def test_the_way_between_two_sites_is_left_time_for():
    pair = pour("A", option(10)), pour("B", option(14), option(15, risk=1), option(16, risk=2))
    found = propose_week(problem(*pair, legs={("B", "A"): 2}))
    assert [one.option.start for one in found.placed] == [10, 16]


def test_the_finishing_party_is_chosen_so_that_none_is_asked_for_twice():
    crews = {"north": 0, "south": 0}
    pours = [
        pour(name, option(10, risk=1), option(20), crews=crews, needs=(Need("finishing party", FINISH),))
        for name in "ABC"
    ]
    found = propose_week(problem(*pours, legs={("A", "B"): 1}))
    assert found.conflicts == ()
    assert len(found.placed) == 3


# --- what cannot be


def test_three_finishing_parties_needed_where_two_exist_is_what_a_pour_left_out_is_told():
    # "3 finishing parties needed 7:00-8:30, 2 exist"
    crews = tuple(WeekCrew(name, 6) for name in "abc")
    pours = [
        pour(name, option(0), crews={name: 0}, needs=(Need("finishing party", FINISH),)) for name in "abc"
    ]
    found = propose_week(problem(*pours, crews=crews))
    (left,) = found.left_out
    (why,) = found.shortages
    assert (why.pour, why.lack, why.name, why.needed, why.exist) == (
        left,
        Lack.UNITS,
        "finishing party",
        3,
        2,
    )
    assert (why.starts_at, why.ends_at) == (FIRST_AT.replace(hour=7), FIRST_AT.replace(hour=8, minute=30))
    assert set(why.pours) == set("abc") - {left}


def test_a_plant_that_is_shut_is_what_a_pour_left_out_is_told():
    plant = WeekPlant("plant", 60, ((20, 40),))
    (why,) = propose_week(problem(pour("A", option(38)), plants=(plant,))).shortages
    assert (why.lack, why.name, why.exist) == (Lack.PLANT_SHUT, "plant", 0)
    assert (why.starts_at, why.ends_at) == (FIRST_AT.replace(hour=15), FIRST_AT.replace(hour=15, minute=30))


def test_each_day_has_its_own_reason():
    pinned = [
        pour(
            f"pinned {day}", option(10, day), standing=Standing(DAY * day + 10, "north", "plant"), pinned=True
        )
        for day in range(2)
    ]
    found = propose_week(problem(*pinned, pour("A", option(10, 0), option(12, 1))))
    assert [(one.day, one.lack, one.pours) for one in found.shortages] == [
        (0, Lack.CREW_ELSEWHERE, ("pinned 0",)),
        (1, Lack.CREW_ELSEWHERE, ("pinned 1",)),
    ]


def test_leave_is_what_a_pour_left_out_is_told_with_who_is_there():
    # 5 of 6 needed while two are on leave: 4 there; a whole crew on leave leaves none
    for away, there in (2, 4), (6, 0):
        crews = (WeekCrew("north", 6, away=((0, DAY, away),)),)
        (why,) = propose_week(problem(pour("A", option(10)), crews=crews)).shortages
        assert (why.lack, why.name, why.needed, why.exist) == (Lack.PEOPLE_AWAY, "north", 5, there)


def test_a_lost_day_and_starts_not_offered_are_what_a_pour_left_out_is_told():
    curfew = [
        Shortage("A", 1, Lack.LOUD, "east", needed=9, exist=exist, starts_at=FIRST_AT) for exist in (4, 7)
    ]
    asked = problem(pour("A", option(10, 0), barred=tuple(curfew)))
    stood = [Placed("A", option(10, 0), "north", "plant", 26)]
    found = propose_week(after_loss(asked, stood, [Lost(day=0)]))
    assert [(one.day, one.lack, one.exist) for one in found.shortages] == [
        (0, Lack.LOST, 0),
        (1, Lack.LOUD, 7),
    ]


def test_a_pour_dearer_than_leaving_it_out_is_told_as_that():
    found = propose_week(problem(pour("A", option(10, risk=6_000))))
    (why,) = found.shortages
    assert (why.lack, why.needed, why.exist) == (Lack.DEAR, 6_000, 5_000)


@pytest.mark.parametrize("seed", range(12))
def test_a_pour_left_out_always_carries_a_named_reason(seed):
    # some starts barred or lost, some crews away, days promised: whatever is left out says why
    draw = random.Random(seed)
    asked = tiny(seed)
    pours = tuple(replace(one, latest_day=draw.choice((None, 0, 1)), rate=50) for one in asked.pours)
    crews = tuple(replace(crew, away=((0, DAY, draw.choice((0, 2, 6))),)) for crew in asked.crews)
    hard = replace(asked, pours=pours, crews=crews)
    lost = [Lost(day=1)] if draw.random() < 0.5 else [Lost(site="pour 0")]
    found = propose_week(after_loss(hard, (), lost))
    assert {one.pour for one in found.shortages} == set(found.left_out)
    assert all(one.lack is not Lack.NO_START for one in found.shortages)


def test_a_solver_that_breaks_down_leaves_the_greedy_week_and_says_so(monkeypatch):
    def broken(*_, **__):
        raise RuntimeError

    monkeypatch.setattr(weekparts, "solve_part", broken)
    asked = tiny(3)
    found = propose_week(asked)
    assert (found.failed, found.greedy_only, found.cost) == (
        True,
        True,
        cost_of_week(asked, greedy(asked).placed),
    )


def test_a_week_that_does_not_pass_the_conflict_finder_is_never_proposed(monkeypatch):
    def careless(board, free, hint, effort):
        both = tuple(Placed(name, board.ask(name).options[0], "north", "plant", 26) for name in free)
        return weekmodel.Part(both, 0, 0, True, 0.1)

    monkeypatch.setattr(weekparts, "solve_part", careless)
    found = propose_week(problem(pour("A", option(10)), pour("B", option(10), option(20, risk=5))))
    assert found.conflicts == ()
    assert found.cost == 5


# --- progress


@pytest.mark.slow
def test_a_search_that_is_stopped_keeps_the_best_until_then():
    asked, seen = generated(24, 3, 3, 7), []

    def until_third(progress):
        seen.append(progress)
        return len(seen) < 3

    found = propose_week(asked, effort=50.0, on_progress=until_third)
    assert len(seen) == 3
    assert found.cost == seen[-1].best <= seen[0].best == found.greedy_cost
    assert all(one.bound <= one.best for one in seen)


def test_a_part_holds_still_what_is_not_free():
    asked = tiny(1)
    placed = tuple(greedy(asked).placed.values())
    part = solve_subweek(Subweek(asked, placed, ("pour 0", "pour 1")))
    assert part is not None
    assert {one.pour for one in part.placed} <= {"pour 0", "pour 1"}


def test_nothing_to_place_is_a_week_of_no_cost():
    found = propose_week(problem())
    assert (found.placed, found.cost, found.proven) == ((), 0, True)


# --- rained out


def test_a_day_lost_moves_its_pours_and_no_others():
    every_day = [option(10, day) for day in range(3)]
    stood = [Placed(name, option(10, day), "north", "plant", DAY * day + 26) for day, name in enumerate("AB")]
    asked = problem(*(pour(name, *every_day) for name in "AB"))
    found = propose_week(after_loss(asked, stood, [Lost(day=0)]))
    assert changed(stood, found.placed) == ("A",)
    assert found.placed[0].option.day == 2


def test_a_site_lost_on_a_day_leaves_other_sites_that_day_alone():
    both = [option(10, 0), option(10, 1)]
    stood = [Placed("A", both[0], "north", "plant", 26), Placed("B", both[0], "south", "plant", 26)]
    asked = problem(pour("A", *both), pour("B", *both, crews={"south": 0}))
    found = propose_week(after_loss(asked, stood, [Lost(day=0, site="A")]))
    assert changed(stood, found.placed) == ("A",)


def test_another_pour_makes_way_where_that_places_one_more():
    a = pour("A", option(10, 0), option(10, 1), latest_day=1)
    b = pour("B", option(10, 1), option(10, 2))
    stood = [
        Placed("A", option(10, 0), "north", "plant", 26),
        Placed("B", option(10, 1), "north", "plant", 122),
    ]
    found = propose_week(after_loss(problem(a, b), stood, [Lost(day=0)]))
    assert [one.option.day for one in found.placed] == [1, 2]
    assert found.left_out == ()


def test_options_out_of_order_and_pools_that_are_not_there_are_refused():
    with pytest.raises(BadInput):
        option(1, finish_after=3)
    with pytest.raises(BadInput):
        problem(pour("A", option(1), needs=(Need("crane", PLACE),)))
