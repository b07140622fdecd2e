"""Look over a proposed week with fresh eyes: turned into bookings with named units, searched for conflicts.

Nothing of the search is used here, so that a fault of it shows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import tzinfo

from scheduling.engine.inputs import PhaseKind, Window
from scheduling.engine.weekbook import Limits, PlantHours, WeekBook, Work, Worker
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekconflicts import find_conflicts
from scheduling.engine.weekproblem import SLOT_MIN, WORKED, Need, Placed, WeekPour, WeekProblem

UNLIMITED = Limits(day_h=None, rest_h=None)


def conflicts_in(
    problem: WeekProblem, placed: Iterable[Placed], zone: tzinfo, limits: Limits = UNLIMITED
) -> tuple[Conflict, ...]:
    """Find what a proposed week breaks; nothing, if the search is right.

    Parameters
    ----------
    problem : WeekProblem
    placed : iterable of Placed
    zone : tzinfo
        Says which day a moment is of.
    limits : Limits, optional
        Of hours and rest, which the search leaves to the starts it is offered.

    Returns
    -------
    tuple of Conflict
    """
    return find_conflicts(book_of(problem, tuple(placed), zone, limits))


def book_of(problem: WeekProblem, placed: tuple[Placed, ...], zone: tzinfo, limits: Limits) -> WeekBook:
    """A proposed week as it would be booked."""
    pours = {pour.name: pour for pour in problem.pours}
    units = units_of(problem, placed)
    return WeekBook(
        work=tuple(work for one in placed for work in _work(problem, pours[one.pour], one, units)),
        people={crew.name: crew.people for crew in problem.crews},
        zone=zone,
        workers=tuple(
            Worker(
                f"{crew.name} {number}", away=(Window(problem.at(first), problem.at(last)),), crew=crew.name
            )
            for crew in problem.crews
            for number, (first, last, count) in enumerate(crew.away)
            for _ in range(count)
        ),
        plants=tuple(
            PlantHours(
                plant.name,
                float(plant.rate),
                tuple(Window(problem.at(first), problem.at(last)) for first, last in plant.opens),
            )
            for plant in problem.plants
        ),
        limits=limits,
        legs_min={pair: float(SLOT_MIN * leg) for pair, leg in problem.legs.items()},
    )


def _work(
    problem: WeekProblem, pour: WeekPour, placed: Placed, units: Mapping[tuple[str, str], tuple[str, ...]]
) -> Iterator[Work]:
    for phase in WORKED:
        first, last = placed.option.stretch(phase, placed.cut_at)
        placing = phase is PhaseKind.PLACE
        held = (units.get((pour.name, need.pool), ()) for need in pour.needs if need.phase is phase)
        yield Work(
            pour=pour.name,
            crew=placed.crew,
            kind=phase,
            starts_at=problem.at(first),
            ends_at=problem.at(last),
            people=pour.people.get(phase, 0),
            site=pour.site,
            units=tuple(name for names in held for name in names),
            plant=placed.plant if placing else None,
            rate_m3_h=float(pour.rate) if placing else 0.0,
        )


def units_of(problem: WeekProblem, placed: Iterable[Placed]) -> dict[tuple[str, str], tuple[str, ...]]:
    """Which named units each pour has of each pool.

    Taken in order of time, each by the unit that has been free longest: with no more asked for at once
    than there are, as in every proposal, none is asked for twice.
    """
    pours = {pour.name: pour for pour in problem.pours}
    asked: dict[str, list[tuple[int, int, str, Need]]] = {pool.name: [] for pool in problem.pools}
    for one in placed:
        for need in pours[one.pour].needs:
            asked[need.pool].append((*one.option.stretch(need.phase, one.cut_at), one.pour, need))
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for pool in problem.pools:
        free_at = dict.fromkeys(pool.units, 0)
        for _, last, pour, need in sorted(asked[pool.name], key=lambda row: (row[0], row[2])):
            chosen = sorted(free_at, key=lambda name: (free_at[name], name))[: need.count]
            free_at |= dict.fromkeys(chosen, last)
            found[pour, pool.name] = tuple(chosen)
    return found
