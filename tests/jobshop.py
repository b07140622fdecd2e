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
    """What the peer came to; `cost` None when it found nothing in its time."""

    cost: int | None
    bound: int | None
    seconds: float
    cpu_seconds: float


def best_by_jobshop(problem: WeekProblem, seconds: float, workers: int = 1) -> Found:
    began, cpu = time.perf_counter(), time.process_time()
    result = _Peer(problem).model.solve(time_limit=seconds, num_workers=workers, display=False)
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
        """A left-out task or a piece, a crew and a plant, with the phases that hang on the piece."""
        out = self._choice(self.problem.weights.left_out)
        self.model.add_mode(out, self.free, 1, 0)
        pieces = [self._piece(pour, *piece) for piece in self._pieces(pour)]
        self.model.add_select_exactly_one([out, *pieces])

    def _pieces(self, pour: WeekPour):
        alike = defaultdict(list)
        for one in pour.options:
            if pour.latest_day is None or one.day <= pour.latest_day:
                lengths = one.place, one.finish_after, one.finish, one.cut_after, one.cut, one.cut_slack
                alike[one.day, cost_of_option(self.problem, pour, one), lengths].append(one.start)
        for (_, cost, lengths), starts in alike.items():
            yield from ((cost, lengths, first, last) for first, last in _runs(sorted(starts)))

    def _piece(self, pour: WeekPour, cost: int, lengths, first: int, last: int):
        """The piece's own task starts with the placing; its crews', plants' and phases' tasks follow it."""
        place, finish_after, finish, cut_after, cut, slack = lengths
        model = self.model
        window = {"earliest_start": first, "latest_start": last}
        head = self._choice(cost, **window)
        model.add_mode(head, self.free, place, 0)
        when = {PLACE: (0, place, 0), FINISH: (finish_after, finish, 0), CUT: (cut_after, cut, slack)}
        saws = [self._held(head, need, *when[need.phase]) for need in pour.needs if need.phase is CUT]
        for need in pour.needs:
            if need.phase is not CUT:
                self._held(head, need, *when[need.phase])
        crews = []
        for crew in pour.crews:
            task = self._choice(cost_of_crew(self.problem, pour, crew), **window)
            held = [self.placers[crew], self.people[crew]]
            model.add_mode(task, held, place, [0, pour.people[PLACE]])
            self.placing[crew].append((task, pour))
            self._with(task, pour, crew, FINISH, *when[FINISH])
            cutting = self._with(task, pour, crew, CUT, *when[CUT])
            for saw in saws if cutting is not None else ():
                self._together(cutting, saw)
            crews.append(task)
        self._one_of(head, crews)
        plants = []
        for plant in pour.plants:
            task = self._choice(pour.plants[plant], **window)
            model.add_mode(task, self.plants[plant], place, pour.rate)
            plants.append(task)
        self._one_of(head, plants)
        return head

    def _with(self, task, pour, crew, phase, after, lasts, slack):
        if not pour.people[phase]:
            return None
        work = self.model.add_task(optional=True)
        self.model.add_mode(work, self.people[crew], lasts, pour.people[phase])
        self._follow(task, work, after, slack)
        return work

    def _held(self, task, need, after, lasts, slack):
        work = self.model.add_task(optional=True)
        self.model.add_mode(work, self.pools[need.pool], lasts + self.moves[need.pool], need.count)
        self._follow(task, work, after, slack)
        return work

    def _follow(self, task, work, after: int, slack: int) -> None:
        self.model.add_select_all_or_none([task, work])
        self.model.add_start_before_start(task, work, after)
        self.model.add_start_before_start(work, task, -after - slack)

    def _together(self, task, other) -> None:
        self.model.add_start_before_start(task, other)
        self.model.add_start_before_start(other, task)

    def _one_of(self, head, tasks) -> None:
        self.model.add_select_exactly_one(tasks, condition_task=head)
        for task in tasks:
            self.model.add_select_at_least_one([head], condition_task=task)
            self._together(head, task)

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
