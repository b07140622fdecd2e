"""Finishing: what each strip of slab takes, when, and whether the party can keep up with the set.

The bull float belongs to the placing line. What follows waits until a strip bears a float and must be
done before it is too hard; one party goes from strip to strip, to what comes ready first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduling.engine.finishpace import slowed_enough
from scheduling.engine.inputs import BadInput, Fact, Finding, Finishing, Severity, Window
from scheduling.engine.party import Done, Task, all_in_time, in_order, lost_strips, share_done, worked
from scheduling.engine.passes import (
    GRACE,
    HOPELESS_SHORT_PERCENT,
    MOST_PEOPLE,
    PASSES,
    PassKind,
    labour_h,
    pass_rate_m2_h,
)
from scheduling.engine.rainclock import DryClock
from scheduling.engine.setting import SetTimes
from scheduling.engine.strips import PlacedStrip


@dataclass(frozen=True, slots=True)
class Pass:
    """Once over the whole slab: opens as the first strip is ready, closes as the last gets too hard."""

    kind: PassKind
    opens_at: datetime
    closes_at: datetime
    people: int
    rate_m2_h: float


@dataclass(frozen=True, slots=True)
class StripPass:
    """Once over one strip: when it may be made, and when the party makes it (None: it does not get there)."""

    kind: PassKind
    opens_at: datetime
    closes_at: datetime
    starts_at: datetime | None
    ends_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StripWindows:
    """One strip from placing to curing, to the second.

    It is struck and bull floated by `placed_at` and then left alone: `ready_early_at` is when to begin
    looking, its first pass opens when it likely is ready. `hard_at` is likely final set: sheets and
    water mark it no more. `finished_at` is when its last pass is made, or would have had to be where it
    is `lost`: curing compound follows at once.
    """

    number: int
    first_bay: int
    last_bay: int
    area_m2: float
    placed_from_at: datetime
    placed_at: datetime
    ready_early_at: datetime
    hard_at: datetime
    finished_at: datetime
    lost: bool
    passes: tuple[StripPass, ...]


@dataclass(frozen=True, slots=True)
class FinishingPlan:
    """When the party finishes, and how fast it covers the slab in all passes together.

    `starts_at` is when the first strip bears the first pass, `first_finished_at` when a strip has had
    the last, and so is ready to be cured, at `cure_at`; `ends_at` when the whole slab has, also where
    that is too late for some. `window` runs from the first float-ready to the last final set, as likely.
    """

    passes: tuple[Pass, ...]
    strips: tuple[StripWindows, ...]
    starts_at: datetime
    first_finished_at: datetime
    ends_at: datetime
    cure_at: datetime
    people: int
    area_m2: float
    coverage_m2_h: float
    window: Window
    findings: tuple[Finding, ...]


def plan_finishing(
    finishing: Finishing,
    strips: Sequence[PlacedStrip],
    sets: Sequence[SetTimes],
    rain: Sequence[Window] = (),
) -> FinishingPlan:
    """Plan the passes of a finish over every strip between its float-ready and its final set.

    Parameters
    ----------
    finishing : Finishing
        People who stay, finish, and power trowels.
    strips : sequence of PlacedStrip
        In placing order.
    sets : sequence of SetTimes
        Of each strip.
    rain : sequence of Window
        When nobody can work the slab, in order and apart. The party covers it, stays, and goes on where it
        stopped; the slab sets meanwhile.

    Returns
    -------
    FinishingPlan
        With ``finishing_short`` (a caution; a stop where a third or more of the work stays undone) when
        strips are past saving before the party gets to them, with ``finishing_waits`` where rain makes it
        end later, and ``finishing_labour`` with the paid hours. What is lost is told as without rain.

    Raises
    ------
    BadInput
        No strip, or not set times for each.
    """
    if not strips or len(strips) != len(sets):
        raise BadInput("sets", "wrong_length", "There must be set times for each strip.")
    slab = _Slab(finishing, tuple(strips), tuple(sets), tuple(rain))
    lost = lost_strips(slab.tasks, slab.h_m2(finishing))
    windows = tuple(slab.windows(lost))
    ends_at = slab.ends_at(windows)
    first_finished_at = min(strip.finished_at for strip in windows)
    return FinishingPlan(
        passes=tuple(_passes(slab)),
        strips=windows,
        starts_at=slab.at(slab.tasks[0].opens_h),
        first_finished_at=first_finished_at,
        ends_at=ends_at,
        cure_at=first_finished_at,
        people=finishing.people,
        area_m2=slab.area_m2,
        coverage_m2_h=1 / math.fsum(slab.h_m2(finishing)),
        window=Window(min(one.float_ready.likely for one in sets), max(one.final.likely for one in sets)),
        findings=(
            *_short_findings(slab, lost, ends_at),
            *_rain_findings(slab, lost, windows),
            _labour_finding(finishing, slab.area_m2),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Slab:
    """The strips as they set. Hours count from the first strip's float-ready."""

    finishing: Finishing
    strips: tuple[PlacedStrip, ...]
    sets: tuple[SetTimes, ...]
    rain: tuple[Window, ...]

    @property
    def area_m2(self) -> float:
        return math.fsum(strip.area_m2 for strip in self.strips)

    @property
    def zero_at(self) -> datetime:
        return self.sets[0].float_ready.likely

    def hours(self, moment: datetime) -> float:
        return (moment - self.zero_at).total_seconds() / 3600

    def at(self, hours: float) -> datetime:
        return _whole_second(self.zero_at + timedelta(hours=hours))

    def h_m2(self, finishing: Finishing) -> tuple[float, ...]:
        """What a party takes for each pass over a square metre."""
        kinds = (stretch.kind for stretch in PASSES[finishing.finish])
        return tuple(1 / pass_rate_m2_h(kind, finishing.people, finishing.power_trowels) for kind in kinds)

    def worked(self, tasks: Sequence[Task]) -> tuple[Done, ...]:
        """When each of these tasks, in order, is worked on between the rains."""
        clock = DryClock(self.zero_at, self.rain)
        dry = [replace(task, opens_h=clock.dry(task.opens_h)) for task in tasks]
        done = worked(dry, self.h_m2(self.finishing))
        return tuple(Done(clock.begins(one.starts_h), clock.ends(one.ends_h)) for one in done)

    @property
    def tasks(self) -> tuple[Task, ...]:
        return in_order([task for number in range(len(self.strips)) for task in self._tasks_of(number)])

    def _tasks_of(self, number: int) -> Iterator[Task]:
        for kind, stretch in enumerate(PASSES[self.finishing.finish]):
            opens_h, late_h = self.part_h(number, stretch.opens), self.part_h(number, stretch.closes + GRACE)
            yield Task(number, kind, self.strips[number].area_m2, opens_h, late_h)

    def part_h(self, number: int, share: float) -> float:
        """When so much of a strip's time from float-ready to final set is over."""
        ready_h = self.hours(self.sets[number].float_ready.likely)
        return ready_h + share * (self.hours(self.sets[number].final.likely) - ready_h)

    def closes_h(self, number: int, kind: int) -> float:
        return self.part_h(number, PASSES[self.finishing.finish][kind].closes)

    def windows(self, lost: range) -> Iterator[StripWindows]:
        kept = [task for task in self.tasks if task.strip not in lost]
        when = self.worked(kept)
        done = {(task.strip, task.kind): one for task, one in zip(kept, when, strict=True)}
        for number, (strip, sets) in enumerate(zip(self.strips, self.sets, strict=True)):
            passes = tuple(self._strip_pass(task, done) for task in self._tasks_of(number))
            yield StripWindows(
                number=strip.number,
                first_bay=strip.first_bay,
                last_bay=strip.last_bay,
                area_m2=strip.area_m2,
                placed_from_at=_whole_second(strip.starts_at),
                placed_at=_whole_second(strip.ends_at),
                ready_early_at=_whole_second(sets.float_ready.early),
                hard_at=_whole_second(sets.final.likely),
                finished_at=passes[-1].ends_at or passes[-1].closes_at,
                lost=number in lost,
                passes=passes,
            )

    def ends_at(self, windows: Sequence[StripWindows]) -> datetime:
        """When all has had its last pass, also where that is too late for some."""
        return max(self.at(self.worked(self.tasks)[-1].ends_h), *(strip.finished_at for strip in windows))

    def _strip_pass(self, task: Task, done: dict[tuple[int, int], Done]) -> StripPass:
        one = done.get((task.strip, task.kind))
        return StripPass(
            PASSES[self.finishing.finish][task.kind].kind,
            self.at(task.opens_h),
            self.at(self.closes_h(task.strip, task.kind)),
            self.at(one.starts_h) if one else None,
            self.at(one.ends_h) if one else None,
        )


