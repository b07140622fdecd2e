"""The rules of a week: people, equipment, plants, papers, places and the ways between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import accumulate, chain

import numpy as np

from scheduling.engine.conflicts import PEOPLE_SHORT, TWO_PLACINGS
from scheduling.engine.inputs import Fact, PhaseKind, Severity, Window
from scheduling.engine.sweep import Stretches, before_each, meeting, moment, overfull
from scheduling.engine.weekbook import Work, Worker
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
LOAD_STEP_M3 = 1e-6  # so that a load rounded in kilograms is no heavier than it was
LOUD = frozenset((PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT))  # trucks, power trowels, saws


def _people(columns: Columns) -> Iterator[Conflict]:
    them = columns.of_crews(columns.people > 0, columns.people)
    return over(columns, them, columns.book.people, PEOPLE_SHORT)


def _people_away(columns: Columns) -> Iterator[Conflict]:
    """Too few of a crew once those on leave are counted as taken; enough if they were there."""
    them = columns.of_crews(columns.people > 0, columns.people)
    gone = [(worker.crew, window) for worker in columns.book.workers for window in worker.away]
    have = {name: float(columns.book.people.get(name, np.inf)) for name in them.names}
    for found in _over_with_away(columns, them, have, gone, "people_away"):
        away = _most_at_once(window for crew, window in gone if crew == found.who and _meets(window, found))
        if found.needed - away <= found.available:
            yield replace(found, needed=found.needed - away, available=found.available - away)


def _meets(window: Window, found: Conflict) -> bool:
    return window.opens_at < found.ends_at and window.closes_at > found.starts_at


def _most_at_once(windows: Iterable[Window]) -> int:
    turns = sorted(
        turn for window in windows for turn in ((window.opens_at, 1), (window.closes_at, -1))
    )  # fmt: skip
    return max(accumulate(change for _, change in turns), default=0)


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
    there = {name: have.get(name, 0.0) for name in them.names}
    return _over_with_away(columns, them, there, away, "gear_short")


def _over_with_away(
    columns: Columns,
    them: Asking,
    have: Mapping[str, float],
    away: Sequence[tuple[str, Window]],
    code: str,
) -> Iterator[Conflict]:
    """More asked than there is, those that are away counted as taken."""
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
            yield conflict(STOP, code, them.names[group], window, rows, needed, limit_here)


def _plant_rate(columns: Columns) -> Iterator[Conflict]:
    rates = {p.name: p.rate_m3_h for p in columns.book.plants if p.rate_m3_h is not None}
    them = asking(
        (row, one.plant, one.rate_m3_h) for row, one in enumerate(columns.work) if one.plant in rates
    )  # fmt: skip
    return over(columns, them, rates, "plant_rate")


def _plant_hours(columns: Columns) -> Iterator[Conflict]:
    plants = columns.book.plants
    # A plant works while it batches, which is before the work on site.
    work = tuple(
        replace(one, starts_at=one.batches.opens_at, ends_at=one.batches.closes_at) if one.batches else one
        for one in columns.work
        if one.plant is not None
    )
    columns = Columns(replace(columns.book, work=work))
    pairs = [(row, one.plant) for row, one in enumerate(work) if one.plant is not None]
    yield from outside(columns, pairs, {p.name: p.opens for p in plants}, "plant_shut")
    yield from within(columns, pairs, {p.name: p.unasked for p in plants}, "plant_unasked", CAUTION)


def _site_hours(columns: Columns) -> Iterator[Conflict]:
    sites, work = columns.book.sites, columns.work
    if not sites:
        return
    everything = [(row, one.site) for row, one in enumerate(work)]
    loud = [(row, one.site) for row, one in enumerate(work) if one.kind in LOUD]
    placing = [
        (row, one.site) for row, one in enumerate(work) if one.kind is PhaseKind.PLACE and not one.indoors
    ]
    yield from outside(columns, everything, {s.site: s.permit for s in sites}, "outside_permit")
    columns = Columns(replace(columns.book, work=tuple(_from_concrete(one) for one in work)))
    yield from outside(columns, loud, {s.site: s.loud for s in sites}, "outside_loud_hours")
    yield from outside(columns, placing, {s.site: s.light for s in sites}, "placed_in_the_dark", CAUTION)


def _from_concrete(one: Work) -> Work:
    at = one.concrete_at
    return one if at is None or not one.starts_at < at < one.ends_at else replace(one, starts_at=at)


def _holidays(columns: Columns) -> Iterator[Conflict]:
    pairs = ((row, one.crew) for row, one in enumerate(columns.work))
    shut = dict.fromkeys(columns.book.people, columns.book.holidays)
    return within(columns, pairs, shut, "holiday", CAUTION) if columns.book.holidays else iter(())


def _leave(columns: Columns) -> Iterator[Conflict]:
    away = {worker.name: worker.away for worker in columns.book.workers}
    pairs = ((row, name) for row, one in enumerate(columns.work) for name in one.workers)
    yield from within(columns, pairs, away, "worker_away")
    pairs = ((row, one.crew) for row, one in enumerate(columns.work))
    yield from within(columns, pairs, columns.book.crews_away, "crew_away")
    out = {unit.name: unit.away for unit in columns.book.units}
    pairs = ((row, name) for row, one in enumerate(columns.work) for name in one.units)
    yield from within(columns, pairs, out, "unit_out_of_use")


# --- rules of one piece of work -----------------------------------------------------------------


def _skills(columns: Columns) -> Iterator[Conflict]:
    """Work none of whose people can do it: those named for it, or else those of its crew who are there.

    A skill that nobody at all is known to have is not kept, and breaks nothing.
    """
    known = {skill for worker in columns.book.workers for skill in worker.skills}
    named = {worker.name: worker for worker in columns.book.workers}
    crews: dict[str, list[Worker]] = defaultdict(list)
    for worker in columns.book.workers:
        crews[worker.crew].append(worker)
    for one in columns.work:
        them = [named[n] for n in one.workers if n in named] if one.workers else crews.get(one.crew, [])
        if not them and not one.workers:
            continue
        there = {skill for worker in them if one.workers or _is_there(worker, one) for skill in worker.skills}
        for skill in one.skills:
            if skill not in there and (one.workers or skill in known):
                window, facts = (one.starts_at, one.ends_at), {"skill": skill}
                yield conflict(STOP, "skill_missing", one.crew, window, [one], facts=facts)


def _is_there(worker: Worker, one: Work) -> bool:
    return not any(w.opens_at < one.ends_at and w.closes_at > one.starts_at for w in worker.away)


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
            if paper.promised_at is not None and one.ends_at > paper.promised_at:
                facts: dict[str, Fact] = {"promised_at": paper.promised_at}
                late_h = (one.ends_at - paper.promised_at) / timedelta(hours=1)
                yield conflict(STOP, "promise_broken", one.crew, window, [one], late_h, facts=facts)


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
    heaviest = {one.pour: one.heaviest_load_m3 for one in columns.work if one.heaviest_load_m3 is not None}
    seasons: dict[str, list[tuple[str, float, str | None]]] = defaultdict(list)
    windows: dict[str, tuple[Window, ...]] = {}
    for number, road in enumerate(columns.book.roads):
        seasons[road.site].append((f"{road.site}\0{number}", road.load_limit_m3, road.plant))
        windows[f"{road.site}\0{number}"] = (road.window,)
    limits = {name: limit_m3 for ours in seasons.values() for name, limit_m3, _ in ours}
    pairs = (
        (row, name)
        for row, one in enumerate(columns.work)
        if one.kind is PhaseKind.PLACE and one.pour in heaviest
        for name, limit_m3, plant in seasons.get(one.site, ())
        if plant in (None, one.plant) and heaviest[one.pour] > limit_m3 + LOAD_STEP_M3
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
    _people_away,
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
