"""Ask the engine for a week: the rows and the starts of each pour as one problem."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekcheck import conflicts_in
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weeklost import Lost, after_loss
from scheduling.engine.weekproblem import (
    Lack,
    Placed,
    Shortage,
    Standing,
    WeekCrew,
    WeekPlant,
    WeekPour,
    WeekProblem,
)
from scheduling.models import Pour, WeekProposal
from scheduling.queries.weekrows import AROUND, Away, WeekRows, legs_between, needs_of, stays_why
from scheduling.queries.weekrules import skills_of
from scheduling.services.weekstarts import (
    BROKEN,
    SLOT,
    Start,
    barred_of,
    frame_of,
    is_offered,
    moments_of,
    one_a_slot,
    standing_start,
)

ANY_RATE = 1_000_000  # of a plant nobody knows the rate of, in m³/h


@dataclass(frozen=True)
class WeekAsked:
    """The problem, and what its names stand for: pours by name, the starts of each by slot."""

    rows: WeekRows
    problem: WeekProblem
    pours: Mapping[str, Pour]
    starts: Mapping[str, Mapping[int, Start]]
    stays: Mapping[str, str]
    standing: tuple[Placed, ...]
    standing_conflicts: tuple[Conflict, ...]


def stays_in_turn(rows: WeekRows, proposal: WeekProposal, now: datetime) -> Iterator[dict[int, str]]:
    """Which pours stay where they are, and why, in the order to be tried until no pour is left out.

    After a loss first all that are not displaced stay, whatever else is wrong with the week. What is
    displaced moves all the same, unless it has begun.
    """
    why = {pour.pk: stays_why(pour, rows, now) for pour in rows.pours}
    displaced = {pour.pk for pour in rows.pours if _is_lost(pour, proposal, rows)}
    why |= {pk: "" for pk in displaced if why[pk] == "confirmed"}
    if displaced:
        yield {pk: found if pk in displaced else found or "not_displaced" for pk, found in why.items()}
    yield why


def _is_lost(pour: Pour, proposal: WeekProposal, rows: WeekRows) -> bool:
    if proposal.lost_on is None and proposal.lost_site_id is None:
        return False
    on = pour.starts_at.astimezone(rows.zone).date()
    same_site = proposal.lost_site_id in (None, pour.job.site_id)
    return same_site and proposal.lost_on in (None, on)


def counts_to_plan(rows: WeekRows, stays: Mapping[int, str], now: datetime) -> dict[int, int]:
    """The pours that may move, each with how many starts the day planner will be asked for."""
    frame = frame_of(rows.monday, now)
    return {pour.pk: len(moments_of(pour, frame)) for pour in rows.pours if not stays[pour.pk]}


def ask_week(
    rows: WeekRows,
    proposal: WeekProposal,
    stays: Mapping[int, str],
    planned: Mapping[int, Sequence[Start]],
    now: datetime,
) -> WeekAsked:
    """Put the week together from the planned starts of each pour that may move."""
    frame = frame_of(rows.monday, now)
    starts: dict[str, dict[int, Start]] = {}
    pours = []
    for pour in rows.pours:
        stay = bool(stays[pour.pk])
        found = [standing_start(pour, frame)] if stay else planned[pour.pk]
        offered = [start for start in found if is_offered(start, pour)]
        ours = starts[str(pour.pk)] = one_a_slot(offered, pour.starts_at)
        barred = () if stay else barred_of(pour, found, frame)
        pours.append(_week_pour(pour, ours, rows, stay, barred))
    problem = _problem(rows, pours)
    standing = _standing(problem)
    lost = _lost(proposal)
    return WeekAsked(
        rows=rows,
        problem=after_loss(problem, standing, lost) if lost else problem,
        pours={str(pour.pk): pour for pour in rows.pours},
        starts=starts,
        stays={str(pk): why for pk, why in stays.items()},
        standing=standing,
        standing_conflicts=conflicts_in(problem, standing, rows.zone),
    )


def _lost(proposal: WeekProposal) -> tuple[Lost, ...]:
    if proposal.lost_on is None and proposal.lost_site_id is None:
        return ()
    day = None if proposal.lost_on is None else (proposal.lost_on - proposal.monday).days
    site = None if proposal.lost_site_id is None else str(proposal.lost_site_id)
    return (Lost(day, site),)


def _week_pour(
    pour: Pour, starts: Mapping[int, Start], rows: WeekRows, stays: bool, barred: tuple[Shortage, ...]
) -> WeekPour:
    """What more is asked of the pour's crew than it has is a clash of its own, which no other time cures."""
    crew, have = str(pour.crew_id), rows.people[pour.crew_id or 0]
    asked: dict[PhaseKind, int] = {}
    for start in starts.values():
        for kind, count in start.people.items():
            asked[kind] = max(asked.get(kind, 0), min(count, have))
    most = max(asked.values(), default=0)
    unskilled = _unskilled(pour, rows, asked)
    fit = (one.pk for one in rows.crews if one.active and rows.people[one.pk] >= most)
    able = {str(pk): 0 for pk in fit if pk not in unskilled}
    stands = next((slot for slot, one in starts.items() if one.starts_at == pour.starts_at), None)
    return WeekPour(
        name=str(pour.pk),
        site=str(pour.job.site_id),
        options=tuple(starts[slot].option for slot in sorted(starts)),
        crews={crew: 0} if stays else {crew: BROKEN, **able},
        plants={str(pour.plant_id): 0},
        people=asked,
        needs=tuple(need for need in needs_of(pour, rows.pools) if need.phase in asked),
        wanted_day=next((one.option.day for one in starts.values() if one.starts_at == pour.starts_at), None),
        latest_day=_latest_day(pour, starts, rows),
        standing=None if stands is None else Standing(stands, crew, str(pour.plant_id)),
        pinned=stays,
        barred=(*barred, *_too_few_can(pour, unskilled, rows)),
    )


