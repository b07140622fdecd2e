"""What one pour of a week may have: its options as columns for sums, and as bits for looking up fast.

A whole number stands for a set of slots: bit n says slot n is in it. Whether something is free all through
a stretch is then a handful of shifts for all starts of a week at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from scheduling.engine.weekproblem import Option, WeekPour, WeekProblem, cost_of_crew, cost_of_option

Ints: TypeAlias = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Starts:
    """Options of which no two start alike, as sets of starts.

    `places` by how long placing lasts; `finishes` by how long after the start finishing begins and how long
    it lasts; `cuts` by when the cut opens, how long it lasts and how late it may begin; `levels` by cost,
    the cheapest first.
    """

    options: Mapping[int, int]  # start to index
    every: int
    places: tuple[tuple[int, int], ...]
    finishes: tuple[tuple[int, int, int], ...]
    cuts: tuple[tuple[int, int, int, int], ...]
    levels: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A pour's allowed options as columns, the cheapest first where they start alike."""

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
    crews: tuple[tuple[str, int], ...]  # the cheapest first
    plants: tuple[tuple[str, int], ...]
    cheap: tuple[int, ...]  # which options are among its cheapest quarter
    layers: tuple[Starts, ...]


def asked_of(problem: WeekProblem, pour: WeekPour) -> Asked:
    """Sort out what a pour may have: in time for its latest day, while a plant is open, as pinned."""
    priced = sorted(
        ((one.start, cost_of_option(problem, pour, one), one) for one in pour.options if _allowed(pour, one)),
        key=lambda row: row[:2],
    )
    options = tuple(one for *_, one in priced)
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
                cost,
            )
            for _, cost, one in priced
        ],
        dtype=np.int64,
    ).reshape(-1, 8)
    crews = (pour.standing.crew,) if pour.pinned and pour.standing else tuple(sorted(pour.crews))
    costs = {crew: cost_of_crew(problem, pour, crew) for crew in crews}
    bar = np.quantile(columns[:, -1], 0.25) if options else 0
    cheap = tuple(np.flatnonzero(columns[:, -1] <= bar).tolist())
    by_cost = tuple(sorted(costs.items(), key=lambda pair: (pair[1], pair[0])))
    plants = tuple(sorted(pour.plants.items()))
    layers = tuple(_starts(options, columns[:, -1].tolist(), layer) for layer in _layers(options))
    start, place_end, finish, finish_end, cut, cut_lasts, cut_slack, cost = columns.T
    return Asked(
        pour=pour, options=options, start=start, place_end=place_end, finish=finish, finish_end=finish_end,
        cut=cut, cut_lasts=cut_lasts, cut_slack=cut_slack, cost=cost, crew_cost=costs, crews=by_cost,
        plants=plants, cheap=cheap, layers=layers,
    )  # fmt: skip


def _allowed(pour: WeekPour, option: Option) -> bool:
    if pour.pinned and pour.standing is not None:
        return option.start == pour.standing.start
    return pour.latest_day is None or option.day <= pour.latest_day


def _layers(options: tuple[Option, ...]) -> list[list[int]]:
    """Indices so shared out that no two of a layer start alike; nearly always one layer."""
    seen: dict[int, int] = defaultdict(int)
    layers: list[list[int]] = []
    for index, option in enumerate(options):
        layer = seen[option.start]
        seen[option.start] += 1
        if layer == len(layers):
            layers.append([])
        layers[layer].append(index)
    return layers


def _starts(options: tuple[Option, ...], costs: list[int], layer: list[int]) -> Starts:
    places: dict[int, int] = defaultdict(int)
    finishes: dict[tuple[int, int], int] = defaultdict(int)
    cuts: dict[tuple[int, int, int], int] = defaultdict(int)
    levels: dict[int, int] = defaultdict(int)
    for index in layer:
        one = options[index]
        bit = 1 << one.start
        places[one.place] |= bit
        finishes[one.finish_after, one.finish] |= bit
        cuts[one.cut_after, one.cut, one.cut_slack] |= bit
        levels[costs[index]] |= bit
    return Starts(
        options={options[index].start: index for index in layer},
        every=bits(options[index].start for index in layer),
        places=tuple(places.items()),
        finishes=tuple((*key, mask) for key, mask in finishes.items()),
        cuts=tuple((*key, mask) for key, mask in cuts.items()),
        levels=tuple(sorted(levels.items())),
    )


def bits(slots: Iterable[int]) -> int:
    """The set of some slots."""
    found = 0
    for slot in slots:
        found |= 1 << slot
    return found


def bits_of(flags: npt.NDArray[np.bool_]) -> int:
    """The set of the slots that are flagged."""
    return int.from_bytes(np.packbits(flags, bitorder="little").tobytes(), "little")


def through(free: int, length: int) -> int:
    """From which slots on a set holds that many slots in a row."""
    have = 1
    while have < length:
        step = min(have, length - have)
        free &= free >> step
        have += step
    return free


def within(free: int, slack: int) -> int:
    """From which slots on a set holds a slot at most `slack` later."""
    have = 0
    while have < slack:
        step = min(have + 1, slack - have)
        free |= free >> step
        have += step
    return free


def first_of(found: int) -> int:
    """The earliest slot of a set that is not empty."""
    return (found & -found).bit_length() - 1


def may_meet(first: Asked, second: Asked, leg: int) -> bool:
    """Whether two pours have starts so near that the way between them could matter."""
    for start, end in zip(first.start.tolist(), first.place_end.tolist(), strict=True):
        if ((second.start < end + leg) & (second.place_end + leg > start)).any():
            return True
    return False
