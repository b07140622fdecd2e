"""How much of a day's work people new to the heat may do."""

import pytest

from scheduling.engine.acclimatisation import heat_share
from scheduling.engine.inputs import BadInput


@pytest.mark.parametrize(
    ("day", "new", "returning"), [(1, 0.2, 0.5), (2, 0.4, 0.6), (3, 0.6, 0.8), (4, 0.8, 1)]
)
def test_shares_are_those_of_niosh(day, new, returning):
    # NIOSH 2016-106
    assert heat_share(day, returning=False) == new
    assert heat_share(day, returning=True) == returning


def test_from_the_fifth_day_on_everybody_is_used_to_it():
    assert {heat_share(day, returning=back) for day in (5, 6, 40) for back in (True, False)} == {1.0}


def test_there_is_no_day_before_the_first():
    with pytest.raises(BadInput):
        heat_share(0, returning=True)
