"""One party over many strips."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.party import Task, all_in_time, in_order, lost_strips, share_done, worked


@st.composite
def slabs(draw):
    """Strips in placing order, each with the same passes in its own window."""
    passes = draw(st.sampled_from([((0.0, 0.5),), ((0.0, 0.5), (0.25, 0.75), (0.5, 1.0), (0.75, 1.0))]))
    at_h, tasks = 0.0, []
    for strip in range(draw(st.integers(1, 8))):
        at_h += draw(st.floats(0, 1))
        area_m2, window_h = draw(st.floats(1, 100)), draw(st.floats(1, 4))
        for kind, (opens, closes) in enumerate(passes):
            tasks.append(Task(strip, kind, area_m2, at_h + opens * window_h, at_h + closes * window_h))
    return in_order(tasks)


paces = st.lists(st.floats(0.001, 0.1), min_size=4, max_size=4)


@given(slabs(), paces)
def test_the_party_does_one_thing_at_a_time_and_nothing_before_it_is_ready(tasks, h_m2):
    left_h = float("-inf")
    for task, done in zip(tasks, worked(tasks, h_m2), strict=True):
        assert done.starts_h >= max(task.opens_h, left_h)
        assert done.ends_h == pytest.approx(done.starts_h + task.area_m2 * h_m2[task.kind])
        left_h = done.ends_h


@given(slabs(), paces)
def test_the_party_never_idles_while_something_is_ready(tasks, h_m2):
    done = worked(tasks, h_m2)
    for number in range(1, len(tasks)):
        if done[number].starts_h > done[number - 1].ends_h:
            assert all(task.opens_h > done[number - 1].ends_h for task in tasks[number:])


@given(slabs(), paces, st.floats(0.2, 1))
def test_a_faster_party_is_never_later_and_never_loses_more(tasks, h_m2, factor):
    faster = [hours * factor for hours in h_m2]
    for slow, fast in zip(worked(tasks, h_m2), worked(tasks, faster), strict=True):
        assert fast.ends_h <= slow.ends_h + 1e-9
    assert lost_m2(tasks, lost_strips(tasks, faster)) <= lost_m2(tasks, lost_strips(tasks, h_m2)) + 1e-6
    assert share_done(tasks, faster) >= share_done(tasks, h_m2)


def lost_m2(tasks, lost):
    return sum(task.area_m2 for task in tasks if task.kind == 0 and task.strip in lost)


@given(slabs(), paces)
def test_with_the_lost_strips_given_up_the_rest_is_in_time_and_nothing_is_given_up_needlessly(tasks, h_m2):
    lost = lost_strips(tasks, h_m2)
    kept = [task for task in tasks if task.strip not in lost]
    assert all_in_time(kept, h_m2)
    assert (len(lost) == 0) == all_in_time(tasks, h_m2)


@given(slabs(), paces)
def test_no_other_run_of_neighbours_would_do_with_less(tasks, h_m2):
    lost = lost_m2(tasks, lost_strips(tasks, h_m2))
    count = 1 + max(task.strip for task in tasks)
    for run in (range(a, b) for a in range(count) for b in range(a, count + 1)):
        if all_in_time([task for task in tasks if task.strip not in run], h_m2):
            assert lost <= lost_m2(tasks, run) + 1e-6


@given(slabs(), paces)
def test_the_share_said_to_be_done_can_be_done_and_little_more(tasks, h_m2):
    share = share_done(tasks, h_m2)
    assert all_in_time(tasks, [hours * share for hours in h_m2])
    assert share == 1 or not all_in_time(tasks, [hours * (share + 0.001) for hours in h_m2])


def test_of_two_strips_equally_large_the_one_placed_last_is_given_up():
    tasks = (Task(0, 0, 10.0, 0.0, 1.0), Task(1, 0, 10.0, 0.0, 1.0))
    assert lost_strips(tasks, (0.1,)) == range(1, 2)
