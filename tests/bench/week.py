"""Weeks proposed: how far from the best known, how soon, beside a peer; conflicts at scale."""

import os
import random
import time
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.week import Progress, Proposal, propose_week
from scheduling.engine.weekbook import WeekBook, Work
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.engine.weekparts import spread_over
from scheduling.engine.weekproblem import WeekProblem
from tests.jobshop import best_by_jobshop
from tests.weeks import generated

DAYS, CORES = 5, 2
LONG = 2.5  # how many times the effort of the proposal goes into finding the best known
FIRST_DAY = datetime(2026, 1, 5, tzinfo=UTC)
WORK = ((PhaseKind.PLACE, 0, 180, 5), (PhaseKind.FINISH, 300, 210, 2), (PhaseKind.CUT, 600, 90, 1))


@dataclass(frozen=True)
class Size:
    """Weeks of one size, and what a proposal of them may take."""

    pours: int
    crews: int
    effort: float
    seconds: float
    seeds: tuple[int, ...]  # even ones are hard


SIXTY = Size(60, 6, 18.0, 10, tuple(range(1, 11)))
THREE_HUNDRED = Size(300, 25, 64.0, 60, (1,))


# --- proposals --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Timed:
    proposal: Proposal
    first_s: float
    seconds: float
    cpu_s: float  # of this process and of the pool's


def cpu_of(pool: Executor) -> float:
    """Processor seconds of this process and of a pool's workers, which are asked while they are idle."""
    return time.process_time() + sum(dict(pool.map(spent, range(4 * CORES))).values())


def spent(_: int) -> tuple[int, float]:
    """Which process this is, and its processor seconds; long enough that every idle one has its turn."""
    time.sleep(0.02)
    return os.getpid(), time.process_time()


def timed(problem: WeekProblem, effort: float, pool: Executor, seed: int = 1, **more) -> Timed:
    cpu, began, first = cpu_of(pool), time.perf_counter(), []

    def tell(_: Progress) -> bool:
        first.append(time.perf_counter() - began)
        return True

    solve_all = spread_over(pool, problem)
    found = propose_week(problem, effort, seed=seed, solve_all=solve_all, on_progress=tell, **more)
    seconds = time.perf_counter() - began
    if found.conflicts or found.failed:
        raise AssertionError(f"A proposal with conflicts: {found.conflicts[:3]}")
    return Timed(found, first[0], seconds, cpu_of(pool) - cpu)


def against_best(size: Size, seed: int, pool: Executor) -> tuple[float, Timed]:
    """How far one week's proposal is from the best known, in per cent; prints its row."""
    problem = generated(size.pours, size.crews, DAYS, seed, hard=seed % 2 == 0)
    ours = timed(problem, size.effort, pool)
    peer = best_by_jobshop(problem, size.seconds, CORES)
    longer = timed(problem, LONG * size.effort, pool, seed=2).proposal
    polished = timed(problem, size.effort, pool, seed=3, start=ours.proposal.placed).proposal
    best = min(one for one in (ours.proposal.cost, longer.cost, polished.cost, peer.cost) if one is not None)
    gap = 100 * (ours.proposal.cost / best - 1)
    told = f"{peer.cost:,}" if peer.cost is not None else "no room" if peer.no_room else "nothing"
    print(
        f"{size.pours:>5} {seed:>4} {'hard' if seed % 2 == 0 else '':>5} {ours.proposal.greedy_cost:>8,}",
        end=" ",
    )
    print(f"{ours.first_s:>8.2f} {ours.proposal.cost:>8,} {len(ours.proposal.left_out):>4}", end=" ")
    print(
        f"{ours.seconds:>7.1f} {ours.cpu_s:>7.1f} {best:>8,} {gap:>6.2f} {ours.proposal.bound:>7,}", end=" "
    )
    print(f"{told:>8} {peer.seconds:>7.1f} {peer.cpu_seconds:>7.1f}", flush=True)
    return gap, ours


def proposals(size: Size) -> tuple[float, float]:
    """Worst distance from the best known, and the seconds of the slowest."""
    print(f"{'pours':>5} {'week':>4} {'':>5} {'greedy':>8} {'in s':>8} {'ours':>8} {'out':>4}", end=" ")
    print(f"{'s':>7} {'cpu s':>7} {'best':>8} {'gap %':>6} {'bound':>7} {'peer':>8} {'s':>7} {'cpu s':>7}")
    with ProcessPoolExecutor(CORES) as pool:
        rows = [against_best(size, seed, pool) for seed in size.seeds]
    print()
    return max(gap for gap, _ in rows), max(ours.seconds for _, ours in rows)