def _whole_second(moment: datetime) -> datetime:
    return moment.replace(microsecond=0)


def _passes(slab: _Slab) -> Iterator[Pass]:
    people, rates = slab.finishing.people, [1 / hours for hours in slab.h_m2(slab.finishing)]
    for kind, stretch in enumerate(PASSES[slab.finishing.finish]):
        strips = range(len(slab.strips))
        opens_at = slab.at(min(slab.part_h(strip, stretch.opens) for strip in strips))
        closes_at = slab.at(max(slab.closes_h(strip, kind) for strip in strips))
        yield Pass(stretch.kind, opens_at, closes_at, people, rates[kind])


# --- what to tell people ----------------------------------------------------------------------


def _short_findings(slab: _Slab, lost: range, busy_until: datetime) -> Iterator[Finding]:
    if not lost:
        return
    finishing, tasks = slab.finishing, slab.tasks
    short = 100 * (1 - share_done(tasks, slab.h_m2(finishing)))
    gone = slab.strips[lost.start : lost.stop]
    facts: dict[str, Fact] = {
        "short_percent": short,
        "lost_percent": 100 * math.fsum(strip.area_m2 for strip in gone) / slab.area_m2,
        "first_bay": gone[0].first_bay,
        "last_bay": gone[-1].last_bay,
        "of_bays": slab.strips[-1].last_bay,
        "people": finishing.people,
        "people_needed": _people_needed(slab),
        "power_trowels": finishing.power_trowels,
        "power_trowels_needed": _power_trowels_needed(slab),
        "longer_min": _longer_min(slab),
        "busy_until": busy_until,
        "closes_at": max(one.closes_at for one in _passes(slab)),
    }
    severity = Severity.STOP if short >= HOPELESS_SHORT_PERCENT else Severity.CAUTION
    yield Finding(severity, "finishing_short", facts, "published labour values and machine rates")


