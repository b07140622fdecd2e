"""The slab in strips as it was placed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.bays import Bay
from scheduling.engine.inputs import BadInput
from scheduling.engine.strips import LONGEST, MOST_STRIPS, placed_strips

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
BAY = Bay(
    number=1, section=1, strip=1, corners_m=(), width_m=4.0, length_m=5.0, area_m2=20.0, depth_m=0.1,
    volume_m3=2.0, strike_off_min=4.0, needed_m=5.0, in_reach=True, loads=(1,), starts_at=None, ends_at=None,
)  # fmt: skip


def bays_of(strips, bays_each, minutes_each, sections=1):
    """Bays placed one right after another."""
    pulled = [(s, t) for s in range(1, sections + 1) for t in range(1, strips + 1) for _ in range(bays_each)]
    gap = timedelta(minutes=minutes_each)
    return [
        replace(
            BAY, number=n + 1, section=s, strip=t, starts_at=SEVEN + n * gap, ends_at=SEVEN + (n + 1) * gap
        )
        for n, (s, t) in enumerate(pulled)
    ]


def test_strips_placed_within_twenty_minutes_are_those_the_board_pulls():
    strips = placed_strips(bays_of(strips=3, bays_each=4, minutes_each=5))
    assert [(one.first_bay, one.last_bay) for one in strips] == [(1, 4), (5, 8), (9, 12)]
    assert strips[0].middle_at == SEVEN + timedelta(minutes=10)


def test_a_strip_that_takes_longer_is_parted_so_that_all_of_a_part_comes_ready_together():
    strips = placed_strips(bays_of(strips=1, bays_each=6, minutes_each=10))
    assert [(one.first_bay, one.last_bay) for one in strips] == [(1, 2), (3, 4), (5, 6)]


def test_two_sections_are_never_one_strip():
    strips = placed_strips(bays_of(strips=1, bays_each=1, minutes_each=1, sections=2))
    assert [(one.first_bay, one.last_bay) for one in strips] == [(1, 1), (2, 2)]


@given(
    strips=st.integers(1, 30),
    bays_each=st.integers(1, 12),
    minutes_each=st.floats(0, 90),
    sections=st.integers(1, 3),
)
def test_strips_hold_every_bay_once_in_order_and_are_not_too_many(strips, bays_each, minutes_each, sections):
    bays = bays_of(strips, bays_each, minutes_each, sections)
    found = placed_strips(bays)
    assert len(found) <= MOST_STRIPS
    assert (found[0].first_bay, found[-1].last_bay) == (1, len(bays))
    for number, (before, after) in enumerate(pairwise(found), start=1):
        assert before.number == number
        assert after.first_bay == before.last_bay + 1
        assert before.ends_at <= after.starts_at
    assert sum(one.area_m2 for one in found) == pytest.approx(sum(bay.area_m2 for bay in bays))
    if sections * strips * bays_each <= MOST_STRIPS:
        assert all(
            one.first_bay == one.last_bay or one.ends_at - one.starts_at <= 2 * LONGEST for one in found
        )


def test_no_bays_or_bays_without_times_are_refused():
    for bays in ([], [BAY]):
        with pytest.raises(BadInput):
            placed_strips(bays)
