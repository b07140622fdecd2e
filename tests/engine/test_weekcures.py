from dataclasses import replace
from datetime import UTC, datetime, timedelta

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekbook import WeekBook, Work
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.engine.weekcures import Change, Remedy, cures_for

PLACE, FINISH, CUT = PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT


def at(hour: float, day: int = 10) -> datetime:
    return datetime(2026, 6, day, tzinfo=UTC) + timedelta(hours=hour)


def work(pour: str, kind: PhaseKind, starts: float, ends: float, people: int, crew="north", **more) -> Work:
    return Work(
        pour=pour, crew=crew, kind=kind, starts_at=at(starts), ends_at=at(ends), people=people, **more
    )


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
    later = timedelta(days=change.by) if change.remedy is Remedy.OTHER_DAY else timedelta(minutes=change.by)
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
