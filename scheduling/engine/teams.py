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


def _shared_out(
    groups: Sequence[_Group], tables: Sequence[Sequence[float]], most: int
) -> Iterator[tuple[int, ...]]:
    """Headcounts that make the slowest stage fastest, then the next slowest, for one a group up to `most`.

    Every table rises with each person it still takes, so giving each next person to the slowest
    group that can use one is exact; of equally slow ones, to that of the most stages, then the one that
    gains most by it.
    """
    counts = [1] * len(tables)

    def need(at: int) -> tuple[float, int, float]:
        now, then = tables[at][counts[at] - 1 : counts[at] + 1]
        return round(now, 9), -len(groups[at]), -then

    yield tuple(counts)
    for _ in range(most - len(tables)):
        takers = [at for at, table in enumerate(tables) if counts[at] < len(table)]
        if takers:
            counts[min(takers, key=need)] += 1
        yield tuple(counts)


def best_splits(
    rates: Sequence[Sequence[float]], fewest: int = 1
) -> tuple[tuple[tuple[_Group, int, float], ...], ...]:
    """Put people to stages so that the slowest goes as fast as it can (lexicographic max-min).

    Parameters
    ----------
    rates : sequence of sequences of float
        ``rates[stage][n - 1]`` is what n people do at that stage alone, same unit throughout,
        more than 0, rising with n up to some n and level after it; as many n as splits are wanted.
    fewest : int
        The first headcount wanted.

    Returns
    -------
    tuple of tuple of (stages, people, rate)
        For each headcount from `fewest` on, groups of neighbouring stages, by index. A group of
        several works them by turns, at ``1 / sum(1 / rate)``. People who could speed up nothing are
        left out.
    """
    most = len(rates[0])
    best: dict[int, tuple[tuple[float, ...], tuple[tuple[_Group, int, float], ...]]] = {}
    tables: dict[_Group, tuple[float, ...]] = {}
    for groups in _groupings(len(rates)):
        if len(groups) > most:
            continue
        for group in groups:
            if group not in tables:
                tables[group] = _rates_by_people(rates, group)
        own = [tables[group] for group in groups]
        for people, counts in enumerate(_shared_out(groups, own, most), start=len(groups)):
            if people >= fewest:
                done = [table[n - 1] for table, n in zip(own, counts, strict=True)]
                key = _slowest_first(groups, done)
                if people not in best or key > best[people][0]:
                    best[people] = key, tuple(zip(groups, counts, done, strict=True))
    return tuple(best[people][1] for people in range(fewest, most + 1))


def _slowest_first(groups: Sequence[_Group], rates: Sequence[float]) -> tuple[float, ...]:
    """Each stage's rate as its group makes it, in the order in which they are compared."""
    rounded = [round(rate, 9) for rate in rates]
    return tuple(sorted(rate for group, rate in zip(groups, rounded, strict=True) for _ in group))


def best_split(rates: Sequence[Sequence[float]], people: int) -> tuple[tuple[_Group, int, float], ...]:
    """Put `people`, at least 1, to stages as `best_splits` does; `rates` must know that many."""
    return best_splits([stage_rates[:people] for stage_rates in rates], fewest=people)[0]
