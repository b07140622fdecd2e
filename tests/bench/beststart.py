"""What a sweep of start times costs: two days of half hours for ten pours, by start."""

import random
import statistics
import time
from datetime import timedelta

from scheduling.engine.beststart import StartLimits, best_starts
from tests.bench.plan import START, plan_ms, request

POURS = 10
STARTS = [START + timedelta(minutes=30 * number) for number in range(96)]


def run() -> dict[str, float]:
    draw = random.Random(2)
    asked = [request(draw, draw.randint(1, 40)) for _ in range(POURS)]
    plan_ms(asked[0])  # the first call pays for what every later one finds ready
    print(f"{'pour':>5} {'one plan, ms':>13} {'a start, ms':>12}")
    taken = []
    for number, one in enumerate(asked, start=1):
        plain = statistics.median(plan_ms(one) for _ in range(5))
        began = time.perf_counter()
        best_starts(one, STARTS, StartLimits())
        taken.append((time.perf_counter() - began) * 1000 / len(STARTS))
        print(f"{number:>5} {plain:>13.2f} {taken[-1]:>12.2f}")
    return {"start_ms_mean": statistics.mean(taken), "start_ms_longest": max(taken)}
