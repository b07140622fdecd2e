"""What a text costs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.texting.segments import is_gsm, segments, to_gsm

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
        ("Łódź", "Łodz"),
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