def same(runs: int, effort: float) -> float:
    """How many of the runs give the first one's week."""
    problem = generated(30, 4, DAYS, 2, hard=True)
    with ProcessPoolExecutor(CORES) as pool:
        ways = (None, spread_over(pool, problem))
        found = [propose_week(problem, effort, solve_all=ways[run % 2]) for run in range(runs)]
    alike = sum(one == found[0] for one in found)
    print(f"{alike} of {runs} runs give the same week of 30 pours, here and by {CORES} processes in turn\n")
    return float(alike)


# --- conflicts at scale -----------------------------------------------------------------------


def book(pours: int, seed: int = 1) -> WeekBook:
    """Pours over as many days as they fill, forty a day; a crew has one or two, and a few of them clash."""
    draw = random.Random(seed)
    work = []
    for number in range(pours):
        crew = f"crew {number % 40}"
        start = FIRST_DAY + timedelta(days=number // 40, hours=6, minutes=15 * draw.randrange(8))
        if draw.random() < 0.05:
            crew = f"crew {draw.randrange(40)}"
        for kind, after_min, lasts_min, people in WORK:
            starts_at = start + timedelta(minutes=after_min)
            ends_at = starts_at + timedelta(minutes=lasts_min + 15 * draw.randrange(3))
            units = (f"saw {number % 40}",) if kind is PhaseKind.CUT else ()
            work.append(
                Work(
                    pour=f"pour {number}",
                    crew=crew,
                    kind=kind,
                    starts_at=starts_at,
                    ends_at=ends_at,
                    people=people,
                    site=f"site {number % 200}",
                    units=units,
                )
            )
    return WeekBook(work=tuple(work), people={f"crew {n}": 6 for n in range(40)}, leg_min=20.0)


def by_pairs(book: WeekBook) -> int:
    """What the pair test must at least do: see which phases of one crew meet."""
    work = book.work
    return sum(
        one.crew == other.crew and one.starts_at < other.ends_at and other.starts_at < one.ends_at
        for index, one in enumerate(work)
        for other in work[:index]
    )


def seconds(work: Callable[[], object], rounds: int = 3) -> tuple[float, float]:
    """Least seconds, of the clock and of this process, over some rounds."""
    took = []
    for _ in range(rounds):
        began, cpu = time.perf_counter(), time.process_time()
        work()
        took.append((time.perf_counter() - began, time.process_time() - cpu))
    return min(clock for clock, _ in took), min(cpu for _, cpu in took)


def conflicts(sizes: tuple[int, ...], most_pairs: int) -> float:
    """Processor seconds for the most phases: one core's work, whatever else the machine does."""
    print(f"{'phases':>8} {'conflicts':>9} {'s':>8} {'cpu s':>8} {'us each':>8} {'pairs, cpu s':>13}")
    cpu_s = 0.0
    for pours in sizes:
        asked = book(pours)
        clock_s, cpu_s = seconds(lambda asked=asked: find_conflicts(asked))
        found, phases = len(find_conflicts(asked)), len(asked.work)
        pairs = f"{seconds(lambda asked=asked: by_pairs(asked), 1)[1]:.2f}" if phases <= most_pairs else ""
        print(
            f"{phases:>8,} {found:>9,} {clock_s:>8.3f} {cpu_s:>8.3f} {1e6 * cpu_s / phases:>8.2f} {pairs:>13}"
        )
    print()
    return cpu_s


def run(piece: str = "full") -> dict[str, float]:
    """All of it; `small` does less of each, `conflicts` only those."""
    if piece == "conflicts":
        return {"conflicts100k_s": conflicts((334, 1_000, 3_334, 10_000, 33_334), 3_002)}
    small = piece == "small"
    conflicts_s = conflicts(
        (334, 3_334) if small else (334, 1_000, 3_334, 10_000, 33_334), 1_002 if small else 3_002
    )
    alike = same(3 if small else 20, 2.0)
    few = Size(60, 6, SIXTY.effort, SIXTY.seconds, (1, 2))
    sixty, sixty_s = proposals(few if small else SIXTY)
    many, many_s = proposals(Size(120, 10, 25.0, 20, (1,)) if small else THREE_HUNDRED)
    return {
        "gap60_pct": sixty,
        "gap60_s": sixty_s,
        "gap300_pct": many,
        "gap300_s": many_s,
        "conflicts100k_s": conflicts_s,
        "same20": alike,
    }
