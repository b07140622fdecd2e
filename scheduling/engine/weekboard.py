"""What is taken in a week, slot by slot: where a pour still fits, and what the cheapest place costs.

Filling the board pour by pour is the greedy plan, which is there in milliseconds and always fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekproblem import (
    WORKED,
    Option,
    Placed,
    WeekPour,
    WeekProblem,
    cost_of_crew,
    cost_of_option,
)

Ints: TypeAlias = npt.NDArray[np.int64]
Flags: TypeAlias = npt.NDArray[np.bool_]

PLACE, FINISH, CUT = WORKED
NEVER = 1 << 30
SHUT = -(1 << 20)  # the room of a plant that is shut: less than any clash of pinned pours could leave


@dataclass(frozen=True, slots=True)
class Asked:
    """A pour's allowed options as columns, the cheapest first where costs are alike."""

    pour: WeekPour
    options: tuple[Option, ...]
    start: Ints
    place_end: Ints
    finish: Ints
    finish_end: Ints
    cut: Ints
    cut_lasts: Ints
    cut_slack: Ints
    cost: Ints
    crew_cost: Mapping[str, int]
    cheap: tuple[int, ...]  # which options are among its cheapest quarter


def asked_of(problem: WeekProblem, pour: WeekPour) -> Asked:
    """Sort out what a pour may have: in time for its latest day, while a plant is open, as pinned."""
    options = tuple(
        sorted(
            (one for one in pour.options if _allowed(pour, one)),
            key=lambda one: (one.start, cost_of_option(problem, pour, one)),
        )
    )
    columns = np.array(
        [
            (
                one.start,
                one.start + one.place,
                one.start + one.finish_after,
                one.start + one.finish_after + one.finish,
                one.start + one.cut_after,
                one.cut,
                one.cut_slack,
                cost_of_option(problem, pour, one),
            )
            for one in options
        ],
        dtype=np.int64,
    ).reshape(-1, 8)
    crews = (pour.standing.crew,) if pour.pinned and pour.standing else tuple(sorted(pour.crews))
    costs = {crew: cost_of_crew(problem, pour, crew) for crew in crews}
    bar = np.quantile(columns[:, -1], 0.25) if options else 0
    cheap = tuple(np.flatnonzero(columns[:, -1] <= bar).tolist())
    start, place_end, finish, finish_end, cut, cut_lasts, cut_slack, cost = columns.T
    return Asked(
        pour, options, start, place_end, finish, finish_end, cut, cut_lasts, cut_slack, cost, costs, cheap
    )


def _allowed(pour: WeekPour, option: Option) -> bool:
    if pour.pinned and pour.standing is not None:
        return option.start == pour.standing.start
    return pour.latest_day is None or option.day <= pour.latest_day


