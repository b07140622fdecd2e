"""What a proposal says: its differences from the week as it stands, with reasons, as JSON."""

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import chain
from typing import Any
from zoneinfo import ZoneInfo

from scheduling import bridge
from scheduling.engine.week import Proposal
from scheduling.engine.weekcheck import units_of
from scheduling.engine.weekcolumns import Conflict
from scheduling.engine.weekproblem import Placed, WeekPour, cost_of_week
from scheduling.models import Pour
from scheduling.queries.week import week_span
from scheduling.queries.weekrows import placed_within
from scheduling.services.weekask import WeekAsked
from scheduling.services.weekstarts import CLOCKS, Start

WORTH_SAYING_H = 0.1  # crew-hours: our choice

Json = dict[str, Any]


def base_of(monday: date, zone: ZoneInfo) -> dict[str, list[Any]]:
    """What a proposal rests on: the version, the state and the name of every pour of the week."""
    pours = Pour.objects.filter(placed_within(*week_span(monday, zone)))
    return {
        str(pour.pk): [pour.version, str(pour.state), str(pour)]
        for pour in pours.select_related("job").order_by("starts_at", "id")
    }


def result_of(asked: WeekAsked, found: Proposal) -> Json:
    """The proposal as it is kept: everything a page or a program may want to show."""
    problem = asked.problem
    placed = {one.pour: one for one in found.placed}
    standing = {one.pour: one for one in asked.standing}
    units = units_of(problem, found.placed)
    return {
        "cost": found.cost,
        "standing_cost": cost_of_week(problem, standing),
        "bound": found.bound,
        "greedy_cost": found.greedy_cost,
        "proven": found.proven,
        "greedy_only": found.greedy_only,
        "failed": found.failed,
        "clocks": [f"{clock:%H:%M}" for clock in CLOCKS],
        "week": [_placed(asked, one, units) for one in found.placed if _of_week(asked, one.pour)],
        "differences": [
            _difference(asked, standing.get(name), one, found.conflicts)
            for name, one in placed.items()
            if not asked.stays[name] and _differs(standing.get(name), one)
        ],
        "left_out": [{"pour": int(name), "name": str(asked.pours[name])} for name in found.left_out],
        "shortages": [_shortage(asked, bridge.to_json(one)) for one in found.shortages],
        "conflicts": [_conflict(asked, one) for one in found.conflicts],
    }


def _of_week(asked: WeekAsked, name: str) -> bool:
    return asked.pours[name] in asked.rows.of_week


def _differs(before: Placed | None, after: Placed) -> bool:
    return before is None or (before.option.start, before.crew) != (after.option.start, after.crew)


def _placed(asked: WeekAsked, one: Placed, units: Mapping[tuple[str, str], tuple[str, ...]]) -> Json:
    pour, start, pools = asked.pours[one.pour], asked.starts[one.pour][one.option.start], asked.problem.pools
    return {
        "pour": pour.pk,
        "starts_at": start.starts_at.isoformat(),
        "crew": int(one.crew),
        "plant": int(one.plant),
        "equipment": sorted(chain.from_iterable(units.get((one.pour, pool.name), ()) for pool in pools)),
        "stays": asked.stays[one.pour],
    }


def _difference(
    asked: WeekAsked, before: Placed | None, after: Placed, remaining: tuple[Conflict, ...]
) -> Json:
    pour = asked.pours[after.pour]
    crews = {str(crew.pk): crew.name for crew in asked.rows.crews}
    there = asked.starts[after.pour][after.option.start]
    here = asked.starts[after.pour][before.option.start] if before else None
    better, worse = _weighed(here, there)
    reasons = [*_cured(asked, after.pour, remaining), *_kept(here, there), *better]
    if before is None or before.option not in _asked_of(asked, after).options:
        reasons = [{"code": "lost"}, *reasons]
    elif _fitness(asked, before) > _fitness(asked, after):
        reasons = [{"code": "fit_crew"}, *reasons]
    return {
        "pour": pour.pk,
        "name": str(pour),
        "from_at": pour.starts_at.isoformat(),
        "from_crew": pour.crew_id,
        "from_crew_name": crews[str(pour.crew_id)],
        "to_at": there.starts_at.isoformat(),
        "to_crew": int(after.crew),
        "to_crew_name": crews[after.crew],
        "reasons": reasons or [{"code": "makes_room"}],
        "against": [*_late(pour, there), *worse],
        "taken": False,
    }


