"""Placing: who does what along the line, and how fast concrete goes down.

Placing is a line of stages. Concrete leaves the truck, is raked to grade, struck off and bull
floated; what one stage cannot take, the stage before it must wait with. People are put to the
stages so that the slowest goes as fast as it can, and the slowest names itself. A team may work
neighbouring stages by turns, as it must when people are few.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scheduling.engine.inputs import (
    Fact,
    Finding,
    Method,
    Placing,
    Reinforcement,
    Severity,
    require_positive,
)
from scheduling.engine.teams import best_split


class Stage(StrEnum):
    """In the order the concrete meets them."""

    UNLOAD = "unload"
    RAKE = "rake"
    STRIKE_OFF = "strike_off"
    BULL_FLOAT = "bull_float"


@dataclass(frozen=True, slots=True)
class Team:
    """`people` who do these stages; several stages means they go from one to the next and back."""

    stages: tuple[Stage, ...]
    people: int
    rate_m3_h: float


@dataclass(frozen=True, slots=True)
class PlacingLine:
    """Who does what, how fast the line goes, and the stage that holds it to that."""

    teams: tuple[Team, ...]
    rate_m3_h: float
    limited_by: Stage
    strike_width_m: float
    findings: tuple[Finding, ...]


# --- what people and trucks do, per hour ------------------------------------------------------

# A truck on open slab gives its load in 1 to 2 min/yd3 (from memory). Down a plain chute we take
# the middle, and one person at it keeps up with a fifth to spare; a longer, flatter chute runs at
# the slow end and wants two people to hold and swing it, or one at little over half (our choice).
_M3_PER_YD3 = 0.764555
CHUTE_FLOW_M3_H = 60 / 1.5 * _M3_PER_YD3
EXTENDED_CHUTE_FLOW_M3_H = 60 / 2.0 * _M3_PER_YD3
TENDING = 1.2

# One raker behind the chute, and how many have room round it. Our choice, set so that five
# experienced people place about 27 yd3/h (common practice, no source).
RAKE_M3_H = 10.0
RAKERS_AT_MOST = 4

# Two people pull a 14 ft board over a bay 17 to 18 ft long in 45 to 60 s (common practice, no
# source). That is the pull alone. Moving pads, filling low spots and setting up again take them six
# times as long, so the gross rate is a seventh of the pull (our choice, set by the same five
# people). All hands at the board share that part; the pull they cannot share.
PULL_M_S = 17.5 * 0.3048 / 52.5
ROUND_THE_BOARD_PERSON_S_M2 = 6 * 2 / (PULL_M_S * 14 * 0.3048)
STRIKERS_AT_MOST = 4  # two on the board, two filling and moving pads (our choice)
ONE_PERSON_STRIKES_M = 8 * 0.3048  # from 10 ft it surely takes two (common practice, no source)

# A 4 ft bull float run right behind the board; two floats at most on one strip (our choice).
BULL_FLOAT_M2_H = 500.0
BULL_FLOATS_AT_MOST = 2

# Steel underfoot slows the rake and lifts the feet of those at the board (our choice).
RAKING_IN_STEEL = {Reinforcement.NONE: 1.0, Reinforcement.MESH: 0.85, Reinforcement.BARS: 0.75}
STRIKING_OVER_STEEL = {Reinforcement.NONE: 1.0, Reinforcement.MESH: 0.95, Reinforcement.BARS: 0.9}

FULL_CREW = 3  # fewer cannot tend chute, rake and board at once (our choice)


@dataclass(frozen=True, slots=True)
class _Slab:
    """The slab as the people at work meet it. `board_m` is the straightedge, or less on a small pad."""

    placing: Placing
    depth_m: float
    board_m: float


def people_to_strike(width_m: float) -> int:
    """How many must hold a straightedge that strikes `width_m`.

    Parameters
    ----------
    width_m : float
        Width struck in one pull, m.

    Returns
    -------
    int
        1 up to 8 ft (2.44 m), otherwise 2. Common practice, no source: one person manages about
        8 ft, 10 ft takes two, between the two we send two.
    """
    return 1 if width_m <= ONE_PERSON_STRIKES_M else 2


def strike_width_m(board_m: float, people: int) -> float:
    """Return the width, m, that `people` strike in one pull with a board of `board_m`."""
    return board_m if people >= people_to_strike(board_m) else ONE_PERSON_STRIKES_M


def strike_off_rate_m2_h(width_m: float, people: int) -> float:
    """Return the area struck off by hand per hour, pads and low spots included.

    Parameters
    ----------
    width_m : float
        Width struck in one pull, m.
    people : int
        Hands at the board; more than four add nothing.

    Returns
    -------
    float
        m2/h.
    """
    hands = min(people, STRIKERS_AT_MOST)
    pull_s_m2 = 1 / (PULL_M_S * width_m)
    return 3600 / (pull_s_m2 + ROUND_THE_BOARD_PERSON_S_M2 / hands)


def _chute(slab: _Slab, people: int) -> float:
    return min(CHUTE_FLOW_M3_H, TENDING * CHUTE_FLOW_M3_H * people * slab.placing.rate_factor)


def _extended_chute(slab: _Slab, people: int) -> float:
    tended = TENDING / 2 * EXTENDED_CHUTE_FLOW_M3_H * people * slab.placing.rate_factor
    return min(EXTENDED_CHUTE_FLOW_M3_H, tended)


def _rake(slab: _Slab, people: int) -> float:
    per_person = RAKE_M3_H * RAKING_IN_STEEL[slab.placing.reinforcement] * slab.placing.rate_factor
    return per_person * min(people, RAKERS_AT_MOST)


def _strike_off(slab: _Slab, people: int) -> float:
    rate_m2_h = strike_off_rate_m2_h(strike_width_m(slab.board_m, people), people)
    slowed = STRIKING_OVER_STEEL[slab.placing.reinforcement] * slab.placing.rate_factor
    return rate_m2_h * slowed * slab.depth_m


def _bull_float(slab: _Slab, people: int) -> float:
    floats = min(people, BULL_FLOATS_AT_MOST)
    return BULL_FLOAT_M2_H * floats * slab.placing.rate_factor * slab.depth_m


_Rate = Callable[[_Slab, int], float]


@dataclass(frozen=True, slots=True)
class _MethodRow:
    """How far the concrete gets this way, and the line of stages with what people do at each.

    Each rate grows with every person up to some number and not at all after it.
    """

    reach_m: float
    rates: Mapping[Stage, _Rate]


_BY_HAND: Mapping[Stage, _Rate] = {
    Stage.RAKE: _rake,
    Stage.STRIKE_OFF: _strike_off,
    Stage.BULL_FLOAT: _bull_float,
}

# 12 ft down the chute of a rear-discharge truck with its own extensions (a US ready-mix supplier;
# the Concrete Society gives 2.7 m for a UK truck); a 10 ft extension chute reaches about 6 ft
# farther (common practice, no source).
_METHODS: Mapping[Method, _MethodRow] = {
    Method.CHUTE: _MethodRow(12 * 0.3048, {Stage.UNLOAD: _chute, **_BY_HAND}),
    Method.EXTENDED_CHUTE: _MethodRow(18 * 0.3048, {Stage.UNLOAD: _extended_chute, **_BY_HAND}),
}


def reaches_m() -> Mapping[Method, float]:
    """Return how far each method brings concrete from where the truck stands, m."""
    return {method: row.reach_m for method, row in _METHODS.items()}


def _teams(slab: _Slab, people: int) -> tuple[Team, ...]:
    row = _METHODS[slab.placing.method]
    stages = tuple(row.rates)
    rates = [[rate(slab, n) for n in range(1, people + 1)] for rate in row.rates.values()]
    return tuple(
        Team(tuple(stages[at] for at in group), n, rate) for group, n, rate in best_split(rates, people)
    )


# --- the line ---------------------------------------------------------------------------------


def placing_line(placing: Placing, area_m2: float, depth_m: float) -> PlacingLine:
    """Lay out the placing crew along the line and say how fast it places.

    Parameters
    ----------
    placing : Placing
        Method, people, straightedge, reach, reinforcement and the crew's own record.
    area_m2, depth_m : float
        Slab area and mean depth, m2 and m.

    Returns
    -------
    PlacingLine
        Teams in line order, rate in m3/h of placed concrete (no waiting for trucks in it), the
        stage that limits it, the width struck at a pull, and findings.

    Raises
    ------
    BadInput
        Area or depth not positive.

    Notes
    -----
    Unit rates stand at the top of this module with what each rests on. `rate_factor` scales what
    people do, never what a truck gives. Meant for hand work on open slabs 3 to 12 in thick.
    """
    require_positive("area_m2", area_m2)
    require_positive("depth_m", depth_m)
    # A pad narrower than the board is struck in one strip; its width is taken as if it were square.
    slab = _Slab(placing, depth_m, min(placing.straightedge_m, math.sqrt(area_m2)))
    teams = _teams(slab, placing.people)
    slowest = min(teams, key=lambda team: team.rate_m3_h)
    rates = _METHODS[placing.method].rates
    limited_by = min(slowest.stages, key=lambda stage: rates[stage](slab, slowest.people))
    strikers = next(team.people for team in teams if Stage.STRIKE_OFF in team.stages)
    one_more_m3_h = min(team.rate_m3_h for team in _teams(slab, placing.people + 1))
    findings = (
        *_reach_findings(placing),
        *_crew_findings(placing, teams),
        _limit_finding(limited_by, slowest, one_more_m3_h),
    )
    return PlacingLine(teams, slowest.rate_m3_h, limited_by, strike_width_m(slab.board_m, strikers), findings)


def _limit_finding(stage: Stage, team: Team, one_more_m3_h: float) -> Finding:
    facts: dict[str, Fact] = {
        "stage": stage.value,
        "people": team.people,
        "rate_m3_h": team.rate_m3_h,
        "one_more_person_m3_h": one_more_m3_h,
    }
    return Finding(Severity.NOTE, "limiting_stage", facts, "our own placing rates")


def _reach_findings(placing: Placing) -> tuple[Finding, ...]:
    reach_m = _METHODS[placing.method].reach_m
    needed_m = placing.reach_m
    if needed_m is None or needed_m <= reach_m:
        return ()
    helps = {m.value: row.reach_m >= needed_m for m, row in _METHODS.items() if m != placing.method}
    helps["second_truck_position"] = True
    facts: dict[str, Fact] = {"reach_m": reach_m, "needed_m": needed_m, **helps}
    return (Finding(Severity.STOP, "out_of_reach", facts, "common practice, no source"),)


def _crew_findings(placing: Placing, teams: Sequence[Team]) -> Iterator[Finding]:
    if placing.people < FULL_CREW:
        facts: dict[str, Fact] = {"people": placing.people, "people_wanted": FULL_CREW}
        yield Finding(Severity.CAUTION, "crew_thin", facts, "our choice")
    spare = placing.people - sum(team.people for team in teams)
    if spare > 0:
        yield Finding(Severity.NOTE, "spare_people", {"people": spare}, "our own placing rates")
