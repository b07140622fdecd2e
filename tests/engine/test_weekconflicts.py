from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.conflicts import Booking, Party, find_clashes
from scheduling.engine.inputs import BadInput, PhaseKind, Severity, Window
from scheduling.engine.weekbook import (
    HoursRule,
    Limits,
    Papers,
    PlantHours,
    RoadSeason,
    SiteHours,
    Unit,
    WeekBook,
    Work,
    Worker,
    windows_of,
)
from scheduling.engine.weekconflicts import find_conflicts

CHICAGO = ZoneInfo("America/Chicago")
PLACE, FINISH, CUT = PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT
SIX = {"north": 6, "south": 6, "finishers": 3}


def at(clock: str, day: int = 10) -> datetime:
    hour, minute = clock.split(":")
    return datetime(2026, 6, day, int(hour), int(minute), tzinfo=CHICAGO)


def work(pour="A", kind=PLACE, starts="7:00", ends="9:00", people=0, crew="north", day=10, **more) -> Work:
    return Work(
        pour=pour,
        crew=crew,
        kind=kind,
        starts_at=at(starts, day),
        ends_at=at(ends, day),
        people=people,
        **more,
    )


def window(opens: str, closes: str, day: int = 10) -> Window:
    return Window(at(opens, day), at(closes, day))


def found(*works: Work, now: datetime | None = None, **book):
    return find_conflicts(WeekBook(work=works, people=SIX, zone=CHICAGO, **book), now)


def codes(*works: Work, now: datetime | None = None, **book) -> list[str]:
    return [one.code for one in found(*works, now=now, **book)]


# --- people


def test_one_finishing_party_asked_for_by_two_pours_is_told_with_who_what_and_when():
    (one,) = found(
        work("A", PLACE, "7:00", "9:30", 5),
        work("A", FINISH, "11:00", "16:00", 3, "finishers"),
        work("B", PLACE, "10:30", "12:30", 5),
        work("B", FINISH, "14:00", "18:00", 3, "finishers"),
        work("C", FINISH, "18:00", "19:00", 3, "finishers"),
    )
    assert (one.code, one.who, one.severity) == ("people_short", "finishers", Severity.STOP)
    assert (one.starts_at, one.ends_at) == (at("14:00"), at("16:00"))
    assert (one.pours, one.kinds, one.needed, one.available) == (("A", "B"), (FINISH,), 6, 3)


def test_a_worker_in_two_places_is_told_though_the_crews_have_people_enough():
    pair = work("A", people=2, workers=("Ana",)), work("B", people=2, crew="south", workers=("Ana", "Bo"))
    (one,) = found(*pair)
    assert (one.code, one.who, one.pours) == ("worker_twice", "Ana", ("A", "B"))


def test_a_worker_on_leave_is_told_for_the_hours_that_meet_the_leave():
    ana = Worker("Ana", away=(window("8:00", "12:00"),))
    (one,) = found(work(workers=("Ana", "Bo")), workers=(ana, Worker("Bo")))
    assert (one.code, one.who, one.starts_at, one.ends_at) == ("worker_away", "Ana", at("8:00"), at("9:00"))


def test_leave_that_ends_as_the_work_starts_is_no_conflict():
    ana = Worker("Ana", away=(window("5:00", "7:00"), window("9:00", "12:00")))
    assert codes(work(workers=("Ana",)), workers=(ana,)) == []


def test_a_skill_that_nobody_named_for_the_work_has_is_told():
    team = (Worker("Ana", ("laser screed",)), Worker("Bo"))
    asked = work(workers=("Bo",), skills=("laser screed",))
    (one,) = found(asked, workers=team)
    assert (one.code, one.facts["skill"]) == ("skill_missing", "laser screed")
    assert codes(replace(asked, workers=("Ana", "Bo")), workers=team) == []


def test_a_crew_whose_people_are_not_counted_has_people_enough():
    assert codes(work(people=50, crew="hired")) == []


# --- equipment


def test_one_saw_for_two_slabs_at_once_is_told():
    pair = work("A", CUT, units=("saw 1",)), work("B", CUT, "8:59", "10:00", crew="south", units=("saw 1",))
    (one,) = found(*pair)
    assert (one.code, one.who, one.starts_at, one.ends_at) == ("unit_twice", "saw 1", at("8:59"), at("9:00"))


