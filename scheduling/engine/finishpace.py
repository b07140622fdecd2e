"""How much slower a slab would have to be placed so that those who finish it can follow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduling.engine.party import Task, all_in_time, in_order

STEP = 1.05
MOST = 8.0  # our choice: slower than this nobody places


def spread(tasks: Sequence[Task], offsets_h: Sequence[float], factor: float) -> tuple[Task, ...]:
    """Return the tasks, in order, as they would come ready if placing took `factor` times as long.

    Parameters
    ----------
    tasks : sequence of Task
    offsets_h : sequence of float
        How long after the first strip each is placed.
    factor : float
        1 or more. How long a strip takes to set is left as it is.
    """
    later_h = [(factor - 1) * offset_h for offset_h in offsets_h]
    return in_order(
        [
            replace(
                task,
                opens_h=task.opens_h + later_h[task.strip],
                closes_h=task.closes_h + later_h[task.strip],
            )
            for task in tasks
        ]
    )


def slowed_enough(tasks: Sequence[Task], offsets_h: Sequence[float], h_m2: Sequence[float]) -> float | None:
    """Return how many times as long placing must take for a party to lose nothing.

    Parameters
    ----------
    tasks, offsets_h
        As for `spread`.
    h_m2 : sequence of float
        Hours the party takes for a square metre, by kind of task.

    Returns
    -------
    float or None
        The least of steps of 5 %; None where eight times as long would not do.
    """
    return next((factor for factor in _steps() if all_in_time(spread(tasks, offsets_h, factor), h_m2)), None)


def _steps() -> Iterator[float]:
    factor = 1.0
    while factor <= MOST:
        yield factor
        factor *= STEP
