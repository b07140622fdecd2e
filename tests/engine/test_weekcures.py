from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.inputs import PhaseKind, Window
from scheduling.engine.weekbook import (
    Limits,
    Papers,
    PlantHours,
    RoadSeason,
    SiteHours,
    Unit,
    WeekBook,
    Work,
    Worker,
)
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.engine.weekcures import ACTS, WORTH_TRYING, Change, Remedy, cures_for

PLACE, FINISH, CUT = PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT


def at(hour: float, day: int = 10) -> datetime:
    return datetime(2026, 6, day, tzinfo=UTC) + timedelta(hours=hour)


def work(pour: str, kind: PhaseKind, starts: float, ends: float, people: int, crew="north", **more) -> Work:
    day = more.pop("day", 10)
    span = {"starts_at": at(starts, day), "ends_at": at(ends, day)}
    return Work(pour=pour, crew=crew, kind=kind, people=people, **span, **more)


# Two pours, one finishing party: a case of the trade.
A = (work("A", PLACE, 7, 9.5, 5, "placers"), work("A", FINISH, 11, 16, 3, "finishers"))
B = (work("B", PLACE, 10.5, 12.5, 5, "placers"), work("B", FINISH, 14, 18, 3, "finishers"))
PEOPLE = {"placers": 5, "finishers": 3, "others": 6}


def moved(book: WeekBook, change: Change) -> tuple[Work, ...] | None:
    """A planner whose plans keep their lengths, whatever the hour."""
    ours = tuple(one for one in book.work if one.pour == change.pour)
    if change.remedy is Remedy.EARLY_SAW:
        early = timedelta(hours=6)
        return tuple(
            replace(one, starts_at=one.starts_at - early, ends_at=one.ends_at - early) for one in ours
        )
    if change.remedy is Remedy.OTHER_CREW:
        return tuple(replace(one, crew=change.crew) for one in ours)
    if change.remedy is Remedy.PLAN_AFRESH:
        return tuple(replace(one, heaviest_load_m3=5.0) for one in ours)
    step = timedelta(days=1) if change.remedy is Remedy.OTHER_DAY else timedelta(minutes=1)
    later = change.by * (-step if change.remedy is Remedy.EARLIER else step)
    return tuple(replace(one, starts_at=one.starts_at + later, ends_at=one.ends_at + later) for one in ours)


def cures(book: WeekBook, **more):
    (conflict, *_) = find_conflicts(book)
    return cures_for(conflict, book, lambda change: moved(book, change), **more)


def test_two_pours_with_one_finishing_party_are_cured_by_two_hours_another_crew_or_three_borrowed():
    later, crew, borrowed = cures(WeekBook(work=A + B, people=PEOPLE))
    assert later.change == Change("B", Remedy.LATER, 120)
    assert (crew.change.remedy, crew.change.crew) == (Remedy.OTHER_CREW, "others")
    assert borrowed.change == Change("A", Remedy.BORROW, 3, "others")


def test_every_cure_leaves_a_week_without_the_conflict_and_with_no_new_one():
    book = WeekBook(work=A + B, people=PEOPLE)
    for cure in cures(book):
        others = tuple(one for one in book.work if one.pour != cure.change.pour)
        assert find_conflicts(replace(book, work=(*others, *cure.work))) == ()


def test_a_start_that_only_moves_the_trouble_is_not_offered():
    # two hours later B's finishing would meet that of C
    c = work("C", FINISH, 18, 22, 3, "finishers")
    later = [
        one for one in cures(WeekBook(work=(*A, *B, c), people=PEOPLE)) if one.change.remedy is Remedy.LATER
    ]
    assert later == []


def test_nobody_is_borrowed_from_a_crew_that_needs_them():
    busy = work("C", PLACE, 6, 20, 4, "others")
    found = cures(WeekBook(work=(*A, *B, busy), people=PEOPLE))
    (borrowed,) = (one.change for one in found if one.change.remedy is Remedy.BORROW)
    assert borrowed == Change("B", Remedy.BORROW, 3, "placers")  # who have placed by then


def test_only_pours_that_may_be_changed_are():
    found = cures(WeekBook(work=A + B, people=PEOPLE), movable=["A"])
    assert found
    assert {one.change.pour for one in found} == {"A"}


