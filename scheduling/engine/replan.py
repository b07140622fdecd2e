"""A pour under way: what the trucks logged so far make of the rest, and what to ask of the plant now."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from scheduling.engine.delivery import AGE_SOURCE, OUR_CHOICE, Load, age_at, last_good_moment
from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Severity,
    require_aware,
    require_positive,
)
from scheduling.engine.rounds import NOISE_MIN, unload_min

OVERDUE_SHARE = 0.5  # our choice: a truck is missed when half the asked gap has gone by
LEAST_OVERDUE_MIN = 10.0  # our choice
GAP_WARNING_SHARE = 0.75  # our choice, of the longest gap that still knits
HOLD_WORTH_ASKING_MIN = 10.0  # our choice
FIVE = 5
MINUTE = timedelta(minutes=1)


class Stand(StrEnum):
    """Where a load is."""

    COMING = "coming"
    WAITING = "waiting"
    EMPTYING = "emptying"
    EMPTY = "empty"


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """What was noted of one load. `batch_at` is from its ticket; None is what nobody noted."""

    number: int
    batch_at: datetime | None = None
    arrived_at: datetime | None = None
    started_at: datetime | None = None
    emptied_at: datetime | None = None

    def __post_init__(self) -> None:
        noted = [at for at in (self.arrived_at, self.started_at, self.emptied_at) if at is not None]
        for at in (*noted, *((self.batch_at,) if self.batch_at else ())):
            require_aware("logged", at)
        if any(later < sooner for sooner, later in pairwise(noted)):
            raise BadInput("logged", "out_of_order", "A load arrives, starts and is empty in that order.")

    @property
    def stand(self) -> Stand:
        if self.emptied_at is not None:
            return Stand.EMPTY
        if self.started_at is not None:
            return Stand.EMPTYING
        return Stand.COMING if self.arrived_at is None else Stand.WAITING


@dataclass(frozen=True, slots=True)
class Followed:
    """One load as it is and as it will be. `age_min` is at the end of discharge; None where unknown."""

    number: int
    m3: float
    stand: Stand
    arrives_at: datetime
    starts_at: datetime
    ends_at: datetime
    age_min: float | None


@dataclass(frozen=True, slots=True)
class Hold:
    """Ask for `first_load` at `arrives_at`, and each after it `interval_min` later; None where none is."""

    first_load: int
    loads: int
    later_min: int
    arrives_at: datetime
    interval_min: int | None


@dataclass(frozen=True, slots=True)
class LiveRun:
    """The pour as it stands. `rate_m3_h` is what the crew places by the loads emptied so far."""

    loads: tuple[Followed, ...]
    ends_at: datetime
    rate_m3_h: float
    hold: Hold | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """A planned run of trucks and what it is held to.

    `planned` are the loads of the plan, `rate_m3_h` what it took the crew to place. `cold_joint_min` is the
    longest time between two discharges that still knits. `people_share` is how many of the planned people
    are there, 1 for all.
    """

    planned: tuple[Load, ...]
    rate_m3_h: float
    age_limit_min: float
    cold_joint_min: float
    people_share: float = 1.0

    def __post_init__(self) -> None:
        if not self.planned:
            raise BadInput("planned", "no_loads", "A pour needs at least one load.")
        for name in ("rate_m3_h", "age_limit_min", "cold_joint_min", "people_share"):
            require_positive(name, getattr(self, name))

    def patience_min(self, number: int) -> float:
        """How long after its asked moment a load is missed."""
        if number == 1:
            return LEAST_OVERDUE_MIN
        gap = (self.planned[number - 1].asked_at - self.planned[number - 2].asked_at) / MINUTE
        return max(LEAST_OVERDUE_MIN, OVERDUE_SHARE * gap)


def follow(watched: Watched, logged: Sequence[Logged], now: datetime) -> LiveRun:
    """Carry a pour on from what has been logged.

    Loads that are on site empty in the order they came; those to come are expected when the plan asked
    for them, or now if that is past. An early truck shifts no other.

    Parameters
    ----------
    watched : Watched
    logged : sequence of Logged
        At most one for each planned load.
    now : datetime
        Aware.

    Returns
    -------
    LiveRun
        Moments in UTC.

    Raises
    ------
    BadInput
        A load that was not planned or is logged twice, a moment without zone.

    Notes
    -----
    The age limit is ASTM C94/C94M-21's, as stated by purchaser or producer; exactly the limit is good.
    """
    require_aware("now", now)
    now = now.astimezone(UTC)
    by_number = _by_number(watched, logged)
    rate_m3_h = placed_rate_m3_h(watched, list(by_number.values()))
    loads = _carried_on(watched, by_number, rate_m3_h, now)
    hold = _hold(watched, loads, rate_m3_h, now)
    return LiveRun(
        loads=loads,
        ends_at=max(load.ends_at for load in loads),
        rate_m3_h=rate_m3_h,
        hold=hold,
        findings=(
            *_ages(watched, loads, by_number, now),
            *_missing(watched, loads, now),
            *_gap(watched, loads, now),
            *_hold_finding(hold),
        ),
    )


def _by_number(watched: Watched, logged: Sequence[Logged]) -> dict[int, Logged]:
    by_number = {number: Logged(number=number) for number in range(1, len(watched.planned) + 1)}
    seen = set()
    for one in logged:
        if one.number not in by_number:
            raise BadInput("logged", "not_planned", f"No load {one.number} was planned.")
        if one.number in seen:
            raise BadInput("logged", "logged_twice", f"Load {one.number} is logged twice.")
        seen.add(one.number)
        by_number[one.number] = one
    return by_number


def placed_rate_m3_h(watched: Watched, logged: Sequence[Logged]) -> float:
    """What the crew places by the loads it has emptied, m3/h; as planned for the people there before that.

    Parameters
    ----------
    watched : Watched
    logged : sequence of Logged

    Returns
    -------
    float
        From the start of each discharge to its end; a load without both does not count.
    """
    done = [
        (watched.planned[one.number - 1].m3, (one.emptied_at - one.started_at) / MINUTE)
        for one in logged
        if one.started_at is not None and one.emptied_at is not None and one.emptied_at > one.started_at
    ]
    if not done:
        return watched.rate_m3_h * watched.people_share
    return 60 * math.fsum(m3 for m3, _ in done) / math.fsum(minutes for _, minutes in done)


def _carried_on(
    watched: Watched, by_number: dict[int, Logged], rate_m3_h: float, now: datetime
) -> tuple[Followed, ...]:
    arrivals = {
        number: (one.arrived_at or one.started_at or one.emptied_at or _expected(watched, number, now))
        for number, one in by_number.items()
    }
    followed: dict[int, Followed] = {}
    free_at: datetime | None = None
    order = sorted(by_number, key=lambda n: (_rank(by_number[n]), arrivals[n], n))
    for number in order:
        one, m3 = by_number[number], watched.planned[number - 1].m3
        arrives_at = arrivals[number].astimezone(UTC)
        starts_at = one.started_at or max(arrives_at, free_at or arrives_at, *_not_yet(one, now))
        starts_at = starts_at.astimezone(UTC)
        foreseen = starts_at + unload_min(m3, rate_m3_h) * MINUTE
        ends_at = one.emptied_at or max(foreseen, *_not_yet(one, now), starts_at)
        free_at = ends_at.astimezone(UTC)
        batch_at = one.batch_at or _batched(watched, number, one, arrives_at)
        followed[number] = Followed(
            number, m3, one.stand, arrives_at, starts_at, free_at, age_at(batch_at, free_at)
        )
    return tuple(followed[number] for number in sorted(followed))


def _rank(one: Logged) -> int:
    """Empty loads first, then the one emptying, then those waiting, then those to come."""
    return {Stand.EMPTY: 0, Stand.EMPTYING: 1, Stand.WAITING: 2, Stand.COMING: 3}[one.stand]


def _not_yet(one: Logged, now: datetime) -> tuple[datetime, ...]:
    """What has not been logged has not happened."""
    return () if one.stand is Stand.EMPTY else (now,)


def _expected(watched: Watched, number: int, now: datetime) -> datetime:
    return max(watched.planned[number - 1].asked_at, now)


def _batched(watched: Watched, number: int, one: Logged, arrives_at: datetime) -> datetime | None:
    """A load to come is batched as long before it arrives as planned; one that came by its ticket alone."""
    if one.stand is not Stand.COMING:
        return None
    planned = watched.planned[number - 1]
    return arrives_at - (planned.arrives_at - planned.batch_at)


# --- what to ask of the plant -----------------------------------------------------------------


def _hold(watched: Watched, loads: Sequence[Followed], rate_m3_h: float, now: datetime) -> Hold | None:
    """Later arrivals for the loads not yet batched, where they would only stand in line."""
    here = [load for load in loads if load.stand is not Stand.COMING]
    ahead = [load for load in loads if load.stand is Stand.COMING]
    to_batch = [load for load in ahead if watched.planned[load.number - 1].batch_at > now]
    if not to_batch:
        return None
    on_the_way = [load for load in ahead if load not in to_batch]
    free_at = max((load.ends_at for load in (*here, *on_the_way)), default=to_batch[0].arrives_at)
    asked = []
    for load in to_batch:
        asked.append(max(load.arrives_at, free_at))
        free_at = asked[-1] + unload_min(load.m3, rate_m3_h) * MINUTE
    later = [(ask - load.arrives_at) / MINUTE for ask, load in zip(asked, to_batch, strict=True)]
    if max(later) < HOLD_WORTH_ASKING_MIN:
        return None
    first = next(at for at, minutes in enumerate(later) if minutes >= FIVE)
    return _said(to_batch[first:], asked[first:])


def _said(loads: Sequence[Followed], asked: Sequence[datetime]) -> Hold:
    """In whole fives, so that a plant takes it by telephone."""
    later_min = FIVE * round((asked[0] - loads[0].arrives_at) / MINUTE / FIVE)
    gaps = [(later - sooner) / MINUTE for sooner, later in pairwise(asked)]
    interval_min = FIVE * math.ceil(max(gaps) / FIVE - NOISE_MIN) if gaps else None
    return Hold(
        loads[0].number, len(loads), later_min, loads[0].arrives_at + later_min * MINUTE, interval_min
    )


# --- what to say ------------------------------------------------------------------------------


def _ages(
    watched: Watched, loads: Sequence[Followed], by_number: dict[int, Logged], now: datetime
) -> Iterator[Finding]:
    limit_min = watched.age_limit_min
    for load in loads:
        if load.stand in (Stand.COMING, Stand.EMPTY):
            continue
        one = by_number[load.number]
        if one.batch_at is None or age_at(one.batch_at, now) is None:
            yield Finding(Severity.STOP, "load_age_unknown", {"load": load.number}, AGE_SOURCE)
            continue
        if load.age_min is None or load.age_min <= limit_min + NOISE_MIN:
            continue
        facts: dict[str, Fact] = {
            "load": load.number,
            "age_min": age_at(one.batch_at, now),
            "end_age_min": load.age_min,
            "age_limit_min": limit_min,
            "good_until_at": last_good_moment(one.batch_at, limit_min),
        }
        yield Finding(Severity.STOP, "load_expires", facts, AGE_SOURCE)


def _missing(watched: Watched, loads: Sequence[Followed], now: datetime) -> Iterator[Finding]:
    """The first truck that should be here and is not; those behind it are late by the same token."""
    for load in loads:
        if load.stand is not Stand.COMING:
            continue
        late_min = (now - watched.planned[load.number - 1].asked_at) / MINUTE
        if late_min >= watched.patience_min(load.number):
            dry_min = _dry_min(loads, now)
            facts: dict[str, Fact] = {
                "load": load.number,
                "late_min": late_min,
                "asked_at": watched.planned[load.number - 1].asked_at,
                "dry_min": dry_min,
                "bulkhead_by_at": _bulkhead_by(watched, dry_min, now),
            }
            yield Finding(Severity.CAUTION, "truck_missing", facts, OUR_CHOICE)
        return


def _dry_min(loads: Sequence[Followed], now: datetime) -> float | None:
    """Minutes since the last concrete came out; None where some is coming out or none has yet."""
    if any(load.stand is Stand.EMPTYING for load in loads):
        return None
    ended = [load.ends_at for load in loads if load.stand is Stand.EMPTY]
    return max(0.0, (now - max(ended)) / MINUTE) if ended else None


def _bulkhead_by(watched: Watched, dry_min: float | None, now: datetime) -> datetime | None:
    """Until when the edge knits; None where nothing runs dry, or too long already."""
    if dry_min is None or dry_min > watched.cold_joint_min:
        return None
    return now + (watched.cold_joint_min - dry_min) * MINUTE


def _gap(watched: Watched, loads: Sequence[Followed], now: datetime) -> Iterator[Finding]:
    dry_min, limit_min = _dry_min(loads, now), watched.cold_joint_min
    if all(load.stand is Stand.EMPTY for load in loads) or dry_min is None:
        return
    facts: dict[str, Fact] = {
        "dry_min": dry_min,
        "cold_joint_min": limit_min,
        "bulkhead_by_at": now + (limit_min - dry_min) * MINUTE,
    }
    if dry_min > limit_min + NOISE_MIN:
        yield Finding(Severity.STOP, "gap_too_long", facts, OUR_CHOICE)
    elif dry_min >= GAP_WARNING_SHARE * limit_min:
        yield Finding(Severity.CAUTION, "gap_growing", facts, OUR_CHOICE)


def _hold_finding(hold: Hold | None) -> Iterator[Finding]:
    if hold is not None:
        facts: dict[str, Fact] = {
            "load": hold.first_load,
            "loads": hold.loads,
            "later_min": hold.later_min,
            "arrives_at": hold.arrives_at,
            "interval_min": hold.interval_min,
        }
        yield Finding(Severity.CAUTION, "hold_trucks", facts, OUR_CHOICE)
