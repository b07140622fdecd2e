"""What is taken in a week, slot by slot: where a pour still fits, and what the cheapest place costs.

Filling the board pour by pour is the greedy plan, which is there in milliseconds and always fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekasked import Asked, Ints, Starts, asked_of, bits_of, first_of, through, within
from scheduling.engine.weekproblem import WORKED, Placed, WeekPour, WeekProblem

Flags: TypeAlias = npt.NDArray[np.bool_]
Key: TypeAlias = tuple[str, str]

PLACE, FINISH, CUT = WORKED
SHUT = -(1 << 20)  # the room of a plant that is shut: less than any clash of pinned pours could leave


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
        self.room: dict[Key, Ints] = {}
        self.have: dict[Key, int] = {
            **{("crew", crew.name): crew.people for crew in problem.crews},
            **{("pool", pool.name): len(pool.units) for pool in problem.pools},
            **{("plant", plant.name): plant.rate for plant in problem.plants},
        }
        for key, count in self.have.items():
            self.room[key] = np.full(self.slots, count, np.int64)
        for crew in problem.crews:
            for first, last, count in crew.away:
                self.room["crew", crew.name][max(0, first) : max(0, last)] -= count
        for plant in problem.plants:
            self.room["plant", plant.name] = self._open(plant.opens, plant.rate)
        self.known: dict[Key, dict[tuple[int, int], int]] = {key: {} for key in self.room}
        self.legs: Mapping[Key, int] = _both_ways(problem.legs) if like is None else like.legs
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
            self.known[key].clear()

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
        return self.legs.get((self.pours[other.pour].site, pour.site), 0)

    def free(self, key: Key, amount: int, length: int) -> int:
        """From which slots on there is room for so much of something through so many slots."""
        known = self.known[key]
        found = known.get((amount, length))
        if found is None:
            every = known.get((amount, 1))
            if every is None:
                every = known[amount, 1] = bits_of(self.room[key] >= amount)
            found = known[amount, length] = through(every, length)
        return found

    def levels(self, key: Key) -> Iterator[tuple[int, int, int]]:
        """Stretches of slots with equal room: first, one past the last, how much."""
        room = self.room[key]
        turns = [0, *(np.flatnonzero(np.diff(room)) + 1).tolist(), len(room)]
        for first, last in pairwise(turns):
            if last > first:
                yield first, last, int(room[first])

    def fitting(self, one: Asked, crew: str) -> Flags:
        """Which options fit with a crew, plants aside."""
        return self._flags(one, [self._gear(one, at) & self._crew(one, at, crew) for at in one.layers])

    def plant_fits(self, one: Asked, plant: str) -> Flags:
        return self._flags(one, [self._plant(one, layer, plant) for layer in one.layers])

    def _flags(self, one: Asked, found: list[int]) -> Flags:
        flags = np.zeros(len(one.options), bool)
        for layer, starts in zip(one.layers, found, strict=True):
            for start, index in layer.options.items():
                flags[index] = starts >> start & 1
        return flags

    def _gear(self, one: Asked, layer: Starts) -> int:
        """Starts for which pools leave room, whoever places."""
        pour, starts = one.pour, layer.every
        for need in pour.needs:
            if need.phase is not CUT:
                starts &= self._through(
                    layer, need.phase, ("pool", need.pool), need.count, self.move[need.pool]
                )
        return starts if pour.people.get(CUT) else starts & self._cuts(one, layer, None)

    def _crew(self, one: Asked, layer: Starts, crew: str) -> int:
        """Starts at which a crew is there and has the people."""
        people, starts = one.pour.people, layer.every & ~self._elsewhere(one, layer, crew)
        for phase in (PLACE, FINISH):
            if starts and people.get(phase):
                starts &= self._through(layer, phase, ("crew", crew), people[phase])
        return starts & self._cuts(one, layer, crew) if people.get(CUT) else starts

    def _plant(self, one: Asked, layer: Starts, plant: str) -> int:
        return self._through(layer, PLACE, ("plant", plant), one.pour.rate)

    def _through(self, layer: Starts, phase: PhaseKind, key: Key, amount: int, move: int = 0) -> int:
        """Starts that find room all through a phase."""
        found = 0
        if phase is PLACE:
            for lasts, starts in layer.places:
                found |= starts & self.free(key, amount, lasts + move)
        else:
            for after, lasts, starts in layer.finishes:
                found |= starts & self.free(key, amount, lasts + move) >> after
        return found

    def _elsewhere(self, one: Asked, layer: Starts, crew: str) -> int:
        """Starts at which a crew places another slab, or is too far off from one."""
        site, legs, found = one.pour.site, self.legs, 0
        away = [
            (at.option.start, at.option.place, legs.get((self.pours[name].site, site), 0))
            for name, at in self.of_crew[crew].items()
        ]
        for lasts, starts in layer.places:
            taken = 0
            for start, place, leg in away:
                first = start - lasts - leg + 1
                taken |= (1 << start + place + leg) - (1 << first if first > 0 else 1)
            found |= starts & taken
        return found

    def _cut_free(self, pour: WeekPour, lasts: int, crew: str | None) -> int:
        """Slots from which a cut is clear all through."""
        found = (1 << max(0, self.slots - lasts + 1)) - 1
        for need in pour.needs:
            if need.phase is CUT:
                found &= self.free(("pool", need.pool), need.count, lasts + self.move[need.pool])
        people = pour.people.get(CUT, 0)
        return found & self.free(("crew", crew), people, lasts) if crew is not None and people else found

    def _cuts(self, one: Asked, layer: Starts, crew: str | None) -> int:
        """Starts after which there is a cut in time."""
        found = 0
        for after, lasts, slack, starts in layer.cuts:
            found |= starts & within(self._cut_free(one.pour, lasts, crew), slack) >> after
        return found

    def cheapest(self, name: str) -> tuple[int, Placed] | None:
        """The cheapest place a pour still has, its cost with it; the earliest of those alike."""
        one = self.ask(name)
        best: tuple[int, int, str, str] | None = None
        for layer in one.layers:
            best = self._cheapest_of(one, layer, best)
        if best is None:
            return None
        cost, index, crew, plant = best
        option = one.options[index]
        opens = option.start + option.cut_after
        cut_at = opens + first_of(self._cut_free(one.pour, option.cut, crew) >> opens)
        return cost, Placed(name, option, crew, plant, cut_at)

    def _cheapest_of(
        self, one: Asked, layer: Starts, best: tuple[int, int, str, str] | None
    ) -> tuple[int, int, str, str] | None:
        gear = self._gear(one, layer)
        plants = [
            (plant, cost, at)
            for plant, cost in one.plants
            if (at := gear and gear & self._plant(one, layer, plant))
        ]
        if not plants:
            return best
        either = 0
        for _, _, at in plants:
            either |= at
        least = next(cost for cost, starts in layer.levels if starts & either)
        least += min(cost for _, cost, _ in plants)
        for crew, crew_cost in one.crews:
            if best is not None and crew_cost + least >= best[0]:
                break
            fits = either & self._crew(one, layer, crew)
            for plant, plant_cost, at in plants if fits else ():
                both, more = fits & at, crew_cost + plant_cost
                for cost, starts in layer.levels if both else ():
                    if best is not None and cost + more >= best[0]:
                        break
                    if starts & both:
                        best = cost + more, layer.options[first_of(starts & both)], crew, plant
                        break
        return best


def uses(pour: WeekPour, placed: Placed, move: Mapping[str, int]) -> Iterable[tuple[Key, int, int, int]]:
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


def _both_ways(legs: Mapping[Key, int]) -> dict[Key, int]:
    found = {(there, here): leg for (here, there), leg in legs.items()} | dict(legs)
    return {pair: leg for pair, leg in found.items() if pair[0] != pair[1]}


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