def test_one_saw_for_two_cuts_is_cured_by_cutting_one_early():
    pair = (
        work("A", CUT, 19, 21, 1, "north", units=("saw",)),
        work("B", CUT, 19, 21, 1, "south", units=("saw",)),
    )
    book = WeekBook(work=pair, people={"north": 6, "south": 6})
    assert Remedy.EARLY_SAW in {one.change.remedy for one in cures(book)}


def test_a_planner_without_a_plan_leaves_no_cure_but_people_borrowed():
    book = WeekBook(work=A + B, people=PEOPLE)
    (conflict,) = find_conflicts(book)
    (only,) = cures_for(conflict, book, lambda _: None)
    assert only.change.remedy is Remedy.BORROW


def shift(*hours: float) -> tuple[Window, ...]:
    """From one hour to another, each day of the ten around."""
    first, last = hours
    return tuple(Window(at(first, day), at(last, day)) for day in range(5, 16))


ALONE = work("A", PLACE, 7, 10, 4, site="east", plant="quarry", rate_m3_h=30, heaviest_load_m3=7)
NEXT = work("B", PLACE, 11, 14, 4, site="west", plant="quarry", rate_m3_h=30)
HELD = {"people": {"north": 6, "south": 6}}
CREWS = tuple(
    Worker(f"{crew} {n}", skills=("pumps",) if crew == "south" else (), crew=crew)
    for crew in ("north", "south")
    for n in range(6)
)
AWAY = tuple(replace(one, away=(Window(at(0), at(9)),)) for one in CREWS[:3])
BROKEN = {
    "people_away": ([ALONE], {"workers": (*AWAY, *CREWS[3:])}, ["later", "other_crew", "borrow"]),
    "crew_away": (
        [ALONE],
        {"crews_away": {"north": (Window(at(0), at(8)),)}},
        ["other_crew", "later", "other_day"],
    ),
    "skill_missing": ([replace(ALONE, skills=("pumps",))], {"workers": CREWS}, ["borrow", "other_crew"]),
    "outside_loud_hours": ([ALONE], {"sites": (SiteHours("east", loud=shift(5, 9)),)}, ["earlier"]),
    "outside_permit": ([ALONE], {"sites": (SiteHours("east", permit=shift(8, 17)),)}, ["later"]),
    "placed_in_the_dark": ([ALONE], {"sites": (SiteHours("east", light=shift(7.5, 20)),)}, ["later"]),
    "plant_shut": ([ALONE], {"plants": (PlantHours("quarry", opens=shift(5, 9)),)}, ["earlier"]),
    "plant_unasked": (
        [ALONE],
        {"plants": (PlantHours("quarry", unasked=(Window(at(0), at(24)),)),)},
        ["ask_plant", "other_day"],
    ),
    "plant_rate": (
        [ALONE, replace(NEXT, crew="south", starts_at=at(9), ends_at=at(12))],
        {"plants": (PlantHours("quarry", rate_m3_h=50),)},
        ["later", "other_day", "earlier"],
    ),
    "holiday": ([ALONE], {"holidays": (Window(at(0), at(24)),)}, ["other_day"]),
    "road_season": (
        [ALONE],
        {"roads": (RoadSeason("east", Window(at(0), at(24)), 5),)},
        ["plan_afresh", "other_day"],
    ),
    "too_far": (
        [ALONE, NEXT],
        {"legs_min": {("east", "west"): 90}},
        ["later", "other_crew", "other_day"],
    ),
    "long_day": (
        [ALONE, work("A", CUT, 12, 17, 6), work("B", FINISH, 20, 22, 6)],
        {"limits": Limits(day_h=8)},
        ["borrow", "other_crew", "other_day"],
    ),
    "short_rest": (
        [work("A", CUT, 19, 23, 4), work("B", PLACE, 5, 8, 4, day=11)],
        {},
        ["later", "early_saw", "other_crew"],
    ),
    "gear_short": (
        [work("A", CUT, 9, 12, 1, gear=(("saw", 1),)), work("B", CUT, 10, 13, 1, gear=(("saw", 1),))],
        {"units": (Unit("Saw 1", "saw"),)},
        ["later", "early_saw", "other_day"],
    ),
    "unit_out_of_use": (
        [replace(ALONE, units=("Screed 1",))],
        {"units": (Unit("Screed 1", "screed", away=(Window(at(6), at(8)),)),)},
        ["later", "other_day", "earlier"],
    ),
    "promise_broken": ([ALONE], {"papers": (Papers("A", promised_at=at(9)),)}, ["earlier", "other_day"]),
    "forms_not_released": ([ALONE], {"papers": (Papers("A", released=False),)}, ["release_forms"]),
    "inspection_open": ([ALONE], {"papers": (Papers("A", inspected=False),)}, ["pass_inspection"]),
}


