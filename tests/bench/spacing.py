"""Trucks with luck: against SimPy, how long the best spacing takes, and what saying it simply costs."""

import math
import random
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial

import numpy as np

from scheduling.engine.arrivals import Question, asked_from, best_intervals
from scheduling.engine.bestspacing import BestSpacing, best_spacing
from scheduling.engine.chance import draw_days
from scheduling.engine.inputs import USUAL_RULE, Costs, Counted, Place, Supply, TruckWaitRule, Uncertainty
from scheduling.engine.queueing import round_for, simulate
from scheduling.engine.sayable import every
from scheduling.engine.stakes import stakes_for
from tests.simulators import days_of, simpy_day

START = datetime(2026, 6, 10, 12, tzinfo=UTC)
TRUCKS, REPLICATIONS = 12, 10_000
DAYS = 2_000
YARDSTICK_DAYS = 20_000
POURS = 50
ROUNDS = 4
SEEDS = range(1, 7)
SIZES = ((12, 500), (12, 2_000), (12, 8_000), (24, 2_000), (48, 2_000), (96, 2_000))

RULES = (
    USUAL_RULE,
    TruckWaitRule(free_min=45, price=50, block_min=15, counted=Counted.STARTED),
    TruckWaitRule(free_min_per_m3=7.8, price=1),
)


@dataclass(frozen=True)
class Asked:
    """One pour as the engine is asked about it."""

    loads_m3: tuple[float, ...]
    rate_m3_h: float
    supply: Supply
    place: Place = field(default_factory=Place)
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    costs: Costs = field(default_factory=Costs)
    cold_joint_min: float = 60.0

    def best(self, seed: int = 1, days: int = DAYS) -> BestSpacing:
        return best_spacing(
            self.loads_m3,
            self.rate_m3_h,
            self.supply,
            self.place,
            self.uncertainty,
            self.costs,
            self.cold_joint_min,
            START,
            days=days,
            seed=seed,
        )

    def question(self, days: int, seed: int) -> Question:
        supply, luck = self.supply, self.uncertainty
        return Question(
            round_for(self.loads_m3, supply, self.place, luck.changeover_min, START),
            draw_days(self.loads_m3, self.rate_m3_h, supply.haul_min, luck, days, seed),
            stakes_for(self.loads_m3, self.costs, supply.age_limit_min, self.cold_joint_min, START),
        )


def usual(loads: int, **changes) -> Asked:
    supply = Supply(truck_m3=8.0, order_step_m3=0.25, haul_min=25.0, plant_rate_m3_h=60.0, **changes)
    return Asked((7.0,) * loads, 30.0, supply)


def varied(draw: random.Random) -> Asked:
    """A pour of 3 to 30 loads, near or far, quick or slow, with few trucks or many."""
    loads, m3 = draw.randint(3, 30), draw.choice((6.0, 7.0, 7.5))
    return Asked(
        loads_m3=(m3,) * (loads - 1) + (round(m3 * draw.uniform(0.3, 1), 2),),
        rate_m3_h=draw.uniform(15, 50),
        supply=Supply(
            truck_m3=8.0,
            order_step_m3=0.25,
            haul_min=draw.uniform(8, 40),
            trucks=draw.choice((None, None, 4, 6, 8)),
            plant_rate_m3_h=draw.choice((None, 50.0, 90.0)),
            age_limit_min=draw.choice((75.0, 90.0, 90.0, 120.0)),
        ),
        place=Place(one_truck_at_a_time=draw.random() < 0.2),
        uncertainty=Uncertainty(
            late_mean_min=draw.uniform(0, 5),
            late_sd_min=draw.uniform(4, 10),
            unload_cv=draw.uniform(0.2, 0.4),
        ),
        costs=Costs(
            crew_per_h=draw.uniform(150, 450),
            truck_per_h=draw.choice((30, 60, 100)),
            truck_wait=draw.choice(RULES),
        ),
        cold_joint_min=draw.uniform(40, 90),
    )


# --- against SimPy ----------------------------------------------------------------------------


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def against_simpy() -> float:
    """The same days, with the same luck, on both; SimPy once, the engine's median of fifteen."""
    pour = usual(TRUCKS, trucks=6)
    question = pour.question(REPLICATIONS, 1)
    asked = every(14).asked_min(TRUCKS)
    told = list(days_of(asked.tolist(), question.turn, question.draws))
    happened = []
    theirs = seconds(lambda: happened.extend(simpy_day(day) for day in told))
    ours = statistics.median(
        seconds(lambda: simulate(asked, question.turn, question.draws)) for _ in range(15)
    )
    drawing = statistics.median(seconds(lambda: pour.question(REPLICATIONS, 1)) for _ in range(5))
    paths = simulate(asked, question.turn, question.draws)
    ends = np.array([sorted(day.end) for day in happened]).T
    apart = float(np.abs(paths.end - ends).max())
    if apart > 1e-6:
        raise AssertionError(f"SimPy and the engine are {apart:g} min apart.")
    print(f"{REPLICATIONS:,} days of {TRUCKS} trucks on rounds: SimPy {theirs:.2f} s,", end=" ")
    print(f"engine {ours * 1000:.2f} ms, {theirs / ours:,.0f} times as fast")
    print(
        f"(with drawing the days {(ours + drawing) * 1000:.2f} ms, {theirs / (ours + drawing):,.0f} times);",
        end=" ",
    )
    print(f"discharges end at most {apart:.0e} min apart\n")
    return theirs / ours


