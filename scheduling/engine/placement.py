"""Placing: who does what along the line, and how fast concrete goes down.

Placing is a line of stages. Concrete leaves the truck or is carried from it, is raked to grade, struck
off and bull floated; what one stage cannot take, the stage before it must wait with. People are put to
the stages so that the slowest goes as fast as it can, and the slowest names itself. A team may work
neighbouring stages by turns, as it must when people are few.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from scheduling.engine.carrying import barrow_load_m3, barrow_trips
from scheduling.engine.hindrance import RAKING, STRIKING, depth_factor
from scheduling.engine.inputs import Fact, Finding, Method, Placing, Severity, require_positive
from scheduling.engine.methods import (
    METHODS,
    gets_there,
    line_length_m,
    lost_m3,
    moves_min,
    needed_m,
    reach_m,
)
from scheduling.engine.strikeoff import strike_board_m, strike_width_m, struck_m2_h
from scheduling.engine.teams import best_splits

OUR_RATES = "our own placing rates"
OUR_CHOICE = "our choice"


class Stage(StrEnum):
    """In the order the concrete meets them; it is unloaded onto the slab or carried there, not both."""

    UNLOAD = "unload"
    CARRY = "carry"
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
    """Who does what, how fast the line goes, and the stage that holds it to that.

    `capacity` is the part of their usual work that people manage in the weather. The method takes
    `setup_min` before the first concrete and stands `moves_min` in the pour; `lost_m3` stays in its
    line and never reaches the slab.
    """

    teams: tuple[Team, ...]
    rate_m3_h: float
    limited_by: Stage
    strike_width_m: float
    capacity: float
    setup_min: float
    moves_min: float
    lost_m3: float
    findings: tuple[Finding, ...]


# --- what people do, per hour -----------------------------------------------------------------

# One raker behind the chute, and how many have room round it. Our choice, set so that five
# experienced people place about 27 yd3/h (common practice, no source).
RAKE_M3_H = 10.0
RAKERS_AT_MOST = 4

# A 4 ft bull float run right behind the board; two floats at most on one strip (our choice).
BULL_FLOAT_M2_H = 500.0
BULL_FLOATS_AT_MOST = 2

# A mix stiffer than 3 in is hard to pump (from memory); one of an ordinary slump creeps down a slope
# from here on (our choice).
PUMPABLE_SLUMP_MM = 3 * 25.4
CREEPING_SLOPE = 0.08
STIFF_ENOUGH_MM = 3 * 25.4

SETUP_WORTH_SAYING_MIN = 30.0  # our choice


@dataclass(frozen=True, slots=True)
class _Slab:
    """The slab as the people at work meet it. `board_m` is what they strike with, or less on a small pad."""

    placing: Placing
    depth_m: float
    board_m: float
    pace: float

    def bring(self, people: int) -> float:
        return METHODS[self.placing.method].brings(self.placing, people, self.pace)

    def rake(self, people: int) -> float:
        eased = METHODS[self.placing.method].raking * RAKING.factor(self.placing)
        each = RAKE_M3_H * eased * depth_factor(self.depth_m) * self.pace
        return each * min(people, RAKERS_AT_MOST)

    def strike_off(self, people: int) -> float:
        width_m = strike_width_m(self.board_m, people, self.placing.screed)
        return struck_m2_h(self.placing, width_m, people, self.pace) * self.depth_m

    def bull_float(self, people: int) -> float:
        floats = min(people, BULL_FLOATS_AT_MOST)
        return BULL_FLOAT_M2_H * floats * STRIKING.factor(self.placing) * self.pace * self.depth_m

    @property
    def stages(self) -> Mapping[Stage, Callable[[int], float]]:
        """Each stage and what so many people do at it: more with every one up to some number, then level."""
        first = Stage.CARRY if METHODS[self.placing.method].carries else Stage.UNLOAD
        return {
            first: self.bring,
            Stage.RAKE: self.rake,
            Stage.STRIKE_OFF: self.strike_off,
            Stage.BULL_FLOAT: self.bull_float,
        }


def _slab(placing: Placing, area_m2: float, depth_m: float, capacity: float) -> _Slab:
    require_positive("area_m2", area_m2)
    require_positive("depth_m", depth_m)
    require_positive("capacity", capacity, upper=1)
    # A pad narrower than the board is struck in one strip; its width is taken as if it were square.
    board_m = min(strike_board_m(placing), math.sqrt(area_m2))
    return _Slab(placing, depth_m, board_m, placing.rate_factor * capacity)


def reaches_m(placing: Placing) -> Mapping[Method, float]:
    """Return how far each method brings concrete here from where the truck stands, m."""
    return {method: reach_m(placing, method) for method in METHODS}


# --- the line ---------------------------------------------------------------------------------


def teams_for(
    placing: Placing, area_m2: float, depth_m: float, people: range, capacity: float = 1.0
) -> tuple[tuple[Team, ...], ...]:
    """Lay out the line for each headcount of a range, smallest first.

    Parameters
    ----------
    placing : Placing
        Its `people` does not matter.
    area_m2, depth_m : float
        Slab area and mean depth, m2 and m.
    people : range
        Headcounts, one apart.
    capacity : float
        Part of their usual work that people manage, 0 to 1.

    Returns
    -------
    tuple of tuple of Team
        The slowest team of each sets the rate.
    """
    slab = _slab(placing, area_m2, depth_m, capacity)
    stages = tuple(slab.stages)
    rates = [[rate(n) for n in range(1, people[-1] + 1)] for rate in slab.stages.values()]
    return tuple(
        tuple(Team(tuple(stages[at] for at in group), n, rate) for group, n, rate in split)
        for split in best_splits(rates, people[0])
    )


def slowest_team(teams: Sequence[Team]) -> Team:
    """Return the team that sets the pace."""
    return min(teams, key=lambda team: team.rate_m3_h)


def placing_line(placing: Placing, area_m2: float, depth_m: float, capacity: float = 1.0) -> PlacingLine:
    """Lay out the placing crew along the line and say how fast it places.

    Parameters
    ----------
    placing : Placing
        Method, people, screed, reach, and what makes the work slower.
    area_m2, depth_m : float
        Slab area and mean depth, m2 and m.
    capacity : float
        Part of their usual work that people manage in the weather, more than 0 and at most 1.

    Returns
    -------
    PlacingLine
        Teams in line order, rate in m3/h of placed concrete (no waiting for trucks and no moves of a
        pump in it), the stage that limits it, the width struck at a pull, and findings.

    Raises
    ------
    BadInput
        Area or depth not positive, capacity out of range.

    Notes
    -----
    What each unit rate rests on stands beside it here and in `methods`, `carrying`, `strikeoff` and
    `hindrance`. `rate_factor` and `capacity` scale what people do, never what a truck, a pump or a
    laser screed gives. Meant for slabs 3 to 12 in thick.
    """
    slab = _slab(placing, area_m2, depth_m, capacity)
    teams, one_more = teams_for(
        placing, area_m2, depth_m, range(placing.people, placing.people + 2), capacity
    )
    slowest = slowest_team(teams)
    limited_by = min(slowest.stages, key=lambda stage: slab.stages[stage](slowest.people))
    strikers = next(team.people for team in teams if Stage.STRIKE_OFF in team.stages)
    return PlacingLine(
        teams=teams,
        rate_m3_h=slowest.rate_m3_h,
        limited_by=limited_by,
        strike_width_m=strike_width_m(slab.board_m, strikers, placing.screed),
        capacity=capacity,
        setup_min=METHODS[placing.method].setup_min,
        moves_min=moves_min(placing),
        lost_m3=lost_m3(placing),
        findings=(
            *_reach_findings(placing, area_m2, depth_m, capacity),
            *_crew_findings(placing, teams),
            *_concrete_findings(placing),
            *_pump_findings(placing),
            *_barrow_findings(placing, area_m2 * depth_m),
            _limit_finding(placing, limited_by, teams, slowest_team(one_more).rate_m3_h),
        ),
    )


# --- what there is to say ---------------------------------------------------------------------


def _limit_finding(placing: Placing, stage: Stage, teams: Sequence[Team], one_more_m3_h: float) -> Finding:
    slowest = slowest_team(teams)
    facts: dict[str, Fact] = {
        "stage": stage.value,
        "method": placing.method.value,
        "people": slowest.people,
        "rate_m3_h": slowest.rate_m3_h,
        "one_more_person_m3_h": one_more_m3_h,
        "posts": ",".join(f"{'+'.join(team.stages)}:{team.people}" for team in teams),
    }
    return Finding(Severity.NOTE, "limiting_stage", facts, OUR_RATES)


def _reach_findings(placing: Placing, area_m2: float, depth_m: float, capacity: float) -> Iterator[Finding]:
    """Where the method falls short: which others would get there, and how fast with the same people."""
    if gets_there(placing, placing.method):
        return
    facts: dict[str, Fact] = {
        "method": placing.method.value,
        "reach_m": reach_m(placing, placing.method),
        "needed_m": needed_m(placing, placing.method),
        "second_truck_position": True,
    }
    headcount = range(placing.people, placing.people + 1)
    for method in METHODS:
        if method is not placing.method:
            facts[method.value] = gets_there(placing, method)
        if gets_there(placing, method):
            (teams,) = teams_for(replace(placing, method=method), area_m2, depth_m, headcount, capacity)
            facts[f"{method.value}_m3_h"] = slowest_team(teams).rate_m3_h
    yield Finding(Severity.STOP, "out_of_reach", facts, "common practice, no source")


def _crew_findings(placing: Placing, teams: Sequence[Team]) -> Iterator[Finding]:
    wanted = METHODS[placing.method].crew
    if placing.people < wanted:
        facts: dict[str, Fact] = {"people": placing.people, "people_wanted": wanted}
        yield Finding(Severity.CAUTION, "crew_thin", facts, OUR_CHOICE)
    spare = placing.people - sum(team.people for team in teams)
    if spare > 0:
        yield Finding(Severity.NOTE, "spare_people", {"people": spare}, OUR_RATES)


def _concrete_findings(placing: Placing) -> Iterator[Finding]:
    """A mix too stiff for the pump, or too wet to stay where it is put."""
    slump_mm = placing.slump_mm
    if METHODS[placing.method].is_pump and slump_mm is not None and slump_mm < PUMPABLE_SLUMP_MM:
        facts: dict[str, Fact] = {"slump_mm": slump_mm, "least_slump_mm": PUMPABLE_SLUMP_MM}
        yield Finding(Severity.CAUTION, "stiff_for_pump", facts, "from memory")
    wet = slump_mm is None or slump_mm > STIFF_ENOUGH_MM
    if placing.slope >= CREEPING_SLOPE and wet:
        steep: dict[str, Fact] = {"slope_percent": 100 * placing.slope, "most_slump_mm": STIFF_ENOUGH_MM}
        yield Finding(Severity.CAUTION, "wet_on_slope", steep, OUR_CHOICE)


def _pump_findings(placing: Placing) -> Iterator[Finding]:
    row = METHODS[placing.method]
    if row.is_pump:
        facts: dict[str, Fact] = {"lost_m3": lost_m3(placing), "line_m": line_length_m(placing)}
        yield Finding(Severity.NOTE, "line_volume", facts, "pipe and hopper filled")
    if row.setup_min >= SETUP_WORTH_SAYING_MIN or moves_min(placing):
        minutes: dict[str, Fact] = {
            "method": placing.method.value,
            "setup_min": row.setup_min,
            "moves_min": moves_min(placing),
            "moves": placing.hose_moves + placing.pump_moves,
        }
        yield Finding(Severity.NOTE, "method_setup", minutes, OUR_CHOICE)


def _barrow_findings(placing: Placing, volume_m3: float) -> Iterator[Finding]:
    if placing.method is Method.BARROW:
        load_m3 = barrow_load_m3(placing)
        facts: dict[str, Fact] = {"trips": barrow_trips(volume_m3, load_m3), "barrow_m3": load_m3}
        yield Finding(Severity.NOTE, "barrow_trips", facts, "arithmetic of the barrow")
