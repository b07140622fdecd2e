"""A few saws for several slabs: which site each is at when, and where it comes too late."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.engine.inputs import BadInput, require_aware, require_not_negative, require_positive

BETWEEN_SITES_MIN = 45.0  # our choice: to load the saw, drive across town and unload it


@dataclass(frozen=True, slots=True)
class SawJob:
    """The joints of one slab: may be cut from `opens_at`, must be by `last_call_at`.

    `done_at` is when a saw that is there from the start has cut the last strip, which ripens last.
    """

    pour: str
    opens_at: datetime
    done_at: datetime
    last_call_at: datetime
    hours_needed: float

    def __post_init__(self) -> None:
        require_aware("opens_at", self.opens_at)
        require_aware("done_at", self.done_at)
        require_aware("last_call_at", self.last_call_at)
        require_not_negative("hours_needed", self.hours_needed)


@dataclass(frozen=True, slots=True)
class SawTurn:
    """When a saw is at one slab, `after` which other (None: it has come from none), and whether too late."""

    pour: str
    after: str | None
    starts_at: datetime
    ends_at: datetime
    late: bool


def share_saws(
    jobs: Sequence[SawJob], saws: int, between_sites_min: float = BETWEEN_SITES_MIN
) -> tuple[SawTurn, ...]:
    """Send saws to slabs as these may be cut.

    Parameters
    ----------
    jobs : sequence of SawJob
        One a slab.
    saws : int
        Of the kind all these want.
    between_sites_min : float
        From the last cut on one site to the first on the next.

    Returns
    -------
    tuple of SawTurn
        In the order the slabs are reached: by when they may be cut, of two at once the one that must be
        done first. Each takes the saw that can be there first.

    Raises
    ------
    BadInput
        No saw, or two jobs of one pour.
    """
    require_positive("saws", saws)
    if len({job.pour for job in jobs}) < len(jobs):
        raise BadInput("jobs", "repeated", "A pour may be cut once.")
    way = timedelta(minutes=between_sites_min)
    free: list[SawTurn | None] = [None] * saws
    turns = []
    for job in sorted(jobs, key=lambda one: (one.opens_at, one.last_call_at, one.pour)):
        saw = min(range(saws), key=lambda n: _there_at(free[n], job, way))
        starts_at = _there_at(free[saw], job, way)
        ends_at = max(job.done_at, starts_at + timedelta(hours=job.hours_needed))
        before = free[saw]
        turn = SawTurn(
            job.pour, before.pour if before else None, starts_at, ends_at, ends_at > job.last_call_at
        )
        free[saw] = turn
        turns.append(turn)
    return tuple(turns)


def _there_at(before: SawTurn | None, job: SawJob, way: timedelta) -> datetime:
    return max(job.opens_at, before.ends_at + way) if before else job.opens_at
