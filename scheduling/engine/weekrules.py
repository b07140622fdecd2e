"""The rules of a week: people, equipment, plants, papers, places and the ways between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import chain

import numpy as np

from scheduling.engine.conflicts import PEOPLE_SHORT, TWO_PLACINGS
from scheduling.engine.inputs import PhaseKind, Severity, Window
from scheduling.engine.sweep import Stretches, before_each, meeting, moment, overfull
from scheduling.engine.weekcolumns import (
    Asking,
    Columns,
    Conflict,
    asking,
    conflict,
    outside,
    over,
    windows_in,
    within,
)
from scheduling.engine.weekhours import crew_hours, crew_rest, worker_hours, worker_rest

STOP, CAUTION = Severity.STOP, Severity.CAUTION
LOUD = frozenset((PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT))  # trucks, power trowels, saws


def _people(columns: Columns) -> Iterator[Conflict]:
    them = columns.of_crews(columns.people > 0, columns.people)
    return over(columns, them, columns.book.people, PEOPLE_SHORT)


def _placings(columns: Columns) -> Iterator[Conflict]:
    """A crew places one slab at a time; parts of one pour are one."""
    crews = columns.of_crews(columns.placing, np.ones(len(columns.work)))
    number: dict[tuple[int, str], int] = {}
    pairs = zip(crews.groups.tolist(), crews.rows.tolist(), strict=True)
    slab = [number.setdefault((crew, columns.work[row].pour), len(number)) for crew, row in pairs]
    asked = columns.stretches(crews.rows, crews.groups)
    parts = Stretches(np.array(slab, dtype=np.int64), asked.starts, asked.ends)
    whole = overfull(parts, crews.amount, np.zeros(len(number))).at
    of_crew = np.array([crew for crew, _ in number], dtype=np.int64)
    slabs = Stretches(of_crew[whole.group], whole.starts, whole.ends)
    found = overfull(slabs, np.ones(len(slabs.group)), np.ones(len(crews.names)))
    for index, met in enumerate(meeting(found.at, asked)):
        rows = [columns.work[crews.rows[one]] for one in met]
        window = moment(found.at.starts[index]), moment(found.at.ends[index])
        who = crews.names[int(found.at.group[index])]
        yield conflict(STOP, TWO_PLACINGS, who, window, rows, float(found.most[index]), 1.0)


def _workers(columns: Columns) -> Iterator[Conflict]:
    them = asking((row, name, 1.0) for row, one in enumerate(columns.work) for name in one.workers)
    return over(columns, them, dict.fromkeys(them.names, 1.0), "worker_twice")


def _units(columns: Columns) -> Iterator[Conflict]:
    them = asking((row, name, 1.0) for row, one in enumerate(columns.work) for name in one.units)
    return over(columns, them, dict.fromkeys(them.names, 1.0), "unit_twice")


def _gear(columns: Columns) -> Iterator[Conflict]:
    """So many of a kind, those out of use counted as taken, those held by name too."""
    units = columns.book.units
    if not units:
        return iter(())
    kind_of = {unit.name: unit.kind for unit in units}
    have: dict[str, float] = {}
    for unit in units:
        have[unit.kind] = have.get(unit.kind, 0.0) + 1
    work = columns.work
    named = ((row, kind_of[n], 1.0) for row, one in enumerate(work) for n in one.units if n in kind_of)
    counted = ((row, kind, float(count)) for row, one in enumerate(work) for kind, count in one.gear)
    them = asking(chain(named, counted))
    away = [(unit.kind, window) for unit in units for window in unit.away]
    return _gear_over(columns, them, {name: have.get(name, 0.0) for name in them.names}, away)


def _gear_over(
    columns: Columns, them: Asking, have: Mapping[str, float], away: Sequence[tuple[str, Window]]
) -> Iterator[Conflict]:
    number = {name: index for index, name in enumerate(them.names)}
    gone = [(number[kind], window) for kind, window in away if kind in number]
    asked = columns.stretches(them.rows, them.groups)
    out = windows_in([(index, window) for index, window in gone])
    both = Stretches(
        *(np.concatenate((getattr(asked, c), getattr(out, c))) for c in ("group", "starts", "ends"))
    )
    limit = np.array([have[name] for name in them.names], dtype=np.float64)
    found = overfull(both, np.concatenate((them.amount, np.ones(len(gone)))), limit)
    for index, met in enumerate(meeting(found.at, asked)):
        if met:
            rows = [columns.work[them.rows[one]] for one in met]
            window = moment(found.at.starts[index]), moment(found.at.ends[index])
            group = int(found.at.group[index])
            needed, limit_here = float(found.most[index]), float(limit[group])
            yield conflict(STOP, "gear_short", them.names[group], window, rows, needed, limit_here)


def _plant_rate(columns: Columns) -> Iterator[Conflict]:
    rates = {p.name: p.rate_m3_h for p in columns.book.plants if p.rate_m3_h is not None}
    them = asking(
        (row, one.plant, one.rate_m3_h) for row, one in enumerate(columns.work) if one.plant in rates
    )  # fmt: skip
    return over(columns, them, rates, "plant_rate")


def _plant_hours(columns: Columns) -> Iterator[Conflict]:
    plants = columns.book.plants
    pairs = [(row, one.plant) for row, one in enumerate(columns.work) if one.plant is not None]
    yield from outside(columns, pairs, {p.name: p.opens for p in plants}, "plant_shut")
    yield from within(columns, pairs, {p.name: p.unasked for p in plants}, "plant_unasked", CAUTION)


def _site_hours(columns: Columns) -> Iterator[Conflict]:
    sites, work = columns.book.sites, columns.work
    if not sites:
        return
    everything = [(row, one.site) for row, one in enumerate(work)]
    loud = [(row, one.site) for row, one in enumerate(work) if one.kind in LOUD]
    placing = [(row, one.site) for row, one in enumerate(work) if one.kind is PhaseKind.PLACE]
    yield from outside(columns, everything, {s.site: s.permit for s in sites}, "outside_permit")
    yield from outside(columns, loud, {s.site: s.loud for s in sites}, "outside_loud_hours")
    yield from outside(columns, placing, {s.site: s.light for s in sites}, "placed_in_the_dark", CAUTION)


def _holidays(columns: Columns) -> Iterator[Conflict]:
    pairs = ((row, one.crew) for row, one in enumerate(columns.work))
    shut = dict.fromkeys(columns.book.people, columns.book.holidays)
    return within(columns, pairs, shut, "holiday", CAUTION) if columns.book.holidays else iter(())


def _leave(columns: Columns) -> Iterator[Conflict]:
    away = {worker.name: worker.away for worker in columns.book.workers}
    pairs = ((row, name) for row, one in enumerate(columns.work) for name in one.workers)
    yield from within(columns, pairs, away, "worker_away")
    out = {unit.name: unit.away for unit in columns.book.units}
    pairs = ((row, name) for row, one in enumerate(columns.work) for name in one.units)
    yield from within(columns, pairs, out, "unit_out_of_use")


# --- rules of one piece of work -----------------------------------------------------------------


def _skills(columns: Columns) -> Iterator[Conflict]:
    has = {worker.name: set(worker.skills) for worker in columns.book.workers}
    for one in columns.work:
        if one.skills and one.workers:
            there = set().union(*(has.get(name, set()) for name in one.workers))
            for skill in one.skills:
                if skill not in there:
                    yield conflict(
                        STOP,
                        "skill_missing",
                        one.crew,
                        (one.starts_at, one.ends_at),
                        [one],
                        facts={"skill": skill},
                    )


def _papers(columns: Columns) -> Iterator[Conflict]:
    papers = {paper.pour: paper for paper in columns.book.papers}
    if not papers:
        return
    for one in columns.work:
        if one.kind is PhaseKind.PLACE and (paper := papers.get(one.pour)):
            window = one.starts_at, one.ends_at
            if not paper.released:
                yield conflict(STOP, "forms_not_released", one.crew, window, [one])
            if paper.inspected is False:
                yield conflict(STOP, "inspection_open", one.crew, window, [one])


def orders(columns: Columns, now: datetime) -> Iterator[Conflict]:
    papers = {paper.pour: paper for paper in columns.book.papers}
    for one in columns.work:
        paper = papers.get(one.pour) if one.kind is PhaseKind.PLACE else None
        if paper and not paper.ordered and paper.call_by_at is not None and now >= paper.call_by_at:
            who, window = one.plant or one.crew, (one.starts_at, one.ends_at)
            yield conflict(
                STOP, "order_not_called", who, window, [one], facts={"call_by_at": paper.call_by_at}
            )


def _roads(columns: Columns) -> Iterator[Conflict]:
    """Loads too heavy for the road while its season lasts."""
    heaviest = {p.pour: p.heaviest_load_m3 for p in columns.book.papers if p.heaviest_load_m3 is not None}
    seasons: dict[str, list[tuple[str, float]]] = defaultdict(list)
    windows: dict[str, tuple[Window, ...]] = {}
    for number, road in enumerate(columns.book.roads):
        seasons[road.site].append((f"{road.site}\0{number}", road.load_limit_m3))
        windows[f"{road.site}\0{number}"] = (road.window,)
    limits = {name: limit_m3 for ours in seasons.values() for name, limit_m3 in ours}
    pairs = (
        (row, name)
        for row, one in enumerate(columns.work)
        if one.kind is PhaseKind.PLACE and one.pour in heaviest
        for name, limit_m3 in seasons.get(one.site, ())
        if heaviest[one.pour] > limit_m3
    )
    for found in within(columns, pairs, windows, "road_season"):
        load_m3, limit_m3 = heaviest[found.pours[0]], limits[found.who]
        yield replace(found, who=found.who.split("\0")[0], needed=load_m3, available=limit_m3)


# --- from one place to the next -----------------------------------------------------------------


def _travel(columns: Columns) -> Iterator[Conflict]:
    """Whoever must be at two places in turn without time for the way: crews placing, workers, units."""
    work = columns.work
    workers = ((row, name, 1.0) for row, one in enumerate(work) for name in one.workers)
    units = ((row, name, 1.0) for row, one in enumerate(work) for name in one.units)
    crews = columns.of_crews(columns.placing, np.ones(len(work)))
    for them in (crews, asking(workers), asking(units)):
        yield from _too_far(columns, them)


def _too_far(columns: Columns, them: Asking) -> Iterator[Conflict]:
    asked = columns.stretches(them.rows, them.groups)
    earlier, later = before_each(asked)
    longest = max(columns.book.legs_min.values(), default=0.0)
    near = asked.starts[later] - asked.ends[earlier] < max(longest, columns.book.leg_min) * 60e6
    apart = near & (asked.starts[later] >= asked.ends[earlier])
    for first, second in zip(earlier[apart].tolist(), later[apart].tolist(), strict=True):
        one, other = columns.work[them.rows[first]], columns.work[them.rows[second]]
        leg, gap = columns.book.leg(one.site, other.site), other.starts_at - one.ends_at
        if gap < leg:
            window = one.ends_at, one.ends_at + leg
            who = them.names[int(them.groups[first])]
            minutes = leg.total_seconds() / 60, gap.total_seconds() / 60
            yield conflict(STOP, "too_far", who, window, [one, other], *minutes)


RULES: tuple[Callable[[Columns], Iterable[Conflict]], ...] = (
    _people,
    _placings,
    _workers,
    _units,
    _gear,
    _plant_rate,
    _plant_hours,
    _site_hours,
    _holidays,
    _leave,
    _skills,
    _papers,
    _roads,
    _travel,
    worker_hours,
    worker_rest,
    crew_hours,
    crew_rest,
)
