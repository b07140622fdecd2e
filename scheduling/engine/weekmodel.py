"""A part of a week handed to CP-SAT: pours set free among others that stay where they are.

One start per pour, optional intervals per pour and crew that may place it, order booleans only where a way
is longer than what every interval already carries behind it. What stays put is taken out of the room
beforehand, so that only starts that fit are offered. Every variable is hinted from the week as found.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import combinations
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekasked import Asked, Ints, may_meet
from scheduling.engine.weekboard import CUT, FINISH, PLACE, Board, Key
from scheduling.engine.weekproblem import Placed

SEED = 1
NEVER = 1 << 30


@dataclass(frozen=True, slots=True)
class Part:
    """What a part's solve came to; `bound` is the least the free pours can cost among the others."""

    placed: tuple[Placed, ...]
    cost: int
    bound: int
    proven: bool
    effort: float


@dataclass(frozen=True, slots=True)
class _Piece:
    """Options that differ in nothing but their start, with the literal that says one of them it is."""

    lit: Any
    members: list[int]
    hint: bool


@dataclass(slots=True)
class _Pour:
    """A free pour's variables."""

    asked: Asked
    here: Any
    start: Any
    place: Any
    finish: Any
    finish_lasts: Any
    cut: Any
    cut_lasts: Any
    pieces: list[_Piece]
    crews: dict[str, Any] = field(default_factory=dict)
    plants: dict[str, Any] = field(default_factory=dict)


class _Stop(cp_model.CpSolverSolutionCallback):
    """Passes each better answer on, and asks whether to go on."""

    def __init__(self, report: Callable[[int, int], bool]) -> None:
        super().__init__()
        self.report = report

    def on_solution_callback(self) -> None:
        if not self.report(round(self.objective_value), round(self.best_objective_bound)):
            self.stop_search()


def solve_part(
    board: Board,
    free: Sequence[str],
    hint: Mapping[str, Placed],
    effort: float,
    workers: int = 1,
    report: Callable[[int, int], bool] | None = None,
) -> Part | None:
    """Place `free` as cheaply as they can be among what is on the board.

    Parameters
    ----------
    board : Board
        Without the free pours.
    free : sequence of str
    hint : mapping of str to Placed
        Where they were; those not in it were left out.
    effort : float
        In CP-SAT's deterministic time, about seconds of one worker.
    workers : int
        More than one search in turns, which gives the same answer however many cores there are.
    report : callable, optional
        Told (best, bound) with each better answer; stops the search by answering False.

    Returns
    -------
    Part or None
        None when nothing was found within the effort.
    """
    model = _Model(board, free, hint)
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.random_seed = SEED
    parameters.max_deterministic_time = effort
    parameters.num_workers = workers
    parameters.interleave_search = workers > 1
    parameters.symmetry_level = 0
    # Probing takes longer than solving a part does.
    parameters.cp_model_probing_level = 0
    parameters.max_presolve_iterations = 1
    status = solver.solve(model.model, _Stop(report) if report else None)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    placed = tuple(model.read(solver))
    bound = int(np.ceil(solver.best_objective_bound - 1e-6))
    spent = solver.response_proto.deterministic_time
    return Part(placed, round(solver.objective_value), bound, status == cp_model.OPTIMAL, spent)


