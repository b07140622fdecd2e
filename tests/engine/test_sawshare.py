"""A few saws for several slabs."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.inputs import BadInput
from scheduling.engine.sawshare import SawJob, share_saws

NOON = datetime(2026, 6, 10, 17, tzinfo=UTC)
HOUR = timedelta(hours=1)


def job(pour, opens_h, closes_h, hours, done_h=0.0):
    done_at = NOON + max(done_h, opens_h + hours) * HOUR
    return SawJob(pour, NOON + opens_h * HOUR, done_at, NOON + closes_h * HOUR, hours)


def test_one_saw_for_two_slabs_is_at_the_second_when_the_first_is_cut_and_the_way_driven():
    first, second = share_saws([job("barn", 1, 5, 1), job("garage", 0, 4, 2)], 1, between_sites_min=30)
    assert (first.pour, first.after, first.late) == ("garage", None, False)
    assert (second.pour, second.after, second.late) == ("barn", "garage", False)
    assert second.starts_at == NOON + 2.5 * HOUR


def test_a_slab_the_saw_reaches_after_its_last_call_is_late():
    turns = share_saws([job("garage", 0, 4, 3), job("barn", 1, 4.5, 1)], 1)
    assert [turn.late for turn in turns] == [False, True]
    assert not any(turn.late for turn in share_saws([job("garage", 0, 4, 3), job("barn", 1, 4.5, 1)], 2))


def test_the_saw_leaves_only_when_the_last_strip_is_ripe_and_cut():
    turns = share_saws([job("garage", 0, 4, 1, done_h=3), job("barn", 1, 9, 1)], 1, between_sites_min=0)
    assert turns[1].starts_at == NOON + 3 * HOUR


def test_a_slab_not_ready_before_the_saw_is_free_waits_for_nobody():
    turns = share_saws([job("garage", 0, 4, 1), job("barn", 6, 10, 1)], 1)
    assert turns[1].starts_at == NOON + 6 * HOUR


windows = st.lists(st.tuples(st.floats(0, 24), st.floats(0.5, 12), st.floats(0, 5)), min_size=1, max_size=8)


@given(windows, st.integers(1, 4))
def test_no_saw_is_at_two_sites_and_none_before_its_slab_may_be_cut(slabs, saws):
    jobs = [job(str(n), opens, opens + lasts, hours) for n, (opens, lasts, hours) in enumerate(slabs)]
    turns = share_saws(jobs, saws)
    by_pour = {turn.pour: turn for turn in turns}
    for one in jobs:
        turn = by_pour[one.pour]
        assert turn.starts_at >= one.opens_at
        assert turn.late == (turn.ends_at > one.last_call_at)
        if turn.after is not None:
            assert turn.starts_at >= by_pour[turn.after].ends_at + timedelta(minutes=45)
    assert len([turn for turn in turns if turn.after is None]) <= saws
    came_from = [turn.after for turn in turns if turn.after]
    assert len(came_from) == len(set(came_from))


@given(windows, st.integers(1, 4))
def test_another_saw_never_comes_later_to_any_slab(slabs, saws):
    jobs = [job(str(n), opens, opens + lasts, hours) for n, (opens, lasts, hours) in enumerate(slabs)]
    few, more = (share_saws(jobs, n) for n in (saws, saws + 1))
    for slow, quick in zip(few, more, strict=True):
        assert quick.starts_at <= slow.starts_at


def test_no_saw_or_a_pour_named_twice_is_refused():
    for jobs, saws in (([job("garage", 0, 4, 1)], 0), ([job("garage", 0, 4, 1)] * 2, 1)):
        with pytest.raises(BadInput):
            share_saws(jobs, saws)