# --- how long the best spacing takes ----------------------------------------------------------


def best_ms(loads: int, days: int) -> float:
    """Milliseconds for one pour, on average over some seeds: luck decides how long a search walks."""
    pour = usual(loads)
    return statistics.mean(seconds(partial(pour.best, seed, days)) for seed in SEEDS) * 1000


def growth() -> float:
    """Milliseconds for 12 loads and 2,000 days; the table shows how they grow."""
    took = dict.fromkeys(SIZES, math.inf)
    for _ in range(ROUNDS):  # others may be at work on the machine: each size at its best of several rounds
        for size in SIZES:
            took[size] = min(took[size], best_ms(*size))
    base = took[12, DAYS]
    print(f"{'loads':>6} {'days':>6} {'ms':>8} {'times the work':>15} {'times the time':>15}")
    for (loads, days), ms in took.items():
        print(f"{loads:>6} {days:>6,} {ms:>8.1f} {loads * days / (12 * DAYS):>15.2f} {ms / base:>15.2f}")
    print()
    return base


# --- what saying it simply costs --------------------------------------------------------------


@dataclass(frozen=True)
class Compared:
    """Costs of one pour's plans on days that none of them was found on."""

    said: str
    free: float
    sayable: float
    plain: float

    @property
    def loss_pct(self) -> float:
        return 100 * (self.sayable / self.free - 1)

    @property
    def saved_pct(self) -> float:
        return 100 * (1 - self.sayable / self.plain)

    @property
    def free_saved_pct(self) -> float:
        return 100 * (1 - self.free / self.plain)


def compared(pour: Asked, seed: int) -> Compared:
    """The sayable plan as found in a tenth of a second, beside a free one found on ten times the days."""
    plan, loads = pour.best(seed), len(pour.loads_m3)
    search, judge = pour.question(YARDSTICK_DAYS, 1_001), pour.question(YARDSTICK_DAYS, 1_002)
    starts = (plan.sayable.intervals_min(loads), np.array(plan.free_intervals_min))
    free = [asked_from(best_intervals(search, start)) for start in starts]
    sayable = judge.cost(plan.sayable.asked_min(loads))
    told = plan.sayable
    said = f"{told.first_together} together, then {told.interval_min}"
    return Compared(
        said if told.simple else f"{said}, the first after {told.next_after_min}",
        min(sayable, *(judge.cost(asked) for asked in free)),
        sayable,
        judge.cost(every(plan.plain_interval_min).asked_min(loads)),
    )


def simply_said() -> tuple[float, float]:
    draw = random.Random(1)
    rows = []
    print(f"{'':>3} {'loads':>5} {'haul':>5} {'trucks':>6} {'unload':>6} {'free':>7} {'say':>7}", end=" ")
    print(f"{'plain':>7} {'loss %':>6} {'saved %':>7}  what is said, in minutes")
    for number in range(1, POURS + 1):
        pour = varied(draw)
        row = compared(pour, number)
        rows.append(row)
        unload = 60 * pour.loads_m3[0] / pour.rate_m3_h
        print(f"{number:>3} {len(pour.loads_m3):>5} {pour.supply.haul_min:>5.0f}", end=" ")
        print(
            f"{pour.supply.trucks or 'any':>6} {unload:>6.1f} {row.free:>7.0f} {row.sayable:>7.0f}", end=" "
        )
        print(f"{row.plain:>7.0f} {row.loss_pct:>6.2f} {row.saved_pct:>7.1f}  {row.said}")
    losses = [row.loss_pct for row in rows]
    for name, numbers in (
        ("sayable dearer than free", losses),
        ("sayable cheaper than load / rate", [row.saved_pct for row in rows]),
        ("free cheaper than load / rate", [row.free_saved_pct for row in rows]),
    ):
        print(
            f"{name}: mean {statistics.mean(numbers):.1f} %, median {statistics.median(numbers):.1f} %,",
            end=" ",
        )
        print(f"from {min(numbers):.1f} to {max(numbers):.1f} %")
    print(f"{sum(loss <= 3 for loss in losses)} of {POURS} sayable plans are within 3 % of the free one")
    return statistics.mean(losses), statistics.mean(row.saved_pct for row in rows)


def run() -> dict[str, float]:
    ratio = against_simpy()
    spacing_ms = growth()
    loss, saved = simply_said()
    return {"simpy_ratio": ratio, "spacing_ms": spacing_ms, "sayable_loss_pct": loss, "saved_pct": saved}