class _Model:
    def __init__(self, board: Board, free: Sequence[str], hint: Mapping[str, Placed]) -> None:
        self.board, self.problem = board, board.problem
        self.model = cp_model.CpModel()
        self.hint = hint
        self.costs: list[Any] = []
        self.pours = [one for name in free if (one := self._pour(board.ask(name))) is not None]
        self.fixed = board.problem.weights.left_out * (len(free) - len(self.pours))
        self._crews()
        self._pools()
        self._plants()
        self.model.minimize(sum(self.costs) + self.fixed)

    # --- one pour

    def _pour(self, asked: Asked) -> _Pour | None:
        """Its variables; None when it fits nowhere among what stays."""
        open_at = {name: self.board.plant_fits(asked, name) for name in sorted(asked.pour.plants)}
        any_plant = np.logical_or.reduce(list(open_at.values()))
        fits = {crew: self.board.fitting(asked, crew) & any_plant for crew in asked.crew_cost}
        fits = {crew: mask for crew, mask in fits.items() if mask.any()}
        if not fits:
            return None
        usable = np.flatnonzero(np.logical_or.reduce(list(fits.values())))
        was = self.hint.get(asked.pour.name)
        pour = self._variables(asked, usable, was)
        for crew, mask in fits.items():
            lit = self._lit(was is not None and was.crew == crew)
            pour.crews[crew] = lit
            self._only(pour.start, asked.start[mask].tolist(), lit, asked.start[usable])
            self.costs.append(asked.crew_cost[crew] * lit)
        for plant, mask in open_at.items():
            lit = self._lit(was is not None and was.plant == plant)
            pour.plants[plant] = lit
            self._only(pour.start, asked.start[usable][mask[usable]].tolist(), lit, asked.start[usable])
            self.costs.append(asked.pour.plants[plant] * lit)
        for lits in (pour.crews, pour.plants):
            self.model.add(sum(lits.values()) == pour.here)
        return pour

    def _variables(self, asked: Asked, usable: Ints, was: Placed | None) -> _Pour:
        model, here = self.model, self._lit(was is not None)
        self.costs.append(self.problem.weights.left_out * (1 - here))
        start = model.new_int_var_from_domain(cp_model.Domain.from_values(asked.start[usable].tolist()), "")
        pieces = self._pieces(asked, usable, was)
        model.add(sum(piece.lit for piece in pieces) == here)
        for piece in pieces:
            self._only(start, asked.start[piece.members].tolist(), piece.lit, asked.start[usable])
            self.costs.append(int(asked.cost[piece.members[0]]) * piece.lit)
        begin = was.option.start if was else int(asked.start[usable].min())
        model.add_hint(start, begin)
        by_piece = partial(self._by_piece, pieces)
        (place, _), (finish_lasts, _), (cut_lasts, _) = (
            by_piece(column)
            for column in (asked.place_end - asked.start, asked.finish_end - asked.finish, asked.cut_lasts)
        )
        to_finish, finish_hint = by_piece(asked.finish - asked.start)
        to_cut, cut_hint = by_piece(asked.cut - asked.start)
        slip = self._slip(pieces, asked.cut_slack, was)
        slipped = was.cut_at - was.option.stretch(CUT)[0] if was else 0
        return _Pour(
            asked,
            here,
            start,
            place,
            self._moment(start + to_finish, begin + finish_hint),
            finish_lasts,
            self._moment(start + to_cut + slip, begin + cut_hint + slipped),
            cut_lasts,
            pieces,
        )

    def _moment(self, expression: Any, hint: int) -> Any:
        """A variable for a moment, since an interval begins at one variable only."""
        moment = self.model.new_int_var(0, self.board.slots, "")
        self.model.add(moment == expression)
        self.model.add_hint(moment, hint)
        return moment

    def _pieces(self, asked: Asked, usable: Ints, was: Placed | None) -> list[_Piece]:
        """A literal for each lot of options that differ in nothing but their start."""
        alike: dict[tuple[int, ...], list[int]] = defaultdict(list)
        table = np.column_stack(
            [
                asked.place_end - asked.start,
                asked.finish - asked.start,
                asked.finish_end - asked.finish,
                asked.cut - asked.start,
                asked.cut_lasts,
                asked.cut_slack,
                asked.cost,
            ]
        )[usable]
        for index, row in zip(usable.tolist(), table.tolist(), strict=True):
            alike[tuple(row)].append(index)
        pieces = []
        for members in alike.values():
            hint = was is not None and any(asked.options[index] == was.option for index in members)
            pieces.append(_Piece(self._lit(hint), members, hint))
        return pieces

    def _by_piece(self, pieces: Sequence[_Piece], column: Ints) -> tuple[Any, int]:
        """The piece's value of a column and its hint; a plain number where all pieces have the same."""
        values = [int(column[piece.members[0]]) for piece in pieces]
        least = min(values)
        hint = next((v for v, piece in zip(values, pieces, strict=True) if piece.hint), least)
        if max(values) == least:
            return least, least
        value = self.model.new_int_var(least, max(values), "")
        more = sum((number - least) * piece.lit for number, piece in zip(values, pieces, strict=True))
        self.model.add(value == least + more)
        self.model.add_hint(value, hint)
        return value, hint

    def _slip(self, pieces: Sequence[_Piece], slack: Ints, was: Placed | None) -> Any:
        most = max(int(slack[piece.members[0]]) for piece in pieces)
        if most == 0:
            return 0
        slip = self.model.new_int_var(0, most, "")
        self.model.add(slip <= self._by_piece(pieces, slack)[0])
        self.model.add_hint(slip, was.cut_at - was.option.stretch(CUT)[0] if was else 0)
        return slip

    def _lit(self, hint: bool) -> Any:
        lit = self.model.new_bool_var("")
        self.model.add_hint(lit, hint)
        return lit

    def _only(self, start: Any, values: list[int], lit: Any, usable: Ints) -> None:
        """Bind `start` to the values while `lit` holds, where that says anything."""
        if not values:
            self.model.add(lit == 0)
        elif len(set(values)) < len(np.unique(usable)):
            domain = cp_model.Domain.from_values(values)
            self.model.add_linear_expression_in_domain(start, domain).only_enforce_if(lit)

    # --- crews: one slab at a time with the way between, and people enough

    def _crews(self) -> None:
        legs = self._legs()
        for crew in self.problem.crews:
            theirs = [pour for pour in self.pours if crew.name in pour.crews]
            self._one_slab(crew.name, theirs, legs)
            self._people(crew.name, theirs)
        self._long_legs(legs)

    def _legs(self) -> dict[str, int]:
        """For each pour the shortest way from it to any other it may share a crew with."""
        least: dict[str, int] = {pour.asked.pour.name: NEVER for pour in self.pours}
        for one, other in combinations(self.pours, 2):
            if one.crews.keys() & other.crews.keys():
                leg = self.problem.leg(one.asked.pour.site, other.asked.pour.site)
                for pour in (one, other):
                    least[pour.asked.pour.name] = min(least[pour.asked.pour.name], leg)
        return {name: 0 if leg == NEVER else leg for name, leg in least.items()}

    def _one_slab(self, crew: str, theirs: list[_Pour], legs: Mapping[str, int]) -> None:
        if len(theirs) > 1:
            self.model.add_no_overlap(
                [
                    self._interval(pour.start, pour.place + legs[pour.asked.pour.name], pour.crews[crew])
                    for pour in theirs
                ]
            )

    def _long_legs(self, legs: Mapping[str, int]) -> None:
        for one, other in combinations(self.pours, 2):
            names = one.asked.pour.name, other.asked.pour.name
            leg = self.problem.leg(one.asked.pour.site, other.asked.pour.site)
            both = sorted(one.crews.keys() & other.crews.keys())
            if (
                not both
                or leg <= min(legs[name] for name in names)
                or not may_meet(one.asked, other.asked, leg)
            ):
                continue
            same = self._lit(self._same_crew(*names))
            for crew in both:
                self.model.add_bool_or([one.crews[crew].negated(), other.crews[crew].negated(), same])
            first = self._lit(self._before(*names))
            self.model.add(other.start >= one.start + one.place + leg).only_enforce_if([same, first])
            self.model.add(one.start >= other.start + other.place + leg).only_enforce_if(
                [same, first.negated()]
            )

    def _same_crew(self, one: str, other: str) -> bool:
        return one in self.hint and other in self.hint and self.hint[one].crew == self.hint[other].crew

    def _before(self, one: str, other: str) -> bool:
        both = one in self.hint and other in self.hint
        return both and self.hint[one].option.start < self.hint[other].option.start

    def _people(self, crew: str, theirs: list[_Pour]) -> None:
        asked = [
            (self._interval(*_stretch(pour, phase), pour.crews[crew]), people)
            for pour in theirs
            for phase, people in sorted(pour.asked.pour.people.items())
            if people
        ]
        self._limited(("crew", crew), asked)

    # --- pools and plants

    def _pools(self) -> None:
        for pool in self.problem.pools:
            asked = []
            for pour in self.pours:
                for need in pour.asked.pour.needs:
                    if need.pool == pool.name:
                        first, lasts = _stretch(pour, need.phase)
                        asked.append(
                            (self._interval(first, lasts + self.board.move[pool.name], pour.here), need.count)
                        )
            self._limited(("pool", pool.name), asked)

    def _plants(self) -> None:
        for plant in self.problem.plants:
            asked = [
                (self._interval(*_stretch(pour, PLACE), pour.plants[plant.name]), pour.asked.pour.rate)
                for pour in self.pours
                if plant.name in pour.plants and pour.asked.pour.rate
            ]
            self._limited(("plant", plant.name), asked)

    def _limited(self, key: Key, asked: list[tuple[Any, int]]) -> None:
        """No more at once than there is room for beside what stays."""
        room = self.board.room[key]
        most = int(room.max(initial=0))
        if sum(amount for _, amount in asked) <= int(room.min(initial=0)):
            return
        fillers = [
            (self.model.new_fixed_size_interval_var(first, last - first, ""), most - max(level, 0))
            for first, last, level in self.board.levels(key)
            if level < most
        ]
        everything = asked + fillers
        self.model.add_cumulative([i for i, _ in everything], [n for _, n in everything], most)

    def _interval(self, first: Any, lasts: Any, lit: Any) -> Any:
        if isinstance(lasts, int):
            return self.model.new_optional_fixed_size_interval_var(first, lasts, lit, "")
        end = self.model.new_int_var(0, 2 * self.board.slots, "")
        self.model.add(end == first + lasts)
        return self.model.new_optional_interval_var(first, lasts, end, lit, "")

    # --- the answer

    def read(self, solver: cp_model.CpSolver) -> Iterator[Placed]:
        for pour in self.pours:
            if solver.boolean_value(pour.here):
                members = next(p.members for p in pour.pieces if solver.boolean_value(p.lit))
                start = solver.value(pour.start)
                index = next(i for i in members if int(pour.asked.start[i]) == start)
                yield Placed(
                    pour.asked.pour.name,
                    pour.asked.options[index],
                    next(crew for crew, lit in pour.crews.items() if solver.boolean_value(lit)),
                    next(plant for plant, lit in pour.plants.items() if solver.boolean_value(lit)),
                    solver.value(pour.cut),
                )


def _stretch(pour: _Pour, phase: PhaseKind) -> tuple[Any, Any]:
    """When a phase begins and how long it lasts."""
    if phase is PLACE:
        return pour.start, pour.place
    return (pour.finish, pour.finish_lasts) if phase is FINISH else (pour.cut, pour.cut_lasts)
