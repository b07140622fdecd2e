"""A day or a site lost to rain: the week that puts right what it displaces and leaves the rest alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from scheduling.engine.weekproblem import Lack, Placed, Shortage, Standing, WeekPour, WeekProblem

STAY_WEIGHT = 20  # how many times dearer a change is than when a week is planned afresh: our choice


@dataclass(frozen=True, slots=True)
class Lost:
    """Days and sites at which nothing can be placed: each (day, site); None stands for any."""

    day: int | None = None
    site: str | None = None

    def holds(self, day: int, site: str) -> bool:
        return self.day in (None, day) and self.site in (None, site)


def after_loss(problem: WeekProblem, placed: Iterable[Placed], lost: Collection[Lost]) -> WeekProblem:
    """Ask for the week anew with days or sites lost and everything else wished to stay as it is.

    Parameters
    ----------
    problem : WeekProblem
    placed : iterable of Placed
        The week as it stood.
    lost : collection of Lost

    Returns
    -------
    WeekProblem
        Without the starts that are lost; every pour stands where it was placed, and to move one costs
        so much that others move only where that places one more. A pinned pour that is lost may move;
        one whose latest day is lost altogether may be late, which is better than left out.
    """
    standing = {one.pour: Standing(one.option.start, one.crew, one.plant) for one in placed}
    weights = replace(
        problem.weights,
        moved_day=problem.weights.moved_day * STAY_WEIGHT,
        moved_start=problem.weights.moved_start * STAY_WEIGHT,
        other_crew=problem.weights.other_crew * STAY_WEIGHT,
        left_out=problem.weights.left_out * STAY_WEIGHT,
    )
    pours = tuple(_without(pour, standing.get(pour.name, pour.standing), lost) for pour in problem.pours)
    return replace(problem, pours=pours, weights=weights)


def _without(pour: WeekPour, standing: Standing | None, lost: Collection[Lost]) -> WeekPour:
    kept = tuple(one for one in pour.options if not any(each.holds(one.day, pour.site) for each in lost))
    stands = standing is not None and any(one.start == standing.start for one in kept)
    gone = {
        one.day: Shortage(pour.name, one.day, Lack.LOST, pour.site) for one in pour.options if one not in kept
    }
    barred = (*pour.barred, *gone.values())
    in_time = pour.latest_day is None or any(one.day <= pour.latest_day for one in kept)
    return replace(
        pour,
        options=kept,
        standing=standing,
        pinned=pour.pinned and stands,
        latest_day=pour.latest_day if in_time else None,
        barred=barred,
    )


def changed(before: Iterable[Placed], after: Iterable[Placed]) -> tuple[str, ...]:
    """Which pours another week moves, takes to another crew or plant, adds or leaves out, by name."""
    old = {one.pour: (one.option.start, one.crew, one.plant) for one in before}
    new = {one.pour: (one.option.start, one.crew, one.plant) for one in after}
    return tuple(sorted(name for name in old.keys() | new.keys() if old.get(name) != new.get(name)))
