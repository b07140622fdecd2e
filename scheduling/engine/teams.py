"""Sharing people out over a line of stages so that the slowest goes as fast as it can."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

_Group = tuple[int, ...]


def _groupings(count: int) -> Iterator[tuple[_Group, ...]]:
    """Every way to cut a line of `count` stages into groups of neighbours, most groups first."""
    for cuts in range(count - 1, -1, -1):
        for places in combinations(range(1, count), cuts):
            yield tuple(tuple(range(a, b)) for a, b in pairwise((0, *places, count)))


def _rates_by_people(rates: Sequence[Sequence[float]], group: _Group) -> tuple[float, ...]:
    """What one, two, ... people make of a group by turns, as far as one more still helps."""
    out: list[float] = []
    for hands in zip(*(rates[stage] for stage in group), strict=True):
        rate = 1 / sum(1 / stage_rate for stage_rate in hands)
        if out and rate <= out[-1]:
            break
        out.append(rate)
    return tuple(out)


def _share_out(tables: Sequence[Sequence[float]], people: int) -> tuple[int, ...]:
    """Headcounts that make the slowest group fastest, then the next slowest, and so on.

    Every table rises with each person it still takes, so giving each next person to the slowest
    group that can use one is exact; of equals, the one that gains most by it.
    """
    counts = [1] * len(tables)
    for _ in range(people - len(tables)):
        takers = [at for at, table in enumerate(tables) if counts[at] < len(table)]
        if not takers:
            break
        slowest = min(takers, key=lambda at: (tables[at][counts[at] - 1], -tables[at][counts[at]]))
        counts[slowest] += 1
    return tuple(counts)


def best_split(rates: Sequence[Sequence[float]], people: int) -> tuple[tuple[_Group, int, float], ...]:
    """Put people to stages so that the slowest stage goes as fast as it can (lexicographic max-min).

    Parameters
    ----------
    rates : sequence of sequences of float
        ``rates[stage][n - 1]`` is what n people do at that stage alone, same unit throughout,
        more than 0, rising with n up to some n and level after it.
    people : int
        How many there are; at least 1.

    Returns
    -------
    tuple of (stages, people, rate)
        Groups of neighbouring stages, by index. A group of several works them by turns, at
        ``1 / sum(1 / rate)``. People who could speed up nothing are left out.
    """
    best: tuple[tuple[_Group, int, float], ...] = ()
    best_key: tuple[float, ...] = ()
    for groups in _groupings(len(rates)):
        if len(groups) > people:
            continue
        tables = [_rates_by_people(rates, group) for group in groups]
        counts = _share_out(tables, people)
        teams = tuple((g, n, table[n - 1]) for g, n, table in zip(groups, counts, tables, strict=True))
        key = tuple(sorted(round(rate, 9) for group, _, rate in teams for _ in group))
        if key > best_key:
            best, best_key = teams, key
    return best
