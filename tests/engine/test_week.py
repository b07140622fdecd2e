import random
from dataclasses import replace
from datetime import UTC, datetime
from itertools import combinations

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
    WORKED,
    Need,
    Option,
    Placed,
    Pool,
    Standing,
    WeekCrew,
    WeekPlant,
    WeekPour,
    WeekProblem,
    cost_of_week,
)
from scheduling.engine.weekwhy import Lack
from tests.jobshop import best_by_jobshop
from tests.weeks import generated

PLACE, FINISH, CUT = WORKED
FIRST_AT = datetime(2026, 6, 8, 5, tzinfo=UTC)
DAY = 96


def option(start: int, day: int = 0, **more) -> Option:
    lasts = {"place": 4, "finish_after": 8, "finish": 6, "cut_after": 16, "cut": 2} | more
    return Option(day, DAY * day + start, **lasts)


def pour(name: str, *options: Option, **more) -> WeekPour:
    usual = {
        "site": name,
        "crews": {"north": 0},
        "plants": {"plant": 0},
        "people": {PLACE: 5, FINISH: 0, CUT: 0},
    }
    return WeekPour(name=name, options=options, **usual | more)


def problem(*pours: WeekPour, **more) -> WeekProblem:
    usual = {
        "crews": (WeekCrew("north", 6), WeekCrew("south", 6)),
        "plants": (WeekPlant("plant", 60, ((0, 5 * DAY),)),),
        "pools": (Pool("finishing party", ("party 1", "party 2")),),
    }
    return WeekProblem(first_at=FIRST_AT, pours=pours, **usual | more)


# --- brute force ------------------------------------------------------------------------------


def tiny(seed: int) -> WeekProblem:
    """Four pours that get in each other's way, each with a handful of starts."""
    draw = random.Random(seed)
    pours = []
    for number in range(4):
        options = [
            option(
                start, day, place=draw.choice((3, 4)), cut_slack=draw.choice((0, 1)), risk=draw.randrange(60)
            )
            for day in range(2)
            for start in draw.sample(range(14), 2)
        ]
        standing = Standing(options[0].start, "north", "plant") if draw.random() < 0.4 else None
        pours.append(
            pour(
                f"pour {number}",
                *options,
                crews={"north": draw.randrange(9), "south": draw.randrange(9)},
                people={PLACE: 5, FINISH: draw.choice((0, 2)), CUT: draw.choice((0, 1))},
                needs=(Need("finishing party", FINISH), Need("saw", CUT)),
                rate=draw.choice((20, 40)),
                wanted_day=draw.randrange(2),
                standing=standing,
            )
        )
    names = [one.name for one in pours]
    return problem(
        *pours,
        pools=(Pool("finishing party", ("party 1", "party 2")), Pool("saw", ("saw",))),
        legs={pair: draw.randrange(3) for pair in combinations(names, 2)},
    )


def places_of(asked: WeekPour) -> list[Placed | None]:
    """Everywhere a pour could go, and nowhere."""
    return [
        None,
        *(
            Placed(asked.name, one, crew, "plant", one.start + one.cut_after + slip)
            for one in asked.options
            for crew in asked.crews
            for slip in range(one.cut_slack + 1)
        ),
    ]


def holds(asked: WeekProblem, placed: list[Placed]) -> bool:
    """Whether a week breaks nothing: counted slot by slot, none of the engine's reckoning in it."""
    pours = {one.name: one for one in asked.pours}
    longest = max(asked.legs.values())
    used: dict[tuple, int] = {}
    have = {("crew", c.name): c.people for c in asked.crews}
    have |= {("pool", p.name): len(p.units) for p in asked.pools} | {("plant", "plant"): 60}
    for one in placed:
        here = pours[one.pour]
        for phase in WORKED:
            first, last = one.option.stretch(phase, one.cut_at)
            takes = [(("crew", one.crew), here.people[phase], last)]
            takes += [(("pool", n.pool), n.count, last + longest) for n in here.needs if n.phase is phase]
            takes += [(("plant", "plant"), here.rate, last)] if phase is PLACE else []
            for key, amount, until in takes:
                for slot in range(first, until):
                    used[key, slot] = used.get((key, slot), 0) + amount
                    if used[key, slot] > have[key]:
                        return False
    for one, other in combinations(placed, 2):
        first, second = sorted((one, other), key=lambda each: each.option.start)
        leg = asked.leg(pours[one.pour].site, pours[other.pour].site)
        if one.crew == other.crew and first.option.start + first.option.place + leg > second.option.start:
            return False
    return True


def by_brute_force(asked: WeekProblem) -> int:
    """The least cost of all weeks there are, pour by pour, dearer beginnings cut off."""
    places = [places_of(one) for one in asked.pours]
    best = [cost_of_week(asked, {})]

    def go(index: int, placed: list[Placed], left_out: int) -> None:
        week_of = {one.pour: one for one in placed}
        rest = {one.name for one in asked.pours[index:]}
        part = replace(asked, pours=tuple(one for one in asked.pours if one.name not in rest))
        cost = cost_of_week(part, week_of)
        if cost >= best[0]:
            return
        if index == len(places):
            best[0] = cost
            return
        for place in places[index]:
            added = placed if place is None else [*placed, place]
            if place is None or holds(asked, added):
                go(index + 1, added, left_out + (place is None))

    go(0, [], 0)
    return best[0]


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
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
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
def test_the_same_week_is_proposed_every_time_however_many_work_on_it():
    asked = generated(24, 3, 3, 7, hard=True)
    first = propose_week(asked, effort=2.0)
    again = [propose_week(asked, effort=2.0, workers=workers) for workers in (1, 2, 3)]
    assert all(one == first for one in again)


@pytest.mark.slow
def test_parts_solved_elsewhere_give_the_same_week():
    asked = generated(24, 3, 3, 7, hard=True)
    spread = propose_week(asked, effort=2.0, solve_all=lambda parts: [solve_subweek(one) for one in parts])
    assert spread == propose_week(asked, effort=2.0)


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
    assert [one.lack for one in found.shortages] == [Lack.NO_START]


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
