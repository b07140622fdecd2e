"""What a text costs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.texting.segments import BASIC, EXTENDED, is_gsm, measure, segments, to_gsm

WORKER = "👷"


@pytest.mark.parametrize(
    ("length", "count"), [(0, 0), (1, 1), (160, 1), (161, 2), (306, 2), (307, 3), (459, 3)]
)
def test_plain_text_takes_160_alone_and_153_a_segment(length, count):
    # 3GPP TS 23.038 and 23.040
    assert segments("a" * length) == count


@pytest.mark.parametrize(("length", "count"), [(1, 1), (70, 1), (71, 2), (134, 2), (135, 3)])
def test_other_alphabets_take_70_alone_and_67_a_segment(length, count):
    # 3GPP TS 23.038 and 23.040
    assert segments("ж" * length) == count


def test_an_extension_character_costs_two_and_never_straddles_segments():
    # 153 brackets are 306 septets, but 76 of them fill a segment: its last septet stays empty.
    # 3GPP TS 23.038: an escape and its character stay together; counted by hand
    assert segments("]" * 80) == 1
    assert segments("]" * 81) == 2
    assert segments("]" * 153) == 3


def test_one_emoji_makes_the_whole_text_dear():
    assert segments("this is a " + "]" * 75) == 1
    assert segments("this is a " + "]" * 75 + WORKER) == 2


def test_an_emoji_is_two_units_and_is_not_split():
    # 33 of them fill 66 of 67 units.
    assert segments(WORKER * 35) == 1
    assert segments(WORKER * 66) == 2
    assert segments(WORKER * 67) == 3
    assert segments(WORKER * 70) == 3


def test_a_curly_apostrophe_costs_a_segment_more_than_a_straight_one():
    assert segments("don't " + "a" * 155) == 2
    assert segments("don’t " + "a" * 155) == 3


def test_the_alphabet_has_the_capital_cedilla_but_not_the_small_one():
    # GSM 03.38
    assert is_gsm("Ç")
    assert not is_gsm("ç")


@pytest.mark.parametrize(
    ("typed", "sent"),
    [
        ("O’Brien – “north” bay…", 'O\'Brien - "north" bay...'),
        ("Peña, José", "Peña, José"),
        ("María Zoë", "Maria Zoe"),
        ("4½ in", "41/2 in"),
        ("Łódź", "Łódź"),
        ("Jose\u0301 Pen\u0303a", "José Peña"),
        ("🏗️ Depot 🇺🇸 bay", " Depot bay"),
        ("ул. Мира", "ул. Мира"),
    ],
)
def test_typed_signs_become_plain_where_they_can(typed, sent):
    assert to_gsm(typed) == sent


@given(st.text())
def test_making_a_text_plain_twice_changes_nothing_more(text):
    assert to_gsm(to_gsm(text)) == to_gsm(text)


@given(st.text(), st.text())
def test_a_longer_text_never_takes_fewer_segments(text, more):
    assert segments(text + more) >= segments(text)


def test_the_basic_alphabet_is_all_of_its_table_but_the_escape():
    # 3GPP TS 23.038 table 6.2.1: 128 places, one of them the escape to the extension table
    assert len(BASIC) == 127
    assert len(EXTENDED) == 10
    assert not BASIC & EXTENDED


@pytest.mark.parametrize(
    ("text", "units", "room", "count", "wide"),
    [
        ("Mill Rd", 7, 160, 1, ()),
        ("a" * 161, 161, 306, 2, ()),
        ("[4]", 5, 160, 1, ()),
        ("Peña, José", 10, 160, 1, ()),
        ("María ó María", 13, 70, 1, ("í", "ó")),
        ("ж" * 71, 71, 134, 2, ("ж",)),
        ("ab👷", 4, 70, 1, ("👷",)),
        ("", 0, 160, 0, ()),
    ],
)
def test_a_text_is_measured_with_the_signs_that_make_it_dear(text, units, room, count, wide):
    # 3GPP TS 23.038 and 23.040; counted by hand
    told = measure(text)
    assert (told.units, told.room, told.segments, told.wide) == (units, room, count, wide)
    assert told.is_wide is bool(wide)


@given(st.text())
def test_what_is_measured_is_within_the_room_of_its_segments(text):
    told = measure(text)
    assert told.units <= told.room
    assert told.segments == segments(text)
