"""Reading a small table between its points."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence


def between(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Read a table in a straight line between its points, level outside; for one value quicker than NumPy.

    Parameters
    ----------
    x : float
    xs : sequence of float
        Rising.
    ys : sequence of float
        As many.
    """
    at = bisect_right(xs, x)
    if at in (0, len(xs)):
        return ys[min(at, len(xs) - 1)]
    part = (x - xs[at - 1]) / (xs[at] - xs[at - 1])
    return ys[at - 1] + part * (ys[at] - ys[at - 1])
