"""A large week's search by several workers over rows, beside a pool of processes; what handing over costs."""

import json
import os
import tempfile
from pathlib import Path
from typing import Any

from tests.flows.servers import a_postgres
from tests.flows.trial import House, Worker, a_house, wait_until

START = """
import json, os, time
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from django.core.management import call_command
from django.utils import timezone
from scheduling.engine.week import propose_week
from scheduling.engine.weekparts import spread_over
from scheduling.models import PartKind, SharedWeek, WeekProposal
from scheduling.services import weekparts
from scheduling.services.weekwork import solve_spread
from tests.bench.week import cpu_of
from tests.weeks import generated

week, effort = generated({pours}, {crews}, 5, 1), {effort}
call_command("migrate", verbosity=0)
proposal = WeekProposal.objects.create(monday=date(2026, 6, 8), asked_at=timezone.now(), state="working")
began, cpu = time.perf_counter(), time.process_time()
"""
BY_ROWS = """
kb = []
answers = weekparts.answers
def weighed(proposal, kind, asked, *more):
    found = answers(proposal, kind, asked, *more)
    kb.extend((len(one) / 1000, len(other) / 1000) for one, other in zip(asked, found))
    return found
weekparts.answers = weighed
found = propose_week(week, effort, solve_all=solve_spread(proposal, week, lambda: True))
said = dict(
    cost=found.cost, seconds=time.perf_counter() - began, cpu_s=time.process_time() - cpu, parts=len(kb),
    asked_kb=max(one for one, _ in kb), answer_kb=max(one for _, one in kb),
    shared_kb=len(SharedWeek.objects.get().problem) / 1000,
)
"""
BY_POOL = """
with ProcessPoolExecutor({hands}) as pool:
    found = propose_week(week, effort, solve_all=spread_over(pool, week))
    said = dict(cost=found.cost, seconds=time.perf_counter() - began, cpu_s=cpu_of(pool) - cpu)
"""
EMPTY = """
asked = [os.urandom(5_000)] * 200
found = weekparts.answers(proposal, PartKind.SEARCH, asked, lambda part: bytes(part.asked), lambda _: True)
said = dict(seconds=(time.perf_counter() - began) / 200, cpu_s=(time.process_time() - cpu) / 200)
"""
END = """
proposal.delete()
print(json.dumps(said))
"""


def cpu_of(worker: Worker) -> float:
    """Processor seconds of a worker and its hands so far."""
    ticks = 0
    for pid in (worker.process.pid, *worker.children()):
        ticks += sum(
            int(word) for word in Path(f"/proc/{pid}/stat").read_text().rsplit(")")[1].split()[11:13]
        )
    return ticks / os.sysconf("SC_CLK_TCK")


def taken(house: House, work: str, **size: Any) -> dict[str, float]:
    """What a piece of work says of itself, with the processor seconds of the workers that helped."""
    before = sum(map(cpu_of, house.alive()))
    said: dict[str, float] = json.loads(house.python((START + work + END).format(**size)))
    said["cpu_s"] += sum(map(cpu_of, house.alive())) - before
    return said


def side_by_side(house: House, size: dict[str, Any]) -> dict[str, dict[str, float]]:
    rows = {}
    for hands in (1, 2):
        house.env["WEEK_HANDS"] = str(hands)
        rows[f"pool of {hands}"] = taken(house, BY_POOL, hands=hands, **size)
        if hands > 1:
            house.start_worker(hands=hands - 1)
            wait_until(lambda: house.hands(up_s=8.0), 60)
        rows[f"{hands} workers"] = taken(house, BY_ROWS, **size)
    return rows


def run(piece: str = "full") -> dict[str, float]:
    """All of it; `small` takes a week of 60 for a moment."""
    small = piece == "small"
    size = {"pours": 60 if small else 300, "crews": 6 if small else 25, "effort": 4.0 if small else 30.0}
    with (
        tempfile.TemporaryDirectory() as folder,
        a_postgres() as server,
        a_house(Path(folder), server.url, 0.0) as house,
    ):
        taken(house, BY_POOL, hands=1, pours=20, crews=3, effort=0.1)  # compiles the tries
        empty = taken(house, EMPTY, **size)
        rows = side_by_side(house, size)
    for name, said in rows.items():
        print(f"{name:<10}", "  ".join(f"{key} {value:,.2f}" for key, value in said.items()))
    costs = {said["cost"] for said in rows.values()}
    wall_ms, cpu_ms = 1000 * empty["seconds"], 1000 * empty["cpu_s"]
    print(f"handing over a part takes {wall_ms:.1f} ms, {cpu_ms:.1f} of them of this processor\n")
    return {"handover_ms": wall_ms, "handover_cpu_ms": cpu_ms, "weeks_found": len(costs)}