def _unskilled(pour: Pour, rows: WeekRows, kinds: Iterable[PhaseKind]) -> dict[int, str]:
    """Crews of which nobody can do what the pour asks for, with what that is; as far as skills are kept."""
    known = frozenset().union(*rows.skills.values())
    wanted = [skill for kind in kinds for skill in skills_of(pour, kind) if skill in known]
    lacking = {
        crew.pk: [skill for skill in wanted if skill not in rows.skills.get(crew.pk, ())]
        for crew in rows.crews
    }
    return {pk: skills[0] for pk, skills in lacking.items() if skills}


def _too_few_can(pour: Pour, unskilled: Mapping[int, str], rows: WeekRows) -> Iterator[Shortage]:
    """How many of the crews can do what only some of them can, said for the day the pour stands on."""
    day = (pour.starts_at.astimezone(rows.zone).date() - rows.monday).days
    for skill in sorted(set(unskilled.values())):
        can = sum(unskilled.get(crew.pk) != skill for crew in rows.crews)
        yield Shortage(str(pour.pk), day, Lack.SKILL, skill, len(rows.crews), can)


def _problem(rows: WeekRows, pours: Sequence[WeekPour]) -> WeekProblem:
    plants = {str(pour.plant_id): pour.plant for pour in rows.pours}
    last = (rows.end - rows.start + 2 * AROUND) // SLOT + 7 * 96
    sites = {pour.job.site_id: pour.job.site for pour in rows.pours}
    return WeekProblem(
        first_at=rows.start - AROUND,
        pours=tuple(pours),
        crews=tuple(
            WeekCrew(str(crew.pk), rows.people[crew.pk], _slots(rows.away.get(crew.pk, ()), rows))
            for crew in rows.crews
        ),
        pools=rows.pools,
        # When a plant batches, the day planner has said already: no start outside its hours is offered.
        plants=tuple(WeekPlant(name, ANY_RATE, ((0, last),)) for name in sorted(plants)),
        legs=legs_between(sites.values()),
    )


def _slots(away: Iterable[Away], rows: WeekRows) -> tuple[tuple[int, int, int], ...]:
    """Leave in slots, rounded outwards."""
    first_at = rows.start - AROUND
    return tuple(
        ((leave.starts_at - first_at) // SLOT, -((first_at - leave.ends_at) // SLOT), leave.people)
        for leave in away
    )


def _latest_day(pour: Pour, starts: Mapping[int, Start], rows: WeekRows) -> int | None:
    """The last day that was promised; none where no start would keep it, and a late pour beats none."""
    if pour.promised_by is None:
        return None
    latest = (pour.promised_by - rows.monday).days
    return latest if any(one.option.day <= latest for one in starts.values()) else None


def _standing(problem: WeekProblem) -> tuple[Placed, ...]:
    """The week as it stands."""
    found = []
    for pour in problem.pours:
        stand = pour.standing
        option = next((one for one in pour.options if stand and one.start == stand.start), None)
        if stand is not None and option is not None:
            cut_at = option.start + option.cut_after
            found.append(Placed(pour.name, option, stand.crew, stand.plant, cut_at))
    return tuple(found)
