"""Better a week by lifting a few pours and putting each back where it is cheapest.

Ruin and recreate, after Schrimpf, Schneider, Stamm-Wilbrandt and Dueck (2000): many thousand tries a second,
each a handful of pours that stand in each other's way. A try that makes the week a little dearer is kept for
a while, less and less so as the tries run out. Compiled by Numba, which is some thirty times as fast.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt
from numba import njit

Ints: TypeAlias = npt.NDArray[np.int64]

FEWEST, MOST = 2, 9  # pours lifted in a try: our choice
FIRST_SLACK, LAST_SLACK = 4.5, 0.012  # how many pours' mean cost above the best a week is kept: our choice
NEAR = 24.0  # slots by which nearness in time is blurred by lot: our choice
SAME_CREW = 8.0  # slots that a pour counts as nearer whose crew could serve the other: our choice
ANYWHERE = 0.15  # share of tries with pours from all over the week: our choice
WHOLE_WEEK = 1024.0  # slots by which nearness is blurred in those
MOST_REGRET = 10_000  # what more a pour costs than alone, up to which it is drawn the likelier: our choice
FAR = 1e9

# Columns and numbers; here, because what is compiled is kept until this file changes.
START, PLACE_END, FINISH, FINISH_END, CUT, CUT_LASTS, CUT_SLACK, COST = range(8)  # columns of `options`
OPTION, CREW, PLANT, CUT_AT = range(4)  # columns of `at`
PLACING, FINISHING, CUTTING = range(3)  # phases, as they are numbered in `people` and `needs`
NOWHERE = -1  # the option of a pour that is left out


class Asks(NamedTuple):
    """What the pours ask for. Pour n has the rows of `options` from `option_of[n]` up to `option_of[n + 1]`.

    Options, crews and plants stand the cheapest first; `cheap` is how many options are a pour's cheapest
    quarter; `least` what a pour costs were it alone in the week. Legs and moves are in slots.
    """

    options: Ints  # (options, 8)
    option_of: Ints
    crews: Ints  # (pairs, 2): which, its cost
    crew_of: Ints
    plants: Ints  # (pairs, 2): which, its cost
    plant_of: Ints
    needs: Ints  # (needs, 3): phase, pool, count
    need_of: Ints
    people: Ints  # (pours, 3)
    rate: Ints
    site: Ints
    cheap: Ints
    least: Ints
    legs: Ints  # (sites, sites)
    moves: Ints
    free: Ints  # pours that may move
    left_out: int


class Stands(NamedTuple):
    """How the week stands: room left by slot, where each pour is and what it costs, who places what."""

    crew_room: Ints  # (crews, slots)
    pool_room: Ints
    plant_room: Ints
    at: Ints  # (pours, 4)
    costs: Ints
    of_crew: Ints  # (crews, pours): the first `many[crew]` of a row are the pours that crew places
    many: Ints


compiled = njit(cache=True, nogil=True)


@compiled
def better(
    asks: Asks, stands: Stands, lots: np.random.Generator, count: int, since: float, until: float
) -> tuple[int, Ints]:
    """Make so many tries, of which `since` and `until` say which stretch of all tries they are.

    Returns
    -------
    cost : int
        Of the pours that may move, in the cheapest week seen.
    at : array of int, shape (pours, 4)
        That week: the option, crew, plant and cut of each pour.
    """
    cost = stands.costs[asks.free].sum()
    best_cost, best = cost, stands.at.copy()
    names = np.empty(MOST, np.int64)
    before = np.empty((MOST, 4), np.int64)
    before_costs = np.empty(MOST, np.int64)
    for number in range(count):
        share = since + (until - since) * number / count
        slack = FIRST_SLACK * (LAST_SLACK / FIRST_SLACK) ** share
        bar = best_cost * (1 + slack / len(asks.free))
        many = _together(asks, stands, lots, names)
        rest = cost
        for k in range(many):
            pour = names[k]
            before[k] = stands.at[pour]
            before_costs[k] = stands.costs[pour]
            rest -= stands.costs[pour]
            _lift(asks, stands, pour)
        after = _put_back(asks, stands, lots, names[:many], before_costs, bar - rest)
        if after < 0:
            for k in range(many):
                _lift(asks, stands, names[k])
            for k in range(many):
                _put(asks, stands, names[k], before[k], before_costs[k])
            continue
        cost = rest + after
        if cost < best_cost:
            best_cost = cost
            best[:] = stands.at
    return best_cost, best


# --- which pours ------------------------------------------------------------------------------


@compiled
def _together(asks: Asks, stands: Stands, lots: np.random.Generator, names: Ints) -> int:
    """Write down a pour that could be cheaper, with those near one of the starts it would rather have."""
    free = asks.free
    one = _drawn(asks, stands, lots)
    count = min(len(free), FEWEST + int((MOST - FEWEST + 1) * lots.random()))
    blur = WHOLE_WEEK if lots.random() < ANYWHERE else NEAR * lots.random()
    wish = _wish(asks, stands, lots, one)
    far = np.empty(len(free))
    for k in range(len(free)):
        pour = free[k]
        option = stands.at[pour, OPTION]
        far[k] = FAR if option == NOWHERE else abs(asks.options[option, START] - wish)
        far[k] += blur * lots.random()
        if option != NOWHERE and _may_serve(asks, one, stands.at[pour, CREW]):
            far[k] -= SAME_CREW
        if pour == one:
            far[k] = -FAR
    for k in range(count):
        nearest = far.argmin()
        names[k] = free[nearest]
        far[nearest] = 2 * FAR
    return count


@compiled
def _drawn(asks: Asks, stands: Stands, lots: np.random.Generator) -> int:
    """A pour by lot, the likelier the more it costs beyond the least it could."""
    total = 0
    for pour in asks.free:
        total += 1 + min(MOST_REGRET, stands.costs[pour] - asks.least[pour])
    left = total * lots.random()
    for pour in asks.free:
        left -= 1 + min(MOST_REGRET, stands.costs[pour] - asks.least[pour])
        if left < 0:
            return int(pour)
    return int(asks.free[-1])


@compiled
def _wish(asks: Asks, stands: Stands, lots: np.random.Generator, pour: int) -> int:
    """One of the cheaper starts of a pour, drawn by lot; of one that is left out any."""
    first, end = asks.option_of[pour], asks.option_of[pour + 1]
    if first == end:
        return 0
    many = end - first if stands.at[pour, OPTION] == NOWHERE else asks.cheap[pour]
    return int(asks.options[first + int(many * lots.random()), START])


@compiled
def _may_serve(asks: Asks, pour: int, crew: int) -> bool:
    for row in range(asks.crew_of[pour], asks.crew_of[pour + 1]):
        if asks.crews[row, 0] == crew:
            return True
    return False


# --- off and on -------------------------------------------------------------------------------


@compiled
def _put_back(
    asks: Asks, stands: Stands, lots: np.random.Generator, names: Ints, before_costs: Ints, bar: float
) -> int:
    """What the pours cost where they are put; -1 as soon as it must come above the bar."""
    total = 0
    for pour in names:
        total += asks.least[pour]
    at = np.empty(4, np.int64)
    for k in _order(asks, lots, names, before_costs):
        pour = names[k]
        cost = _cheapest(asks, stands, pour, at)
        if cost <= asks.left_out:
            _put(asks, stands, pour, at, cost)
        total += stands.costs[pour] - asks.least[pour]
        if total > bar:
            return -1
    return total


@compiled
def _order(asks: Asks, lots: np.random.Generator, names: Ints, before_costs: Ints) -> Ints:
    """By lot, or those first that stood to lose most, or those that have least choice."""
    way = int(3 * lots.random())
    keys = np.empty(len(names))
    for k in range(len(names)):
        pour, lot = names[k], lots.random()
        if way == 0:
            keys[k] = lot
        elif way == 1:
            keys[k] = -(before_costs[k] - asks.least[pour]) * (0.5 + lot)
        else:
            keys[k] = (asks.option_of[pour + 1] - asks.option_of[pour]) * (0.5 + lot)
    return np.argsort(keys)


@compiled
def _lift(asks: Asks, stands: Stands, pour: int) -> None:
    """Take a pour off, if it is on."""
    at = stands.at[pour]
    if at[OPTION] == NOWHERE:
        return
    _take(asks, stands, pour, at, -1)
    crew = at[CREW]
    many = stands.many[crew]
    for k in range(many):
        if stands.of_crew[crew, k] == pour:
            stands.of_crew[crew, k] = stands.of_crew[crew, many - 1]
            break
    stands.many[crew] = many - 1
    at[OPTION] = NOWHERE
    stands.costs[pour] = asks.left_out


@compiled
def _put(asks: Asks, stands: Stands, pour: int, at: Ints, cost: int) -> None:
    """Put a pour on, or leave it off where `at` is nowhere."""
    stands.at[pour] = at
    stands.costs[pour] = cost
    if at[OPTION] == NOWHERE:
        return
    _take(asks, stands, pour, at, 1)
    crew = at[CREW]
    stands.of_crew[crew, stands.many[crew]] = pour
    stands.many[crew] += 1


@compiled
def _take(asks: Asks, stands: Stands, pour: int, at: Ints, sign: int) -> None:
    """Take from the room left what a pour needs where it is; give it back with a sign of -1."""
    option = asks.options[at[OPTION]]
    stands.plant_room[at[PLANT], option[START] : option[PLACE_END]] -= sign * asks.rate[pour]
    for phase in range(3):
        first, last = _stretch(option, phase, at[CUT_AT])
        people = asks.people[pour, phase]
        if people:
            stands.crew_room[at[CREW], first:last] -= sign * people
    for row in range(asks.need_of[pour], asks.need_of[pour + 1]):
        phase, pool, count = asks.needs[row]
        first, last = _stretch(option, phase, at[CUT_AT])
        stands.pool_room[pool, first : last + asks.moves[pool]] -= sign * count


@compiled
def _stretch(option: Ints, phase: int, cut_at: int) -> tuple[int, int]:
    if phase == PLACING:
        return option[START], option[PLACE_END]
    if phase == FINISHING:
        return option[FINISH], option[FINISH_END]
    return cut_at, cut_at + option[CUT_LASTS]


# --- looking for room ---------------------------------------------------------------------------


@compiled
def _cheapest(asks: Asks, stands: Stands, pour: int, at: Ints) -> int:
    """What the cheapest place costs that a pour still has, written to `at`; more than any where none is."""
    best = 1 << 40
    crews, plants = asks.crew_of[pour], asks.plant_of[pour]
    least_crew = asks.crews[crews, 1]
    for index in range(asks.option_of[pour], asks.option_of[pour + 1]):
        option = asks.options[index]
        if option[COST] + least_crew + asks.plants[plants, 1] >= best:
            break
        if not _gear(asks, stands, pour, option):
            continue
        plant = _plant(asks, stands, pour, option)
        if plant < 0:
            continue
        so_far = option[COST] + asks.plants[plant, 1]
        for row in range(crews, asks.crew_of[pour + 1]):
            cost = so_far + asks.crews[row, 1]
            if cost >= best:
                break
            crew = asks.crews[row, 0]
            if not _crew(asks, stands, pour, option, crew):
                continue
            cut_at = _cut(asks, stands, pour, option, crew)
            if cut_at >= 0:
                best = cost
                at[OPTION], at[CREW], at[PLANT], at[CUT_AT] = index, crew, asks.plants[plant, 0], cut_at
                break
    return int(best)


@compiled
def _room(room: Ints, first: int, last: int, amount: int) -> bool:
    for slot in range(first, last):
        if room[slot] < amount:
            return False
    return True


@compiled
def _gear(asks: Asks, stands: Stands, pour: int, option: Ints) -> bool:
    """Whether pools leave room for placing and finishing."""
    for row in range(asks.need_of[pour], asks.need_of[pour + 1]):
        phase, pool, count = asks.needs[row]
        if phase == CUTTING:
            continue
        first, last = _stretch(option, phase, 0)
        if not _room(stands.pool_room[pool], first, last + asks.moves[pool], count):
            return False
    return True


@compiled
def _plant(asks: Asks, stands: Stands, pour: int, option: Ints) -> int:
    """The row of the cheapest plant that can batch it; -1 where none can."""
    for row in range(asks.plant_of[pour], asks.plant_of[pour + 1]):
        if _room(stands.plant_room[asks.plants[row, 0]], option[START], option[PLACE_END], asks.rate[pour]):
            return int(row)
    return -1


@compiled
def _crew(asks: Asks, stands: Stands, pour: int, option: Ints, crew: int) -> bool:
    """Whether a crew is there and has the people for placing and finishing."""
    site, start, end = asks.site[pour], option[START], option[PLACE_END]
    for k in range(stands.many[crew]):
        other = stands.of_crew[crew, k]
        leg = asks.legs[asks.site[other], site]
        its = asks.options[stands.at[other, OPTION]]
        if start < its[PLACE_END] + leg and its[START] < end + leg:
            return False
    room, people = stands.crew_room[crew], asks.people[pour]
    placing = people[PLACING] == 0 or _room(room, start, end, people[PLACING])
    finishing = people[FINISHING] == 0 or _room(room, option[FINISH], option[FINISH_END], people[FINISHING])
    return placing and finishing


@compiled
def _cut(asks: Asks, stands: Stands, pour: int, option: Ints, crew: int) -> int:
    """The earliest slot from which a cut in time finds its people and units; -1 where none does."""
    lasts, people = option[CUT_LASTS], asks.people[pour, CUTTING]
    for at in range(option[CUT], option[CUT] + option[CUT_SLACK] + 1):
        free = people == 0 or _room(stands.crew_room[crew], at, at + lasts, people)
        for row in range(asks.need_of[pour], asks.need_of[pour + 1]):
            phase, pool, count = asks.needs[row]
            if free and phase == CUTTING:
                free = _room(stands.pool_room[pool], at, at + lasts + asks.moves[pool], count)
        if free:
            return int(at)
    return -1