def test_a_saw_that_cannot_be_there_in_time_is_told_with_the_minutes():
    pair = (
        work("A", CUT, units=("saw 1",), site="east"),
        work("B", CUT, "9:20", "10:00", crew="south", units=("saw 1",), site="west"),
    )
    (one,) = found(*pair, legs_min={("west", "east"): 30.0})
    assert (one.code, one.who, one.needed, one.available) == ("too_far", "saw 1", 30, 20)
    assert (one.starts_at, one.ends_at) == (at("9:00"), at("9:30"))
    assert codes(*pair, legs_min={("west", "east"): 20.0}) == []


def test_a_trowel_out_of_use_is_one_less_of_its_kind():
    trowels = (Unit("t1", "trowel"), Unit("t2", "trowel", away=(window("8:00", "18:00"),)))
    pair = (
        work("A", FINISH, gear=(("trowel", 1),)),
        work("B", FINISH, "7:00", "9:00", crew="south", gear=(("trowel", 1),)),
    )
    (one,) = found(*pair, units=trowels)
    assert (one.code, one.who, one.starts_at, one.needed, one.available) == (
        "gear_short",
        "trowel",
        at("8:00"),
        3,
        2,
    )
    assert codes(*pair, units=(Unit("t1", "trowel"), Unit("t2", "trowel"))) == []


def test_a_unit_held_by_name_while_out_of_use_is_told():
    out = Unit("screed", "screed", away=(window("6:00", "8:00"),))
    assert codes(work(units=("screed",)), units=(out,)) == ["gear_short", "unit_out_of_use"]


# --- plants, papers, roads


def test_two_pours_ask_a_plant_for_more_than_it_batches():
    pair = (
        work("A", plant="plant", rate_m3_h=40.0),
        work("B", PLACE, "8:00", "10:00", crew="south", plant="plant", rate_m3_h=30.0),
    )
    (one,) = found(*pair, plants=(PlantHours("plant", 60.0),))
    assert (one.code, one.who, one.needed, one.available) == ("plant_rate", "plant", 70, 60)
    assert (one.starts_at, one.ends_at) == (at("8:00"), at("9:00"))
    assert codes(*pair, plants=(PlantHours("plant", 70.0),)) == []


def test_placing_past_the_plants_hours_is_told_with_the_hours():
    (one,) = found(work(plant="p"), plants=(PlantHours("p", opens=(window("6:00", "8:30"),)),))
    assert (one.code, one.facts["closes_at"]) == ("plant_shut", at("8:30"))
    assert codes(work(plant="p"), plants=(PlantHours("p", opens=(window("7:00", "9:00"),)),)) == []


def test_a_plant_with_no_hours_that_day_is_shut_and_one_of_unknown_hours_is_not():
    assert codes(work(plant="p"), plants=(PlantHours("p", opens=()),)) == ["plant_shut"]
    assert codes(work(plant="p"), plants=(PlantHours("p"),)) == []


def test_a_holiday_nobody_asked_the_plant_about_is_a_caution_not_taken_as_open():
    (one,) = found(work(plant="p"), plants=(PlantHours("p", unasked=(window("0:00", "23:00"),)),))
    assert (one.code, one.severity) == ("plant_unasked", Severity.CAUTION)


def test_an_order_not_called_is_told_from_its_time_on():
    papers = (Papers("A", ordered=False, call_by_at=at("15:00", 9)),)
    assert codes(work(), papers=papers, now=at("14:59", 9)) == []
    assert codes(work(), papers=papers, now=at("15:00", 9)) == ["order_not_called"]
    assert codes(work(), papers=(replace(papers[0], ordered=True),), now=at("15:00", 9)) == []


def test_forms_not_released_and_an_inspection_still_open_hold_a_pour_back():
    # a crew's own account: they came to pour forms that nobody had released
    assert codes(work(), papers=(Papers("A", released=False, inspected=False),)) == [
        "forms_not_released",
        "inspection_open",
    ]
    assert codes(work(), papers=(Papers("A", inspected=True),)) == []
    assert codes(work(kind=FINISH), papers=(Papers("A", released=False),)) == []


def test_a_load_too_heavy_for_the_road_is_told_only_in_its_season():
    roads = (RoadSeason("east", Window(at("0:00", 1), at("0:00", 11)), 5.0),)
    heavy = {"site": "east", "heaviest_load_m3": 7.0}
    (one,) = found(work(**heavy), roads=roads)
    assert (one.code, one.who, one.needed, one.available) == ("road_season", "east", 7, 5)
    assert codes(work(**heavy | {"site": "west"}), roads=roads) == []
    assert codes(work(**heavy, day=11), roads=roads) == []
    assert codes(work(site="east", heaviest_load_m3=5.0), roads=roads) == []