def _rain_findings(slab: _Slab, lost: range, windows: Sequence[StripWindows]) -> Iterator[Finding]:
    """Say how much later rain ends the finishing, and how much is then worked later than it should be."""
    dry, ends_at = replace(slab, rain=()), slab.ends_at(windows)
    wait_min = (ends_at - dry.ends_at(tuple(dry.windows(lost)))) / timedelta(minutes=1) if slab.rain else 0.0
    if wait_min < 1:
        return
    late = [strip for strip in windows if not strip.lost and _is_late(strip)]
    facts: dict[str, Fact] = {
        "first_at": slab.rain[0].opens_at,
        "last_at": slab.rain[-1].closes_at,
        "wait_min": wait_min,
        "ends_at": ends_at,
        "late_percent": 100 * math.fsum(strip.area_m2 for strip in late) / slab.area_m2,
    }
    yield Finding(Severity.CAUTION, "finishing_waits", facts, "trade magazine and a builder's diary")


def _is_late(strip: StripWindows) -> bool:
    return any(one.ends_at is not None and one.ends_at > strip.hard_at for one in strip.passes)


def _people_needed(slab: _Slab) -> int | None:
    """The fewest finishers that lose nothing; None where no number would do."""
    more = (replace(slab.finishing, people=n) for n in range(slab.finishing.people + 1, MOST_PEOPLE + 1))
    tasks = slab.tasks
    return next((party.people for party in more if all_in_time(tasks, slab.h_m2(party))), None)


def _power_trowels_needed(slab: _Slab) -> int | None:
    """The fewest power trowels with which these finishers lose nothing."""
    trowels = range(slab.finishing.power_trowels + 1, slab.finishing.people + 1)
    more = (replace(slab.finishing, power_trowels=n) for n in trowels)
    tasks = slab.tasks
    return next((party.power_trowels for party in more if all_in_time(tasks, slab.h_m2(party))), None)


def _longer_min(slab: _Slab) -> float | None:
    """How much longer placing would have to take for these finishers to lose nothing."""
    first = slab.strips[0].middle_at
    offsets_h = [(strip.middle_at - first) / timedelta(hours=1) for strip in slab.strips]
    factor = slowed_enough(slab.tasks, offsets_h, slab.h_m2(slab.finishing))
    placing_min = (slab.strips[-1].ends_at - slab.strips[0].starts_at) / timedelta(minutes=1)
    return None if factor is None else (factor - 1) * placing_min


def _labour_finding(finishing: Finishing, area_m2: float) -> Finding:
    least_h, most_h = labour_h(finishing.finish, area_m2)
    facts: dict[str, Fact] = {
        "least_h": least_h,
        "most_h": most_h,
        "least_each_h": least_h / finishing.people,
        "most_each_h": most_h / finishing.people,
    }
    return Finding(Severity.NOTE, "finishing_labour", facts, "published cost book and estimating text")
