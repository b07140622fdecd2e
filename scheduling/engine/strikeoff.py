"""Striking off: what a board by hand, a vibrating screed or a laser screed does in an hour."""

from __future__ import annotations

from scheduling.engine.hindrance import STRIKING
from scheduling.engine.inputs import Placing, Screed

_FT_M = 0.3048

# Two people pull a 14 ft board over a bay 17 to 18 ft long in 45 to 60 s (common practice, no
# source). That is the pull alone. Moving pads, filling low spots and setting up again take them six
# times as long, so the gross rate is a seventh of the pull (our choice, set by five experienced people
# who place about 27 yd3/h). All hands at the board share that part; the pull they cannot share.
PULL_M_S = 17.5 * _FT_M / 52.5
ROUND_THE_BOARD_PERSON_S_M2 = 6 * 2 / (PULL_M_S * 14 * _FT_M)

# A vibrating screed cuts high spots and settles low ones itself and rides on wet pads: half the work
# round it (our choice; crews with one are said to place 20 to 40 yd3/h, with a board 10 to 20, no source).
ROUND_THE_SCREED = 0.5

# 110,000 ft2 in 22 h behind one laser screed (trade magazine), pauses among them. It takes one to drive it
# and two to rake what its head leaves; with fewer it waits (our choice of shares).
LASER_M2_H = 110_000 / 22 * _FT_M**2
LASER_SHARES = (0.5, 0.8, 1.0)
LASER_HEAD_M = 10 * _FT_M  # from memory

STRIKERS_AT_MOST = 4  # two on the board, two filling and moving pads (our choice)
# From 10 ft a board surely takes two (common practice, no source). One runs a vibrating screed with
# boards up to 14 ft (from memory).
ONE_PERSON_STRIKES_M = {Screed.HAND: 8 * _FT_M, Screed.VIBRATING: 14 * _FT_M, Screed.LASER: LASER_HEAD_M}


def people_to_strike(width_m: float, screed: Screed = Screed.HAND) -> int:
    """How many must hold what strikes off `width_m`.

    Parameters
    ----------
    width_m : float
        Width struck in one pull, m.
    screed : Screed

    Returns
    -------
    int
        By hand 1 up to 8 ft (2.44 m), otherwise 2. Common practice, no source: one person manages about
        8 ft, 10 ft takes two, between the two we send two. A vibrating screed takes 1 up to 14 ft.
    """
    return 1 if width_m <= ONE_PERSON_STRIKES_M[screed] else 2


def strike_board_m(placing: Placing) -> float:
    """Return the width of what this crew strikes off with, m."""
    return LASER_HEAD_M if placing.screed is Screed.LASER else placing.straightedge_m


def strike_width_m(board_m: float, people: int, screed: Screed = Screed.HAND) -> float:
    """Return the width, m, that `people` strike in one pull with a board of `board_m`."""
    return board_m if people >= people_to_strike(board_m, screed) else ONE_PERSON_STRIKES_M[screed]


def strike_off_rate_m2_h(width_m: float, people: int, screed: Screed = Screed.HAND) -> float:
    """Return the area of plain, level slab struck off per hour, pads and low spots included.

    Parameters
    ----------
    width_m : float
        Width struck in one pull, m. A laser screed's own head decides it there.
    people : int
        Hands at the board; more than four (three at a laser screed) add nothing.
    screed : Screed

    Returns
    -------
    float
        m2/h.
    """
    if screed is Screed.LASER:
        return LASER_M2_H * LASER_SHARES[min(people, len(LASER_SHARES)) - 1]
    hands = min(people, STRIKERS_AT_MOST)
    share = ROUND_THE_SCREED if screed is Screed.VIBRATING else 1.0
    pull_s_m2 = 1 / (PULL_M_S * width_m)
    return 3600 / (pull_s_m2 + share * ROUND_THE_BOARD_PERSON_S_M2 / hands)


def struck_m2_h(placing: Placing, width_m: float, people: int, pace: float) -> float:
    """Return the area struck off per hour with this crew's screed on this slab.

    Parameters
    ----------
    placing : Placing
        Its screed, steel, fibres, slump and slope.
    width_m : float
        Width struck in one pull, m.
    people : int
    pace : float
        The crew's own record times its capacity in the weather, 1 as usual.

    Returns
    -------
    float
        m2/h. A quick crew does not speed a laser screed past its own rate.
    """
    rate_m2_h = strike_off_rate_m2_h(width_m, people, placing.screed) * pace
    if placing.screed is Screed.LASER:
        rate_m2_h = min(rate_m2_h, LASER_M2_H)
    return rate_m2_h * STRIKING.factor(placing)