# --- hours of places and people


@pytest.mark.parametrize(
    ("rule", "code", "severity"),
    [
        ("permit", "outside_permit", Severity.STOP),
        ("loud", "outside_loud_hours", Severity.STOP),
        ("light", "placed_in_the_dark", Severity.CAUTION),
    ],
)
def test_work_outside_a_sites_hours_is_told(rule, code, severity):
    site = SiteHours("east", **{rule: (window("7:30", "19:00"),)})
    (one,) = found(work(site="east"), sites=(site,))
    assert (one.code, one.who, one.severity) == (code, "east", severity)
    assert (one.facts["opens_at"], one.facts["closes_at"]) == (at("7:30"), at("19:00"))
    assert codes(work(site="east", starts="7:30"), sites=(site,)) == []


def test_hours_that_touch_are_one_stretch():
    site = SiteHours("east", permit=(window("6:00", "8:00"), window("8:00", "10:00")))
    assert codes(work(site="east"), sites=(site,)) == []


def test_work_on_a_holiday_is_a_caution():
    (one,) = found(work(), holidays=(window("0:00", "23:59"),))
    assert (one.code, one.severity) == ("holiday", Severity.CAUTION)


def test_a_day_of_exactly_the_limit_passes_and_a_minute_more_does_not():
    day = (
        work("A", starts="6:00", ends="12:00", workers=("Ana",)),
        work("B", FINISH, "12:00", "18:00", workers=("Ana",)),
    )
    assert codes(*day) == []
    longer = (day[0], replace(day[1], ends_at=at("18:01")))
    (one,) = found(*longer)
    assert (one.code, one.who, one.pours) == ("long_day", "Ana", ("A", "B"))
    assert one.needed == pytest.approx(12 + 1 / 60)


def test_a_day_is_the_days_of_the_place_not_of_utc():
    # 20:00 in Chicago is 01:00 of the next day in UTC
    late = (
        work("A", starts="8:00", ends="19:00", workers=("Ana",)),
        work("B", CUT, "20:00", "22:00", workers=("Ana",)),
    )
    assert "long_day" in codes(*late)


def test_a_crews_day_is_too_long_only_if_no_sharing_out_helps():
    # six people, 72 hours at most: six placing for eight hours leave 24 for the others' finishing
    placing = work("A", starts="6:00", ends="14:00", people=6)
    assert codes(placing, work("A", FINISH, "14:00", "22:00", people=3)) == []
    (one,) = found(placing, work("A", FINISH, "14:00", "22:00", people=4))
    assert (one.code, one.who) == ("long_day", "north")
    assert one.needed == pytest.approx((48 + 32) / 6)


def test_a_worker_who_rests_too_short_is_told():
    pair = (
        work("A", CUT, "20:00", "23:00", workers=("Ana",)),
        work("B", starts="6:00", ends="8:00", day=11, workers=("Ana",)),
    )
    (one,) = found(*pair)
    assert (one.code, one.needed, one.available) == ("short_rest", 8, 7)
    assert codes(*pair, limits=Limits(rest_h=7.0)) == []


def test_a_crew_lacks_rest_only_where_somebody_must_be_in_both():
    evening = work("A", FINISH, "20:00", "23:00", 3)
    assert codes(evening, work("B", PLACE, "6:00", "8:00", 3, day=11)) == []
    (one,) = found(evening, work("B", PLACE, "6:00", "8:00", 4, day=11))
    assert (one.code, one.who, one.available) == ("short_rest", "north", 7)


def test_a_crew_sent_to_two_places_without_time_for_the_way_is_told():
    pair = work("A", site="east"), work("B", PLACE, "9:10", "10:00", site="west")
    (one,) = found(*pair, leg_min=25.0)
    assert (one.code, one.who, one.needed, one.available) == ("too_far", "north", 25, 10)
    assert codes(work("A", site="east"), work("B", PLACE, "9:10", "10:00", site="east"), leg_min=25.0) == []


# --- hours by date and sun


def test_hours_follow_the_clock_across_a_change_of_the_clocks():
    # clocks in Chicago go forward on 8 March 2026
    rule = (HoursRule(opens=time(7), closes=time(19)),)
    start = datetime(2026, 3, 7, tzinfo=CHICAGO)
    days = windows_of(rule, start, start + timedelta(days=3), CHICAGO)
    assert [w.opens_at.astimezone(UTC).hour for w in days] == [13, 12, 12]