def _weighed(here: Start | None, there: Start) -> tuple[list[Json], list[Json]]:
    """What is less and what is more at the new start, in crew-hours, the most first."""
    if here is None:
        return [], []
    names = here.costs_h.keys() | there.costs_h.keys()
    change = {name: there.costs_h.get(name, 0.0) - here.costs_h.get(name, 0.0) for name in names}
    told = sorted(((by, name) for name, by in change.items() if abs(by) >= WORTH_SAYING_H), key=_heaviest)
    better = [{"code": "less", "danger": name, "hours": round(-by, 2)} for by, name in told if by < 0]
    return better, [{"code": "more", "danger": name, "hours": round(by, 2)} for by, name in told if by > 0]


def _kept(here: Start | None, there: Start) -> Iterator[Json]:
    """The rules that the pour breaks where it stands, and no longer would."""
    still = {one.lack for one in there.broken}
    for one in here.broken if here else ():
        if one.lack not in still:
            yield {"code": "rule_kept", "rule": str(one.lack), "name": one.name}


def _fitness(asked: WeekAsked, placed: Placed) -> int:
    """What the crew of a placed pour costs: more, where it lacks the people or the skills."""
    return _asked_of(asked, placed).crews[placed.crew]


def _asked_of(asked: WeekAsked, placed: Placed) -> WeekPour:
    return next(one for one in asked.problem.pours if one.name == placed.pour)


def _late(pour: Pour, there: Start) -> Iterator[Json]:
    """By how many days the start is later than was promised."""
    day = there.starts_at.astimezone(ZoneInfo(pour.job.site.time_zone)).date()
    if pour.promised_by is not None and day > pour.promised_by:
        yield {"code": "late", "days": (day - pour.promised_by).days}


def _heaviest(told: tuple[float, str]) -> tuple[float, str]:
    return -abs(told[0]), told[1]


def _cured(asked: WeekAsked, name: str, remaining: tuple[Conflict, ...]) -> Iterator[Json]:
    """The clashes of the pour in the week as it stands that the proposal is rid of."""
    still = {(one.code, one.who, one.pours) for one in remaining}
    for conflict in asked.standing_conflicts:
        if name in conflict.pours and (conflict.code, conflict.who, conflict.pours) not in still:
            yield {"code": "clash_gone", "clash": _conflict(asked, conflict)}


def _conflict(asked: WeekAsked, conflict: Conflict) -> Json:
    crews = {str(crew.pk): crew.name for crew in asked.rows.crews}
    return {
        "code": conflict.code,
        "who": crews.get(conflict.who, conflict.who),
        "starts_at": conflict.starts_at.isoformat(),
        "ends_at": conflict.ends_at.isoformat(),
        "needed": conflict.needed,
        "available": conflict.available,
        "pours": [int(one) for one in conflict.pours],
        "names": [str(asked.pours[one]) for one in conflict.pours],
    }


def _shortage(asked: WeekAsked, shortage: Json) -> Json:
    """With names people know in place of numbers."""
    crews = {str(crew.pk): crew.name for crew in asked.rows.crews}
    of_crew = shortage["lack"] in ("people", "people_away", "crew_elsewhere")
    return {
        **shortage,
        "pour": int(shortage["pour"]),
        "pour_name": str(asked.pours[shortage["pour"]]),
        "name": crews.get(shortage["name"], shortage["name"]) if of_crew else shortage["name"],
        "pours": [int(one) for one in shortage["pours"]],
        "names": [str(asked.pours[one]) for one in shortage["pours"]],
    }
