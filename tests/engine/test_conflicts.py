from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.conflicts import Booking, Party, find_clashes, first_free_start, free_people
from scheduling.engine.inputs import BadInput, PhaseKind

CHICAGO = ZoneInfo("America/Chicago")
PLACE, FINISH, CUT = PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT
MIDNIGHT = datetime(2026, 6, 10, tzinfo=UTC)


def at(clock: str) -> datetime:
    hour, minute = clock.split(":")
    return datetime(2026, 6, 10, int(hour), int(minute), tzinfo=CHICAGO)


def book(pour: str, kind: PhaseKind, starts: str, ends: str, people: int, crew: str = "north") -> Booking:
    return Booking(pour, crew, kind, at(starts), at(ends), people)


# --- one finishing party, two pours: the case a dispatcher meets every week

A = (book("A", PLACE, "7:00", "9:30", 5, "placers"), book("A", FINISH, "11:00", "16:00", 3, "finishers"))
B = (book("B", PLACE, "10:30", "12:30", 5, "placers"), book("B", FINISH, "14:00", "18:00", 3, "finishers"))
PARTIES = (Party("placers", 5), Party("finishers", 3))


def test_two_pours_that_place_one_after_the_other_clash_where_they_finish_together():
    (clash,) = find_clashes(A + B, PARTIES)
    assert clash.crew == "finishers"
    assert (clash.starts_at, clash.ends_at) == (at("14:00"), at("16:00"))
    assert (clash.needed, clash.available) == (6, 3)
    assert clash.pours == ("A", "B")
    assert clash.kinds == (FINISH,)
    assert clash.code == "people_short"


def test_three_people_borrowed_cure_it():
    assert find_clashes(A + B, (Party("placers", 5), Party("finishers", 6))) == ()


def test_starting_the_second_pour_two_hours_later_cures_it():
    assert first_free_start("B", A + B, PARTIES) == 120


def test_work_that_ends_as_other_work_starts_is_no_clash():
    later = book("B", FINISH, "16:00", "18:00", 3, "finishers")
    assert find_clashes((*A, later), PARTIES) == ()
    morning = (book("C", PLACE, "9:00", "11:00", 5), book("D", PLACE, "11:00", "13:00", 5))
    assert find_clashes(morning, (Party("north", 5),)) == ()


def test_a_minute_of_overlap_is_a_clash():
    pair = (book("C", FINISH, "9:00", "11:01", 5), book("D", FINISH, "11:00", "13:00", 1))
    (clash,) = find_clashes(pair, (Party("north", 5),))
    assert (clash.starts_at, clash.ends_at, clash.needed) == (at("11:00"), at("11:01"), 6)


# --- people are free by phase

DAY_OF_SIX = (
    book("A", PLACE, "7:00", "11:30", 6),
    book("A", FINISH, "11:30", "16:00", 3),
    book("A", CUT, "19:00", "20:30", 1),
)
SIX = Party("north", 6)


@pytest.mark.parametrize(
    ("starts", "ends", "free"),
    [
        ("7:00", "11:30", 0),
        ("11:30", "16:00", 3),
        ("11:30", "20:30", 3),
        ("16:00", "19:00", 6),
        ("16:00", "20:30", 5),
        ("20:30", "23:00", 6),
        ("11:29", "11:31", 0),
    ],
)
def test_those_who_leave_after_placing_are_free_while_three_finish_and_one_cuts(starts, ends, free):
    # a crew's own account: three stayed to trowel, one came back to cut
    assert free_people(DAY_OF_SIX, SIX, at(starts), at(ends)) == free


def test_three_freed_by_one_pour_may_place_the_next_and_a_fourth_may_not():
    assert find_clashes((*DAY_OF_SIX, book("B", PLACE, "11:30", "13:00", 3)), (SIX,)) == ()
    (clash,) = find_clashes((*DAY_OF_SIX, book("B", PLACE, "11:30", "13:00", 4)), (SIX,))
    assert (clash.needed, clash.available, clash.kinds) == (7, 6, (PLACE, FINISH))


def test_a_crew_already_short_has_nobody_free_rather_than_fewer_than_none():
    assert free_people(DAY_OF_SIX, Party("north", 2), at("12:00"), at("13:00")) == 0


def test_other_crews_work_leaves_a_crew_free():
    assert free_people(DAY_OF_SIX, Party("south", 4), at("7:00"), at("20:00")) == 4


# --- two slabs at once