def test_hours_end_with_the_sun_where_the_rule_says_so():
    # sunset in Kansas City on 21 December 2026 is at 16:57 by NOAA's calculator (from memory, a few minutes)
    rule = (HoursRule(opens=time(7), closes=time(19), before_sunset_min=0, after_sunrise_min=0),)
    start = datetime(2026, 12, 21, tzinfo=CHICAGO)
    (day,) = windows_of(rule, start, start + timedelta(hours=12), CHICAGO, (39.1, -94.6))
    assert abs(day.closes_at - datetime(2026, 12, 21, 16, 57, tzinfo=CHICAGO)) < timedelta(minutes=5)
    assert day.opens_at > datetime(2026, 12, 21, 7, 15, tzinfo=CHICAGO)


def test_the_first_rule_of_a_day_decides_and_holidays_and_sundays_have_no_hours():
    summer = HoursRule(
        opens=time(6),
        closes=time(20),
        weekdays=frozenset(range(6)),
        first_on=datetime(2026, 6, 12),
        last_on=datetime(2026, 6, 30),
    )
    usual = HoursRule(opens=time(7), closes=time(19), weekdays=frozenset(range(6)))
    shut = (window("0:00", "23:00", 11),)
    days = windows_of((summer, usual), at("0:00"), at("0:00", 16), CHICAGO, shut=shut)
    assert [(w.opens_at.astimezone(CHICAGO).day, w.opens_at.astimezone(CHICAGO).hour) for w in days] == [
        (10, 7),
        (12, 6),
        (13, 6),
        (15, 6),
    ]


# --- as a whole


def test_an_empty_week_has_no_conflict():
    assert codes() == []


def test_work_without_a_zone_or_that_ends_before_it_starts_is_refused():
    naive = datetime(2026, 6, 10, 7)
    with pytest.raises(BadInput):
        Work(pour="A", crew="n", kind=PLACE, starts_at=naive, ends_at=naive + timedelta(hours=1), people=1)
    with pytest.raises(BadInput):
        work(starts="9:00", ends="9:00")


WORKS = st.lists(
    st.builds(
        lambda pour, crew, kind, start, lasts, people: Work(
            pour=pour,
            crew=crew,
            kind=kind,
            starts_at=at("0:00") + timedelta(minutes=start),
            ends_at=at("0:00") + timedelta(minutes=start + lasts),
            people=people,
        ),
        st.sampled_from("ABCD"),
        st.sampled_from(("north", "south")),
        st.sampled_from((PLACE, FINISH, CUT)),
        st.integers(0, 90),
        st.integers(1, 30),
        st.integers(0, 5),
    ),
    max_size=12,
)


@given(WORKS)
def test_people_and_placings_are_those_the_clash_finder_of_one_crew_finds(works):
    bookings = [Booking(w.pour, w.crew, w.kind, w.starts_at, w.ends_at, w.people) for w in works]
    theirs = find_clashes(bookings, (Party("north", 6), Party("south", 4)))
    book = WeekBook(work=tuple(works), people={"north": 6, "south": 4})
    ours = [one for one in find_conflicts(book) if one.code in ("people_short", "two_placings")]
    assert sorted(
        (c.code, c.crew, c.starts_at, c.ends_at, c.needed, c.pours, c.kinds) for c in theirs
    ) == sorted((c.code, c.who, c.starts_at, c.ends_at, int(c.needed), c.pours, c.kinds) for c in ours)


@given(WORKS)
def test_ways_too_short_are_those_that_pairs_of_placings_show(works):
    apart = [replace(w, site=w.pour, people=0) for w in works if w.kind is PLACE]
    book = WeekBook(work=tuple(apart), people={}, leg_min=20.0)
    ours = {(c.who, c.starts_at, c.pours) for c in find_conflicts(book) if c.code == "too_far"}
    for one in apart:
        for other in apart:
            gap = other.starts_at - one.ends_at
            near = one.crew == other.crew and one.pour != other.pour
            if near and timedelta() <= gap < timedelta(minutes=20) and not _between(apart, one, other):
                assert any(who == one.crew and other.pour in pours for who, _, pours in ours)


def _between(works, one, other) -> bool:
    """Whether other work of the crew goes on between, so that one of it is who comes straight from there."""
    return any(
        w.crew == one.crew and w is not one and w is not other and w.starts_at <= other.starts_at
        and w.ends_at >= one.ends_at
        for w in works
    )  # fmt: skip
