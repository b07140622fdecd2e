"""What is packed for a row comes back as it was, and weighs little."""

from datetime import UTC, datetime

import pytest

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekboard import greedy
from scheduling.engine.weekparts import Subweek, Tries, solve_subweek
from scheduling.engine.weekproblem import Option, WeekProblem
from scheduling.services.weekpack import pack, unpack
from scheduling.services.weekstarts import Start
from scheduling.services.weekwork import Found
from tests.weeks import generated


@pytest.fixture(scope="module")
def asked():
    return generated(20, 3, 3, 4, hard=True)


def test_a_week_comes_back_as_it_was(asked):
    assert unpack(pack(asked), WeekProblem) == asked


@pytest.mark.slow  # the search is compiled first
def test_a_piece_of_the_search_and_its_answer_come_back_as_they_were(asked):
    placed = tuple(greedy(asked).placed.values())
    tries = Subweek(asked, placed, (), tries=Tries(5, 20, 0.0, 1.0))
    solve = Subweek(asked, placed, tuple(one.pour for one in placed[:3]))
    for piece in (tries, solve):
        assert unpack(pack(piece), Subweek) == piece
        found = Found(solve_subweek(piece))
        assert unpack(pack(found), Found) == found
    assert unpack(pack(Found(None)), Found) == Found(None)


def test_starts_come_back_to_the_last_digit_and_with_their_costs_in_order():
    option = Option(1, 130, 8, 12, 16, 40, 6, 2, 7, 3)
    moment = datetime(2026, 8, 28, 12, 7, 31, 123457, tzinfo=UTC)
    start = Start(moment, option, {PhaseKind.CUT: 1, PhaseKind.PLACE: 5}, {"rain": 0.1 + 0.2, "drying": 1e-7})
    (found,) = unpack(pack([start]), list[Start])
    assert found == start
    assert list(found.costs_h) == list(start.costs_h)
    assert list(found.people) == list(start.people)


def test_a_week_of_twenty_weighs_a_tenth_of_its_options_as_words(asked):
    words = sum(len(repr(option)) for pour in asked.pours for option in pour.options)
    assert len(pack(asked)) < words / 10
