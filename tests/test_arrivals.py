"""How the trucks are asked for, over the telephone and in a text."""

import pytest

from scheduling.sentences.arrivals import Arrivals

ONE = Arrivals(loads=1)
TOGETHER = Arrivals(loads=2, first_together=2)
TWO = Arrivals(loads=2, next_after_min=25, interval_min=25)
EVENLY = Arrivals(loads=5, next_after_min=25, interval_min=25)
TWO_TO_START = Arrivals(loads=6, first_together=2, next_after_min=20, interval_min=20)
LAST_ALONE = Arrivals(loads=3, first_together=2, next_after_min=35, interval_min=35)
OWN_GAP = Arrivals(loads=6, first_together=2, next_after_min=35, interval_min=20)
THREE = Arrivals(loads=3, next_after_min=45, interval_min=40)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (ONE, "the one truck at 7 am"),
        (TOGETHER, "all 2 trucks at 7 am"),
        (TWO, "the first truck at 7 am and the last 25 minutes later"),
        (EVENLY, "the first truck at 7 am, then one every 25 minutes"),
        (TWO_TO_START, "the first two trucks at 7 am, then one every 20 minutes"),
        (LAST_ALONE, "the first two trucks at 7 am and the last 35 minutes later"),
        (
            OWN_GAP,
            "the first two trucks at 7 am, the next 35 minutes later, then one every 20 minutes",
        ),
        (THREE, "the first truck at 7 am, the next 45 minutes later, the last 40 minutes after that"),
    ],
)
def test_a_plant_is_asked_in_one_sentence(asked, said):
    assert asked.spoken("7 am") == said


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (ONE, "1 load at 7am"),
        (TOGETHER, "2 loads together at 7am"),
        (TWO, "2 loads from 7am, 25 min apart"),
        (EVENLY, "5 loads from 7am, every 25 min"),
        (TWO_TO_START, "6 loads: 2 at 7am, then every 20 min"),
        (LAST_ALONE, "3 loads: 2 at 7am, last 35 min later"),
        (OWN_GAP, "6 loads: 2 at 7am, next 35 min later, then every 20 min"),
        (THREE, "3 loads: first 7am, next 45 min later, last 40 min after"),
    ],
)
def test_a_text_says_it_shortly(asked, said):
    assert asked.short("7am") == said
