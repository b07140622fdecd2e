"""One party over many strips: which is worked when, and which would be past saving.

The party goes to what comes ready first, stays until that pass is done, and never splits. So a faster
party is done with everything earlier, and never loses what a slower one saves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

NOISE_H = 1e-9


@dataclass(frozen=True, slots=True)
class Task:
    """One pass over one strip, from `opens_h` on, done by `closes_h`. `kind` counts the passes from 0."""

    strip: int
    kind: int
    area_m2: float
    opens_h: float
    closes_h: float


@dataclass(frozen=True, slots=True)
class Done:
    """When a task is worked on, in hours like its task's."""

    starts_h: float
    ends_h: float


def in_order(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """Return the tasks as the party goes to them: as they come ready, of two at once what closes first."""
    return tuple(sorted(tasks, key=lambda task: (task.opens_h, task.closes_h, task.strip, task.kind)))


def worked(tasks: Sequence[Task], h_m2: Sequence[float]) -> tuple[Done, ...]:
    """Return when each of these tasks is worked on, one after another as given.

    Parameters
    ----------
    tasks : sequence of Task
        In order.
    h_m2 : sequence of float
        Hours the party takes for a square metre, by kind.

    Returns
    -------
    tuple of Done
        One for each task.
    """
    free_h, done = -math.inf, []
    for task in tasks:
        starts_h = max(free_h, task.opens_h)
        free_h = starts_h + task.area_m2 * h_m2[task.kind]
        done.append(Done(starts_h, free_h))
    return tuple(done)


def all_in_time(tasks: Sequence[Task], h_m2: Sequence[float]) -> bool:
    """Return whether every task, in the order given, is done before it closes."""
    free_h = -math.inf
    for task in tasks:
        free_h = max(free_h, task.opens_h) + task.area_m2 * h_m2[task.kind]
        if free_h > task.closes_h + NOISE_H:
            return False
    return True


def share_done(tasks: Sequence[Task], h_m2: Sequence[float]) -> float:
    """Return how much of every strip, 0..1, this party could do in time."""
    if all_in_time(tasks, h_m2):
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(12):
        middle = (low + high) / 2
        fits = all_in_time(tasks, [hours * middle for hours in h_m2])
        low, high = (middle, high) if fits else (low, middle)
    return low


def lost_strips(tasks: Sequence[Task], h_m2: Sequence[float]) -> range:
    """Return the strips to give up so that as much as can be is done in time.

    Parameters
    ----------
    tasks : sequence of Task
        In order; strips counted from 0, each with a task.
    h_m2 : sequence of float
        Hours the party takes for a square metre, by kind.

    Returns
    -------
    range
        Neighbours, the fewest square metres that will do; of equals the last to be placed. Empty where
        all is done in time.

    Notes
    -----
    One run of neighbours is given up, not strips here and there: it can be cut out and placed anew in one
    piece (our choice). The runs tried are the same for every party, so a larger one never gives up more.
    """
    if all_in_time(tasks, h_m2):
        return range(0)
    count = 1 + max(task.strip for task in tasks)
    runs = [range(a, b) for a in range(count) for b in range(a + 1, count + 1)]
    saved_m2 = np.where(_in_time_without(runs, tasks, h_m2), _saved_m2(runs, tasks, count), -1.0)
    best = saved_m2.max() - 1e-9 * max(1.0, saved_m2.max())
    return max((run for run, saved in zip(runs, saved_m2, strict=True) if saved >= best), key=_latest)


def _latest(run: range) -> tuple[int, int]:
    return run.start, -len(run)


def _saved_m2(runs: Sequence[range], tasks: Sequence[Task], count: int) -> list[float]:
    areas_m2 = [0.0] * count
    for task in tasks:
        areas_m2[task.strip] = task.area_m2
    return [math.fsum(areas_m2) - math.fsum(areas_m2[run.start : run.stop]) for run in runs]


def _in_time_without(
    runs: Sequence[range], tasks: Sequence[Task], h_m2: Sequence[float]
) -> np.typing.NDArray[np.bool_]:
    """Return for each run whether all the other strips are done in time when it is given up."""
    starts, stops = np.array([run.start for run in runs]), np.array([run.stop for run in runs])
    free_h, fits = np.full(len(runs), -np.inf), np.ones(len(runs), dtype=np.bool_)
    for task in tasks:
        kept = (task.strip < starts) | (task.strip >= stops)
        ends_h = np.maximum(free_h, task.opens_h) + task.area_m2 * h_m2[task.kind]
        fits &= ~kept | (ends_h <= task.closes_h + NOISE_H)
        free_h = np.where(kept, ends_h, free_h)
    return fits
