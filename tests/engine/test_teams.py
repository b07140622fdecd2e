"""Sharing people out, against trying every way there is."""

from itertools import combinations, pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduling.engine.teams import best_split, best_splits


def every_split(rates, people):
    """Rates stage by stage, slowest first, of every cut of the line and every headcount."""
    for cuts in range(len(rates)):
        for places in combinations(range(1, len(rates)), cuts):
            groups = [range(a, b) for a, b in pairwise((0, *places, len(rates)))]
            for ends in combinations(range(1, people), cuts):
                counts = [b - a for a, b in pairwise((0, *ends, people))]
                yield tuple(
                    sorted(
                        round(1 / sum(1 / rates[stage][n - 1] for stage in group), 9)
                        for group, n in zip(groups, counts, strict=True)
                        for _ in group
                    )
                )


@st.composite
def lines(draw):
    """One to five stages whose rates rise with every person up to some number, and then no more."""
    people = draw(st.integers(1, 8))
    rates = []
    for _ in range(draw(st.integers(1, 5))):
        useful = draw(st.integers(1, people))
        steps = draw(st.lists(st.integers(1, 4), min_size=useful, max_size=useful))
        rising = [float(sum(steps[: n + 1])) for n in range(useful)]
        rates.append(rising + rising[-1:] * (people - useful))
    return rates, people


# Two groups equally slow: the one of two stages must have the next person.
EQUALLY_SLOW = ([[4.0] + [5.0] * 4, [1.0] * 5, [4.0] + [8.0] * 4, [4.0, 8.0] + [9.0] * 3], 5)


@example(EQUALLY_SLOW)
@given(lines())
def test_the_split_is_the_best_of_all_there_are(line):
    rates, people = line
    found = tuple(sorted(round(rate, 9) for group, _, rate in best_split(rates, people) for _ in group))
    assert found == max(every_split(rates, people))


@given(lines())
def test_every_stage_is_done_once_and_nobody_is_made_up(line):
    rates, people = line
    teams = best_split(rates, people)
    assert [stage for group, _, _ in teams for stage in group] == list(range(len(rates)))
    assert sum(count for _, count, _ in teams) <= people


def test_one_person_does_everything_by_turns():
    ((group, count, rate),) = best_split([[20.0], [30.0], [60.0]], people=1)
    assert (group, count) == ((0, 1, 2), 1)
    assert rate == pytest.approx(10.0)  # 1 / (1/20 + 1/30 + 1/60)


def test_people_who_can_speed_up_nothing_are_left_out():
    teams = best_split([[5.0] * 9, [2.0, 4.0, 6.0] + [6.0] * 6], people=9)
    assert teams == (((0,), 1, 5.0), ((1,), 3, 6.0))


@given(lines())
def test_splits_of_many_headcounts_at_once_are_those_of_each_alone(line):
    rates, most = line
    for fewest in (1, most):
        splits = best_splits(rates, fewest)
        assert splits == tuple(best_split(rates, people) for people in range(fewest, most + 1))