@pytest.mark.parametrize("code", BROKEN)
def test_each_rule_is_cured_by_what_is_worth_trying_for_it_and_by_nothing_that_does_not_work(code):
    booked, rest, expected = BROKEN[code]
    book = WeekBook(work=tuple(booked), **HELD | rest)
    conflict = next(one for one in find_conflicts(book) if one.code == code)
    found = cures_for(conflict, book, lambda change: moved(book, change))
    assert [one.change.remedy for one in found] == expected
    for cure in found:
        if cure.change.remedy not in ACTS:
            others = tuple(one for one in book.work if one.pour != cure.change.pour)
            assert code not in {one.code for one in find_conflicts(replace(book, work=(*others, *cure.work)))}


def test_an_order_not_called_is_cured_by_calling_it():
    book = WeekBook(work=(ALONE,), papers=(Papers("A", ordered=False, call_by_at=at(6)),), **HELD)
    (late,) = find_conflicts(book, at(7))
    (only,) = cures_for(late, book, lambda _: None)
    assert only.change == Change("A", Remedy.CALL_ORDER)


def test_open_forms_do_not_keep_a_clash_of_the_pour_from_its_cures():
    # moved or not, the forms are open: that is no new conflict
    book = WeekBook(work=A + B, people=PEOPLE, papers=(Papers("B", released=False),))
    clash = next(one for one in find_conflicts(book) if one.code == "people_short")
    first, *_ = cures_for(clash, book, lambda change: moved(book, change))
    assert first.change == Change("B", Remedy.LATER, 120)


def test_a_cure_that_makes_another_broken_rule_worse_is_none():
    # already an hour past the loud hours, B may not be moved further out of them
    sites = (SiteHours("west", loud=shift(5, 17)),)
    later_is_worse = tuple(replace(one, site="west") for one in B)
    book = WeekBook(work=A + later_is_worse, people=PEOPLE, sites=sites)
    clash = next(one for one in find_conflicts(book) if one.code == "people_short")
    assert Remedy.LATER not in {
        one.change.remedy for one in cures_for(clash, book, lambda change: moved(book, change), movable=["B"])
    }


def test_finishing_past_the_limit_of_a_day_is_cured_by_a_second_party():
    # An estimating text: a labour hour for each 100 ft2 trowelled, 4,000 ft2 by 4 finishers: 10 h each
    book = WeekBook(
        work=(work("A", PLACE, 7, 10, 4), work("A", FINISH, 11, 21, 4)), people={"north": 4, "south": 5}
    )
    (long,) = find_conflicts(book)
    assert (long.code, long.needed, long.available) == ("long_day", 13, 12)
    first, *_ = cures_for(long, book, lambda change: None)
    assert first.change == Change("A", Remedy.BORROW, 4, "south")


def test_a_day_too_long_by_one_pour_alone_is_not_cured_by_moving_the_other():
    work_of_a_day = (work("A", PLACE, 7, 17, 6), work("B", FINISH, 17, 19, 6))
    book = WeekBook(work=work_of_a_day, people={"north": 6}, limits=Limits(day_h=8))
    (long,) = find_conflicts(book)
    assert cures_for(long, book, lambda change: moved(book, change)) == ()


def test_whatever_rule_there_is_has_its_kinds_of_cure():
    every = set(BROKEN) | {"people_short", "two_placings", "order_not_called"}
    assert every | {"worker_twice", "worker_away", "unit_twice"} == set(WORTH_TRYING)
