"""The same week in the words of a general job-scheduling library (PyJobShop), as a peer.

It has no costs of starts, crews or plants: each is a job of one optional task that is always tardy, with the
cost as its weight, so that the weighted number of tardy jobs is the cost of the week.
"""

import time
from collections import defaultdict
from dataclasses import dataclass

from pyjobshop import Model

from scheduling.engine.weekproblem import (
    WORKED,
    WeekPour,
    WeekProblem,
    cost_of_crew,
    cost_of_option,
)

PLACE, FINISH, CUT = WORKED


@dataclass(frozen=True)
class Found:
    """What the peer came to; `cost` None when it found nothing in its time, or had no room to begin."""

    cost: int | None
    bound: int | None
    seconds: float
    cpu_seconds: float
    no_room: bool = False


def best_by_jobshop(problem: WeekProblem, seconds: float, workers: int = 1) -> Found:
    began, cpu = time.perf_counter(), time.process_time()
    try:
        result = _Peer(problem).model.solve(time_limit=seconds, num_workers=workers, display=False)
    except MemoryError:  # its table of set-up times holds a number for every machine and two tasks
        return Found(None, None, time.perf_counter() - began, time.process_time() - cpu, no_room=True)
    found = (
        result.best is not None
        and len(result.best.tasks) > 0
        and result.status.value in ("Optimal", "Feasible")
    )
    return Found(
        round(result.objective) if found else None,
        round(result.lower_bound) if found else None,
        time.perf_counter() - began,
        time.process_time() - cpu,
    )


class _Peer:
    def __init__(self, problem: WeekProblem) -> None:
        self.problem, self.model = problem, Model()
        self.move = max(problem.legs.values(), default=0)
        self.placers = {crew.name: self.model.add_machine() for crew in problem.crews}
        self.people = {crew.name: self.model.add_renewable(crew.people) for crew in problem.crews}
        self.pools = {pool.name: self.model.add_renewable(len(pool.units)) for pool in problem.pools}
        self.moves = {pool.name: max(pool.move, self.move) for pool in problem.pools}
        self.plants = {
            plant.name: self.model.add_renewable(plant.rate, breaks=self._shut(plant.opens))
            for plant in problem.plants
        }
        self.free = self.model.add_renewable(1_000_000)
        self.placing = defaultdict(list)
        for pour in problem.pours:
            self._pour(pour)
        self._ways()
        self.model.set_objective(weight_tardy_jobs=1)

    def _shut(self, opens):
        end, shut = 0, []
        for first, last in sorted(opens):
            if first > end:
                shut.append((end, first))
            end = max(end, last)
        return [*shut, (end, end + 1_000)]

    def _choice(self, cost: int, **window):
        job = self.model.add_job(weight=cost, due_date=0) if cost else None
        return self.model.add_task(job, optional=True, **window)

    def _pour(self, pour: WeekPour) -> None:
        """Left out, or in one of its groups of equal lengths."""
        out = self._choice(self.problem.weights.left_out)
        self.model.add_mode(out, self.free, 1, 0)
        groups = [self._group(pour, lengths, heads) for lengths, heads in self._groups(pour).items()]
        self.model.add_select_exactly_one([out, *groups])

    def _groups(self, pour: WeekPour):
        """By how long its phases last: costs and delays, with the starts that have them."""
        alike = defaultdict(lambda: defaultdict(list))
        for one in pour.options:
            if pour.latest_day is None or one.day <= pour.latest_day:
                cost = cost_of_option(self.problem, pour, one)
                when = one.day, cost, one.finish_after, one.cut_after, one.cut_slack
                alike[one.place, one.finish, one.cut][when].append(one.start)
        return alike

    def _group(self, pour: WeekPour, lengths, starts):
        """A task as long as placing, and what must go with it: a head, a crew, a plant, tools."""
        place, finish, cut = lengths
        model = self.model
        main = model.add_task(optional=True)
        model.add_mode(main, self.free, place, 0)
        work = {FINISH: [], CUT: []}
        for need in pour.needs:
            lasts = {PLACE: place, FINISH: finish, CUT: cut}[need.phase]
            held = self._work(main, self.pools[need.pool], lasts + self.moves[need.pool], need.count)
            if need.phase is PLACE:
                self._together(main, held)
            else:
                work[need.phase].append(held)
        self._one_of(main, [self._crew(pour, crew, place, finish, cut, work) for crew in pour.crews])
        self._one_of(main, [self._plant(pour, plant, place) for plant in pour.plants])
        heads = []
        for (_, cost, finish_after, cut_after, slack), slots in starts.items():
            for first, last in _runs(sorted(slots)):
                head = self._choice(cost, earliest_start=first, latest_start=last)
                model.add_mode(head, self.free, 1, 0)
                for held in work[FINISH]:
                    self._follow(head, held, finish_after, 0)
                for held in work[CUT]:
                    self._follow(head, held, cut_after, slack)
                heads.append(head)
        self._one_of(main, heads)
        for one in work[CUT][1:]:
            self._together(work[CUT][0], one)
        return main

    def _crew(self, pour, crew, place, finish, cut, work):
        task = self._choice(cost_of_crew(self.problem, pour, crew))
        held = [self.placers[crew], self.people[crew]]
        self.model.add_mode(task, held, place, [0, pour.people[PLACE]])
        self.placing[crew].append((task, pour))
        for phase, lasts in ((FINISH, finish), (CUT, cut)):
            if pour.people[phase]:
                work[phase].append(self._work(task, self.people[crew], lasts, pour.people[phase]))
        return task

    def _plant(self, pour, plant, place):
        task = self._choice(pour.plants[plant])
        self.model.add_mode(task, self.plants[plant], place, pour.rate)
        return task

    def _work(self, task, resource, lasts, demand):
        work = self.model.add_task(optional=True)
        self.model.add_mode(work, resource, lasts, demand)
        self.model.add_select_all_or_none([task, work])
        return work

    def _follow(self, task, work, after: int, slack: int) -> None:
        self.model.add_start_before_start(task, work, after)
        self.model.add_start_before_start(work, task, -after - slack)

    def _together(self, task, other) -> None:
        self._follow(task, other, 0, 0)

    def _one_of(self, main, tasks) -> None:
        self.model.add_select_exactly_one(tasks, condition_task=main)
        for task in tasks:
            self.model.add_select_at_least_one([main], condition_task=task)
            self._together(main, task)

    def _ways(self) -> None:
        for crew, tasks in self.placing.items():
            for task, pour in tasks:
                for other, there in tasks:
                    leg = self.problem.leg(pour.site, there.site)
                    if leg:
                        self.model.add_setup_time(self.placers[crew], task, other, leg)


def _runs(starts: list[int]):
    first = last = starts[0]
    for start in starts[1:]:
        if start > last + 1:
            yield first, last
            first = start
        last = start
    yield first, last