def test_a_crew_cannot_place_two_slabs_at_once_even_with_people_enough():
    pair = (book("A", PLACE, "7:00", "9:00", 4), book("B", PLACE, "8:00", "10:00", 4))
    (clash,) = find_clashes(pair, (Party("north", 12),))
    assert clash.code == "two_placings"
    assert (clash.starts_at, clash.ends_at) == (at("8:00"), at("9:00"))
    assert (clash.needed, clash.available, clash.pours, clash.kinds) == (2, 1, ("A", "B"), (PLACE,))


def test_lacking_people_for_two_slabs_at_once_says_both():
    pair = (book("A", PLACE, "7:00", "9:00", 4), book("B", PLACE, "8:00", "10:00", 4))
    assert [clash.code for clash in find_clashes(pair, (SIX,))] == ["people_short", "two_placings"]


def test_one_pour_placed_in_two_parts_at_once_is_one_placing():
    parts = (book("A", PLACE, "7:00", "9:00", 3), book("A", PLACE, "8:00", "10:00", 3))
    assert find_clashes(parts, (SIX,)) == ()


def test_different_crews_may_place_at_once():
    pair = (book("A", PLACE, "7:00", "9:00", 5), book("B", PLACE, "7:00", "9:00", 5, "south"))
    assert find_clashes(pair, (Party("north", 5), Party("south", 5))) == ()


# --- what a clash is


def test_clashes_that_touch_are_one_stretch_with_the_most_ever_needed():
    row = (
        book("A", FINISH, "8:00", "12:00", 4),
        book("B", FINISH, "9:00", "10:00", 2),
        book("C", FINISH, "10:00", "11:00", 3),
    )
    (clash,) = find_clashes(row, (Party("north", 5),))
    assert (clash.starts_at, clash.ends_at, clash.needed) == (at("9:00"), at("11:00"), 7)
    assert clash.pours == ("A", "B", "C")


def test_work_that_only_touches_a_clash_is_not_named_in_it():
    row = (
        book("A", FINISH, "8:00", "9:00", 4),
        book("B", FINISH, "8:00", "9:00", 4),
        book("C", FINISH, "7:00", "8:00", 4),
        book("D", FINISH, "9:00", "10:00", 4),
        book("E", PhaseKind.CURE, "8:00", "9:00", 0),
    )
    (clash,) = find_clashes(row, (Party("north", 5),))
    assert clash.pours == ("A", "B")


def test_a_pour_that_needs_more_than_its_crew_clashes_with_itself_and_no_start_helps():
    alone = (book("A", PLACE, "7:00", "9:00", 7),)
    (clash,) = find_clashes(alone, (SIX,))
    assert clash.pours == ("A",)
    assert first_free_start("A", alone, (SIX,)) is None


def test_moments_are_compared_as_moments_not_as_clock_faces():
    # tz database: Chicago runs through 01:00-02:00 twice on 2026-11-01
    first = datetime(2026, 11, 1, 1, 0, fold=0, tzinfo=CHICAGO)
    second = datetime(2026, 11, 1, 1, 0, fold=1, tzinfo=CHICAGO)
    pair = (
        Booking("A", "north", FINISH, first, second, 6),
        Booking("B", "north", FINISH, second, second + timedelta(hours=1), 6),
    )
    assert find_clashes(pair, (SIX,)) == ()


@pytest.mark.parametrize(("starts", "ends"), [("9:00", "9:00"), ("9:00", "8:00")])
def test_an_empty_booking_is_refused(starts, ends):
    with pytest.raises(BadInput) as caught:
        book("A", PLACE, starts, ends, 5)
    assert caught.value.code == "empty_window"


def test_nobody_is_free_in_an_empty_stretch():
    with pytest.raises(BadInput):
        free_people(DAY_OF_SIX, SIX, at("9:00"), at("9:00"))


def test_bookings_without_a_zone_or_of_fewer_than_none_are_refused():
    naive = datetime(2026, 6, 10, 7)
    with pytest.raises(BadInput):
        Booking("A", "north", PLACE, naive, naive + timedelta(hours=1), 5)
    with pytest.raises(BadInput):
        book("A", PLACE, "9:00", "10:00", -1)
    with pytest.raises(BadInput):
        Party("north", -1)


def test_a_crew_nobody_has_counted_is_refused():
    with pytest.raises(BadInput, match="north"):
        find_clashes(DAY_OF_SIX, ())


# --- later starts


def test_a_pour_that_clashes_nowhere_may_start_as_booked():
    assert first_free_start("A", A, PARTIES) == 0


def test_clashes_of_other_pours_alone_do_not_hold_a_pour_back():
    others = (book("C", PLACE, "7:00", "9:00", 4), book("D", PLACE, "7:00", "9:00", 4))
    assert first_free_start("E", (*others, book("E", PLACE, "9:00", "11:00", 4)), (SIX,)) == 0


