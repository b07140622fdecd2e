from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.weekasked import asked_of, bits, first_of, through, within
from tests.tinyweeks import option, pour, problem

SETS = st.sets(st.integers(0, 120))


@given(SETS, st.integers(1, 40))
def test_a_stretch_is_clear_from_where_all_its_slots_are(free, length):
    held = {slot for slot in range(121) if all(slot + after in free for after in range(length))}
    assert through(bits(free), length) == bits(held)


@given(SETS, st.integers(0, 40))
def test_something_is_within_reach_where_one_of_the_next_slots_has_it(free, slack):
    near = {slot for slot in range(121) if any(slot + later in free for later in range(slack + 1))}
    assert within(bits(free), slack) == bits(near)


@given(SETS.filter(bool))
def test_the_first_of_a_set_is_its_least(slots):
    assert first_of(bits(slots)) == min(slots)


def test_options_that_start_alike_lie_in_layers_of_their_own_the_cheaper_first():
    dear, cheap, alone = option(10, risk=9), option(10, risk=2), option(12)
    (week_of,) = problem(pour("A", dear, cheap, alone)).pours
    asked = asked_of(problem(week_of), week_of)
    assert asked.options == (cheap, dear, alone)
    assert [dict(layer.options) for layer in asked.layers] == [{10: 0, 12: 2}, {10: 1}]