class Board:
    """The week's crews, pools and plants with what is taken of them."""

    def __init__(self, problem: WeekProblem, like: Board | None = None) -> None:
        """An empty board; one `like` it spares it sorting out again what the pours may have."""
        self.problem = problem
        self.pours = {pour.name: pour for pour in problem.pours}
        self.asked: dict[str, Asked] = {} if like is None else like.asked
        longest = max(problem.legs.values(), default=0)
        # Any unit may have to go any way next, and which it is, is only settled when all have their time.
        self.move = {pool.name: max(pool.move, longest) for pool in problem.pools}
        self.slots: int = _slots(problem) if like is None else like.slots
        self.room: dict[tuple[str, str], Ints] = {}
        self.have: dict[tuple[str, str], int] = {
            **{("crew", crew.name): crew.people for crew in problem.crews},
            **{("pool", pool.name): len(pool.units) for pool in problem.pools},
            **{("plant", plant.name): plant.rate for plant in problem.plants},
        }
        for key, count in self.have.items():
            self.room[key] = np.full(self.slots, count, np.int64)
        for plant in problem.plants:
            self.room["plant", plant.name] = self._open(plant.opens, plant.rate)
        self.placed: dict[str, Placed] = {}
        self.of_crew: dict[str, dict[str, Placed]] = {crew.name: {} for crew in problem.crews}

    def ask(self, name: str) -> Asked:
        """A pour's options as columns, sorted out when first asked for."""
        if name not in self.asked:
            self.asked[name] = asked_of(self.problem, self.pours[name])
        return self.asked[name]

    def _open(self, opens: Iterable[tuple[int, int]], rate: int) -> Ints:
        room = np.full(self.slots, SHUT, np.int64)
        for first, last in opens:
            room[max(0, first) : max(0, last)] = rate
        return room

    # --- putting pours on and taking them off

    def put(self, placed: Placed) -> None:
        self.placed[placed.pour] = placed
        self.of_crew[placed.crew][placed.pour] = placed
        self._take(placed, 1)

    def lift(self, pour: str) -> None:
        placed = self.placed.pop(pour)
        del self.of_crew[placed.crew][pour]
        self._take(placed, -1)

    def _take(self, placed: Placed, sign: int) -> None:
        for key, amount, first, last in uses(self.pours[placed.pour], placed, self.move):
            self.room[key][first:last] -= sign * amount

    # --- looking for room

    def fits(self, placed: Placed) -> bool:
        pour = self.pours[placed.pour]
        room = all(
            (self.room[key][first:last] >= amount).all()
            for key, amount, first, last in uses(pour, placed, self.move)
        )
        return room and not any(self.in_the_way(pour, placed))

    def in_the_way(self, pour: WeekPour, placed: Placed) -> Iterator[str]:
        """Pours that the crew places meanwhile, or too near in time for the way between."""
        start, end = placed.option.stretch(PLACE)
        for name, other in self.of_crew[placed.crew].items():
            leg, (first, last) = self._leg(other, pour), other.option.stretch(PLACE)
            if start < last + leg and first < end + leg:
                yield name

    def _leg(self, other: Placed, pour: WeekPour) -> int:
        return self.problem.leg(self.pours[other.pour].site, pour.site)

    def fitting(self, one: Asked, crew: str) -> tuple[Flags, Ints]:
        """Which options fit with a crew, plants aside, and the first slot at which each could be cut."""
        gear, cut_at = self._gear_fits(one)
        return self._crew_fits(one, crew, gear, cut_at)

    def _gear_fits(self, one: Asked) -> tuple[Flags, Ints]:
        """What pools leave room for, whoever places; and the first cut if the crew has people for it."""
        free = self._pools_clear(one.pour, PLACE, one.start, one.place_end)
        free &= self._pools_clear(one.pour, FINISH, one.finish, one.finish_end)
        return free, self._first_cut(one, None)

    def _crew_fits(self, one: Asked, crew: str, gear: Flags, cut_at: Ints) -> tuple[Flags, Ints]:
        people = one.pour.people
        free = gear & self._people_clear(crew, people.get(PLACE, 0), one.start, one.place_end)
        free &= self._people_clear(crew, people.get(FINISH, 0), one.finish, one.finish_end)
        others = [
            (*other.option.stretch(PLACE), self._leg(other, one.pour))
            for other in self.of_crew[crew].values()
        ]
        if others:
            starts, ends, legs = np.array(others).T[:, :, None]
            free &= ((one.start >= ends + legs) | (one.place_end + legs <= starts)).all(axis=0)
        if people.get(CUT, 0):
            cut_at = self._first_cut(one, crew)
        return free & (cut_at <= one.cut + one.cut_slack), cut_at

    def plant_fits(self, one: Asked, plant: str) -> Flags:
        return _clear(self.room["plant", plant] < one.pour.rate, one.start, one.place_end)

    def _people_clear(self, crew: str, people: int, first: Ints, last: Ints) -> Flags | bool:
        return _clear(self.room["crew", crew] < people, first, last) if people else True

    def _pools_clear(self, pour: WeekPour, phase: PhaseKind, first: Ints, last: Ints) -> Flags:
        free = np.ones(len(first), bool)
        for need in pour.needs:
            if need.phase is phase:
                free &= _clear(self.room["pool", need.pool] < need.count, first, last + self.move[need.pool])
        return free

    def _first_cut(self, one: Asked, crew: str | None) -> Ints:
        """For each option the first slot from which its cut is clear all through; `NEVER` if none is."""
        found = np.full(len(one.cut), NEVER, np.int64)
        moments = np.arange(self.slots)
        for lasts in np.unique(one.cut_lasts):
            clear = self._pools_clear(one.pour, CUT, moments, moments + lasts)
            if crew is not None:
                clear &= self._people_clear(crew, one.pour.people.get(CUT, 0), moments, moments + lasts)
            after = np.where(clear & (moments + lasts <= self.slots), moments, NEVER)
            after = np.minimum.accumulate(after[::-1])[::-1]
            alike = one.cut_lasts == lasts
            found[alike] = after[np.minimum(one.cut[alike], self.slots - 1)]
        return found

    def cheapest(self, name: str) -> tuple[int, Placed] | None:
        """The cheapest place a pour still has, its cost with it; the earliest of those alike."""
        one = self.ask(name)
        if not one.options:
            return None
        best: tuple[int, Placed] | None = None
        gear, cut_at = self._gear_fits(one)
        plants = {plant: gear & self.plant_fits(one, plant) for plant in sorted(one.pour.plants)}
        least = int(one.cost.min()) + min(one.pour.plants.values())
        for crew, crew_cost in sorted(one.crew_cost.items(), key=lambda pair: (pair[1], pair[0])):
            if best and crew_cost + least >= best[0]:
                break
            fits, crew_cut_at = self._crew_fits(one, crew, gear, cut_at)
            for plant, open_there in plants.items():
                costs = np.where(fits & open_there, one.cost, NEVER)
                index = int(costs.argmin())
                cost = int(costs[index]) + crew_cost + one.pour.plants[plant]
                if cost < NEVER and (best is None or cost < best[0]):
                    best = cost, Placed(name, one.options[index], crew, plant, int(crew_cut_at[index]))
        return best


