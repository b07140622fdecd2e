"""The ways concrete gets from the truck to the slab: how far, how fast, and what each takes to set up."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

from scheduling.engine.carrying import (
    BARROW_FARTHEST_M,
    BUGGY_FARTHEST_M,
    BUGGY_M3,
    barrow_load_m3,
    barrow_rate_m3_h,
    buggy_rate_m3_h,
    carry_distance_m,
    filling_rate_m3_h,
)
from scheduling.engine.hindrance import CHUTING, PUMPING, WHEELING
from scheduling.engine.inputs import Method, Placing

_FT_M = 0.3048
_YD3_M3 = 0.764555

Rate: TypeAlias = Callable[[Placing, int, float], float]
"""m3/h that so many people bring to the slab; the last argument is their pace, 1 as usual."""

# A truck on open slab gives its load in 1 to 2 min/yd3 (from memory). Down a plain chute we take
# the middle, and one person at it keeps up with a fifth to spare; a longer, flatter chute runs at
# the slow end and wants two people to hold and swing it, or one at little over half (our choice).
CHUTE_FLOW_M3_H = 60 / 1.5 * _YD3_M3
EXTENDED_CHUTE_FLOW_M3_H = 60 / 2.0 * _YD3_M3
# Into a hopper a truck gives its load at the quick end.
HOPPER_FLOW_M3_H = 60 / 1.0 * _YD3_M3

# Pumps usually run at 35 to 45 m3/h, whatever they are rated (trade figures); a small line pump at
# the slow end, a boom at the quick one (our choice). A line over 200 ft slows in proportion (our choice).
LINE_PUMP_FLOW_M3_H = 35.0
BOOM_PUMP_FLOW_M3_H = 45.0
FULL_FLOW_LINE_M = 200 * _FT_M

# What one, two, ... people make of the flow (our choice): a line full of concrete takes two to drag and
# one at its end, a boom's hose one to guide it and a second to spare, a belt's end one.
TENDING = 1.2
LINE_HOSE_SHARES = (0.4, 0.9, 1.2)
BOOM_HOSE_SHARES = (0.9, 1.2)
BELT_END_SHARES = (1.2,)


def _tended(flow_m3_h: float, shares: Sequence[float], people: int, pace: float) -> float:
    """What people make of a flow that they cannot speed up."""
    return flow_m3_h * min(1.0, shares[min(people, len(shares)) - 1] * pace)


def _chute(placing: Placing, people: int, pace: float) -> float:
    return _tended(CHUTE_FLOW_M3_H * CHUTING.factor(placing), (TENDING,), people, pace)


def _extended_chute(placing: Placing, people: int, pace: float) -> float:
    flow_m3_h = EXTENDED_CHUTE_FLOW_M3_H * CHUTING.factor(placing)
    return _tended(flow_m3_h, (TENDING / 2, TENDING), people, pace)


def _barrow(placing: Placing, people: int, pace: float) -> float:
    load_m3 = barrow_load_m3(placing)
    wheeling = min(people, placing.carts or people)
    each_m3_h = barrow_rate_m3_h(carry_distance_m(placing), load_m3) * WHEELING.factor(placing)
    return min(filling_rate_m3_h(load_m3, CHUTE_FLOW_M3_H), wheeling * each_m3_h * pace)


def _power_buggy(placing: Placing, people: int, pace: float) -> float:
    driving = min(people, placing.carts or 1)
    each_m3_h = buggy_rate_m3_h(carry_distance_m(placing)) * WHEELING.factor(placing)
    return min(filling_rate_m3_h(BUGGY_M3, CHUTE_FLOW_M3_H), driving * each_m3_h * min(1.0, pace))


def _line_pump(placing: Placing, people: int, pace: float) -> float:
    slowed = min(1.0, FULL_FLOW_LINE_M / max(line_length_m(placing), 1.0))
    flow_m3_h = LINE_PUMP_FLOW_M3_H * slowed * PUMPING.factor(placing)
    return _tended(flow_m3_h, LINE_HOSE_SHARES, people, pace)


def _boom_pump(placing: Placing, people: int, pace: float) -> float:
    return _tended(BOOM_PUMP_FLOW_M3_H * PUMPING.factor(placing), BOOM_HOSE_SHARES, people, pace)


def _conveyor(placing: Placing, people: int, pace: float) -> float:
    return _tended(HOPPER_FLOW_M3_H, BELT_END_SHARES, people, pace)


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodRow:
    """One way to bring concrete.

    `crew` people at least tend every post of the line. `carries` is False where the truck itself
    reaches the slab. `raking` is what a raker does beside it, 1 beside a chute. `usual_line_m` is how
    long its pipe is where nobody entered it, of bore `bore_m`.
    """

    reach_m: float
    crew: int
    brings: Rate
    carries: bool = True
    raking: float = 1.0
    setup_min: float
    hose_move_min: float = 0.0
    pump_move_min: float = 0.0
    bore_m: float = 0.0
    usual_line_m: float = 0.0
    hopper_m3: float = 0.0

    @property
    def is_pump(self) -> bool:
        return self.bore_m > 0


# Reaches: 12 ft down the chute of a rear-discharge truck with its own extensions (a US ready-mix supplier;
# the Concrete Society gives 2.7 m for a UK truck); a 10 ft extension chute reaches about 6 ft
# farther (common practice, no source). Barrows and buggies: trade magazine. 400 ft of hose on a line
# pump, 28 m level reach and some 40 m of pipe on a usual boom, 40 ft of belt on a truck: from memory.
#
# Set-up before the first concrete, minutes for a move, the crews that tend every post, what stays in a
# hopper, and how much less is raked where a hose lays the concrete just where it is wanted: our choice.
# Hoses of 3 in and booms of 5 in pipe: from memory.
METHODS: Mapping[Method, MethodRow] = MappingProxyType(
    {
        Method.CHUTE: MethodRow(reach_m=12 * _FT_M, crew=3, brings=_chute, carries=False, setup_min=5),
        Method.EXTENDED_CHUTE: MethodRow(
            reach_m=18 * _FT_M, crew=3, brings=_extended_chute, carries=False, setup_min=10
        ),
        Method.BARROW: MethodRow(reach_m=BARROW_FARTHEST_M, crew=4, brings=_barrow, setup_min=15),
        Method.POWER_BUGGY: MethodRow(reach_m=BUGGY_FARTHEST_M, crew=4, brings=_power_buggy, setup_min=15),
        Method.LINE_PUMP: MethodRow(
            reach_m=400 * _FT_M,
            crew=5,
            brings=_line_pump,
            raking=1.5,
            setup_min=45,
            hose_move_min=5,
            pump_move_min=30,
            bore_m=3 * 0.0254,
            usual_line_m=150 * _FT_M,
            hopper_m3=0.15,
        ),
        Method.BOOM_PUMP: MethodRow(
            reach_m=28.0,
            crew=4,
            brings=_boom_pump,
            raking=1.5,
            setup_min=30,
            hose_move_min=5,
            pump_move_min=40,
            bore_m=5 * 0.0254,
            usual_line_m=40.0,
            hopper_m3=0.2,
        ),
        Method.CONVEYOR: MethodRow(reach_m=40 * _FT_M, crew=4, brings=_conveyor, raking=1.25, setup_min=10),
    }
)

WHEELED = (Method.BARROW, Method.POWER_BUGGY)


def line_length_m(placing: Placing) -> float:
    """Return how long a pump's line is: as entered; a boom's own pipe; else as far as it must reach."""
    row = METHODS[placing.method]
    if placing.line_m is not None:
        return placing.line_m
    if placing.method is Method.LINE_PUMP and placing.reach_m is not None:
        return placing.reach_m
    return row.usual_line_m


def lost_m3(placing: Placing) -> float:
    """Return what stays in a pump's hopper and line and never reaches the slab, m3; 0 by other ways."""
    row = METHODS[placing.method]
    return row.hopper_m3 + math.pi / 4 * row.bore_m**2 * line_length_m(placing) if row.is_pump else 0.0


def moves_min(placing: Placing) -> float:
    """Return the minutes in the pour in which nothing is placed while a hose or the pump moves."""
    row = METHODS[placing.method]
    return placing.hose_moves * row.hose_move_min + placing.pump_moves * row.pump_move_min


def reach_m(placing: Placing, method: Method) -> float:
    """Return how far a method gets here, m: as entered, else as is usual."""
    return placing.reaches_m.get(method, METHODS[method].reach_m)


def needed_m(placing: Placing, method: Method) -> float | None:
    """Return how far a method must bring concrete, m; None where nobody asked."""
    ways_m = (placing.reach_m, placing.carry_m if method in WHEELED else None)
    return max((way_m for way_m in ways_m if way_m is not None), default=None)


def gets_there(placing: Placing, method: Method) -> bool:
    """Say whether a method brings concrete as far as it must go here."""
    needed = needed_m(placing, method)
    return needed is None or needed <= reach_m(placing, method)