def test_a_free_start_that_falls_between_quarter_hours_is_offered_on_the_next_one():
    pair = (book("A", FINISH, "8:00", "10:05", 6), book("B", FINISH, "8:00", "9:00", 6))
    assert first_free_start("B", pair, (SIX,)) == 135


def test_every_phase_must_fit_not_only_the_first():
    # B could place from 9:00, but its finishing would then meet A's until it moves to 11:00
    pair = (
        book("A", PLACE, "7:00", "9:00", 4),
        book("A", FINISH, "12:00", "15:00", 4),
        book("B", PLACE, "8:00", "9:00", 4),
        book("B", FINISH, "12:00", "13:00", 4),
    )
    assert first_free_start("B", pair, (SIX,)) == 180


# --- against counting minute by minute

MINUTES = st.integers(0, 90)
BOOKINGS = st.lists(
    st.builds(
        lambda pour, crew, kind, start, length, people: Booking(
            pour,
            crew,
            kind,
            MIDNIGHT + timedelta(minutes=start),
            MIDNIGHT + timedelta(minutes=start + length),
            people,
        ),
        st.sampled_from("ABCD"),
        st.sampled_from(("north", "south")),
        st.sampled_from((PLACE, FINISH, CUT)),
        MINUTES,
        st.integers(1, 30),
        st.integers(0, 5),
    ),
    max_size=12,
)
BOTH = (Party("north", 6), Party("south", 4))


def busy(bookings, crew: str, minute: int) -> list[Booking]:
    moment = MIDNIGHT + timedelta(minutes=minute)
    return [one for one in bookings if one.crew == crew and one.starts_at <= moment < one.ends_at]


def counted(bookings, party: Party, code: str) -> list[tuple]:
    """Stretches of one kind of clash, from a count of every minute: (from, up to, most, pours)."""
    found, current = [], None
    for minute in range(122):
        at_work = busy(bookings, party.crew, minute)
        if code == "people_short":
            at_work = [one for one in at_work if one.people]
            level, limit = sum(one.people for one in at_work), party.people
        else:
            at_work = [one for one in at_work if one.kind == PLACE]
            level, limit = len({one.pour for one in at_work}), 1
        if level > limit:
            since, most, pours = current or (minute, 0, set())
            current = (since, max(most, level), pours | {one.pour for one in at_work})
        elif current:
            since, most, pours = current
            found.append((since, minute, most, tuple(sorted(pours))))
            current = None
    return found


@given(BOOKINGS)
def test_clashes_are_those_a_count_of_every_minute_finds(bookings):
    def minute(moment: datetime) -> int:
        return (moment - MIDNIGHT) // timedelta(minutes=1)

    clashes = find_clashes(bookings, BOTH)
    for party in BOTH:
        for code in ("people_short", "two_placings"):
            ours = [
                (minute(clash.starts_at), minute(clash.ends_at), clash.needed, clash.pours)
                for clash in clashes
                if (clash.crew, clash.code) == (party.crew, code)
            ]
            assert ours == counted(bookings, party, code)


@given(BOOKINGS, st.randoms(use_true_random=False))
def test_the_order_of_bookings_changes_nothing(bookings, shuffler):
    shuffled = list(bookings)
    shuffler.shuffle(shuffled)
    assert find_clashes(shuffled, BOTH) == find_clashes(bookings, BOTH)


@given(BOOKINGS, MINUTES, st.integers(1, 30))
def test_free_people_are_those_a_count_of_every_minute_leaves(bookings, start, length):
    for party in BOTH:
        levels = [
            sum(one.people for one in busy(bookings, party.crew, minute))
            for minute in range(start, start + length)
        ]
        stretch = (MIDNIGHT + timedelta(minutes=start), MIDNIGHT + timedelta(minutes=start + length))
        assert free_people(bookings, party, *stretch) == max(0, party.people - max(levels))


@given(BOOKINGS, st.sampled_from("ABCD"))
def test_the_start_offered_is_the_first_that_is_free(bookings, pour):
    offered = first_free_start(pour, bookings, BOTH)

    def free_when_moved(minutes: int) -> bool:
        moved = [
            Booking(
                one.pour,
                one.crew,
                one.kind,
                one.starts_at + timedelta(minutes=minutes * (one.pour == pour)),
                one.ends_at + timedelta(minutes=minutes * (one.pour == pour)),
                one.people,
            )
            for one in bookings
        ]
        return not any(pour in clash.pours for clash in find_clashes(moved, BOTH))

    if offered is None:
        assert not free_when_moved(24 * 60)
    else:
        assert free_when_moved(offered)
        assert not any(free_when_moved(earlier) for earlier in range(0, offered, 15))