def uses(
    pour: WeekPour, placed: Placed, move: Mapping[str, int]
) -> Iterable[tuple[tuple[str, str], int, int, int]]:
    """What a placed pour takes: of what, how much, from which slot up to which."""
    stretch = {phase: placed.option.stretch(phase, placed.cut_at) for phase in WORKED}
    yield ("plant", placed.plant), pour.rate, *stretch[PLACE]
    for phase, people in pour.people.items():
        if people:
            yield ("crew", placed.crew), people, *stretch[phase]
    for need in pour.needs:
        first, last = stretch[need.phase]
        yield ("pool", need.pool), need.count, first, last + move[need.pool]


def _slots(problem: WeekProblem) -> int:
    """How many slots there are until the last use of anything could end."""
    ends = (one.stretch(CUT)[1] + one.cut_slack for pour in problem.pours for one in pour.options)
    moves = (*(pool.move for pool in problem.pools), *problem.legs.values())
    return 1 + max(ends, default=0) + max(moves, default=0)


def _clear(taken: Flags, first: Ints, last: Ints) -> Flags:
    """Which stretches hold no taken slot."""
    before = np.concatenate(([0], np.cumsum(taken)))
    return np.asarray(before[np.minimum(last, len(taken))] == before[first])


# --- the greedy plan ----------------------------------------------------------------------------


def greedy_order(board: Board) -> list[str]:
    """Pours that have least to choose from first, then those that must be early, then by name."""
    names = [name for name in board.pours if name not in board.placed]
    pours = {name: board.ask(name) for name in names}
    return sorted(
        names,
        key=lambda name: (
            len(pours[name].crew_cost) * len({one.day for one in pours[name].options}),
            -int((pours[name].place_end - pours[name].start).max(initial=0)),
            name,
        ),
    )


def fill(board: Board, names: Iterable[str]) -> None:
    """Put each pour in turn where it is cheapest, and leave out those that fit nowhere."""
    left_out = board.problem.weights.left_out
    for name in names:
        found = board.cheapest(name)
        if found is not None and found[0] <= left_out:
            board.put(found[1])


def put_pinned(board: Board) -> None:
    """Put pinned pours where they stand, whatever else stands there."""
    for name, pour in board.pours.items():
        at = pour.standing
        if pour.pinned and at is not None and name not in board.placed:
            option = board.ask(name).options[0]
            board.put(Placed(name, option, at.crew, at.plant, option.stretch(CUT)[0]))


def greedy(problem: WeekProblem) -> Board:
    """A week filled pour by pour, the pinned where they stand, then those with least choice."""
    board = Board(problem)
    put_pinned(board)
    fill(board, greedy_order(board))
    return board
