"""Better a week by lifting a few pours and putting each back where it is cheapest.

Ruin and recreate, after Schrimpf, Schneider, Stamm-Wilbrandt and Dueck (2000): many thousand tries a second,
each a handful of pours that stand in each other's way. What a try may make the week dearer is drawn by lot,
less and less as the tries run out: annealing, after Kirkpatrick, Gelatt and Vecchi (1983). Compiled by Numba;
through how many slots there is room from each on is kept beside the room itself, so that looking up a start
is reading a few numbers.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from scheduling.engine.weeknumbers import Asks, Floats, Ints, Stands

FEWEST, MOST = 2, 9  # pours lifted in a try: our choice
FIRST_HEAT, LAST_HEAT = 0.6, 0.02  # of a pour's mean cost, by how much a week may turn dearer: our choice
NEAR = 24.0  # slots by which nearness in time is blurred by lot: our choice
SAME_CREW = 8.0  # slots that a pour counts as nearer whose crew could serve the other: our choice
ANYWHERE = 0.15  # share of tries with pours from all over the week: our choice
WHOLE_WEEK = 1024.0  # slots by which nearness is blurred in those
MOST_REGRET = 10_000  # what more a pour costs than alone, up to which it is drawn the likelier: our choice
FAR = 1e9

# Columns and numbers; here, because what is compiled is kept until this file changes.
START, PLACE, FINISH, FINISH_LASTS, CUT, CUT_LASTS, CUT_SLACK, COST = range(8)  # columns of `options`
PLACING, FINISHING, CUTTING = range(3)  # phases, each with two columns of `options`: from when, how long
OPTION, CREW, PLANT, CUT_AT = range(4)  # columns of `at`
WHO, WHO_COSTS, PEOPLE = range(3)  # columns of `crews`; of PEOPLE one for each phase
BATCHES, PLANT_COSTS = range(2)  # columns of `plants`
PHASE, UNITS = range(2)  # columns of `needs`
OF, AMOUNT, MOVE, LONGEST = range(4)  # columns of `levels`
NOWHERE = -1  # the option of a pour that is left out
NOBODY = -1  # in place of a level


class Try(NamedTuple):
    """The pours of a try, in the order they are put back, and where they were; and room to reckon in."""

    pours: Ints
    before: Ints  # (pours, 4)
    before_costs: Ints
    keys: Floats
    at: Ints
    far: Floats  # (pours that may move)


compiled = njit(cache=True, nogil=True)
# What allocates nothing need not count who holds its arrays, which would take more time than all the rest.
bare = njit(cache=True, nogil=True, _nrt=False)  # type: ignore[call-overload]


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
    one = Try(
        np.empty(MOST, np.int64), np.empty((MOST, 4), np.int64), np.empty(MOST, np.int64),
        np.empty(MOST), np.empty(4, np.int64), np.empty(len(asks.free)),
    )  # fmt: skip
    for number in range(count):
        share = since + (until - since) * number / count
        heat = FIRST_HEAT * (LAST_HEAT / FIRST_HEAT) ** share * best_cost / len(asks.free)
        bar = cost + heat * lots.standard_exponential()
        cost = _try(asks, stands, lots, one, cost, bar)
        if cost < best_cost:
            best_cost = cost
            best[:] = stands.at
    return best_cost, best


@bare
def _try(asks: Asks, stands: Stands, lots: np.random.Generator, one: Try, cost: int, bar: float) -> int:
    """What the week costs after a try, which is taken back should it come above the bar."""
    many = _together(asks, stands, lots, one)
    rest = cost
    for k in range(many):
        pour = one.pours[k]
        one.before_costs[k] = stands.costs[pour]
        rest -= stands.costs[pour]
    _sort(asks, lots, one, many)
    for k in range(many):
        _copy(stands.at[one.pours[k]], one.before[k])
        _lift(asks, stands, one.pours[k])
    after = _put_back(asks, stands, one, many, bar - rest)
    if after >= 0:
        return rest + after
    for k in range(many):
        if not _same(stands.at[one.pours[k]], one.before[k]):
            _lift(asks, stands, one.pours[k])
    for k in range(many):
        if not _same(stands.at[one.pours[k]], one.before[k]):
            _put(asks, stands, one.pours[k], one.before[k], one.before_costs[k])
    return cost


@bare
def _copy(source: Ints, target: Ints) -> None:
    for k in range(len(source)):
        target[k] = source[k]


@bare
def _same(one: Ints, other: Ints) -> bool:
    for k in range(len(one)):
        if one[k] != other[k]:
            return False
    return True


# --- which pours ------------------------------------------------------------------------------


@bare
def _together(asks: Asks, stands: Stands, lots: np.random.Generator, them: Try) -> int:
    """Write down a pour that could be cheaper, with those near one of the starts it would rather have."""
    free, far = asks.free, them.far
    one = _drawn(asks, stands, lots)
    count = min(len(free), FEWEST + int((MOST - FEWEST + 1) * lots.random()))
    blur = WHOLE_WEEK if lots.random() < ANYWHERE else NEAR * lots.random()
    wish = _wish(asks, stands, lots, one)
    for k in range(len(free)):
        pour = free[k]
        option = stands.at[pour, OPTION]
        far[k] = FAR if option == NOWHERE else abs(asks.options[option, START] - wish)
        far[k] += blur * lots.random()
        if option != NOWHERE and asks.serves[one, asks.crews[stands.at[pour, CREW], WHO]]:
            far[k] -= SAME_CREW
        if pour == one:
            far[k] = -FAR
    for k in range(count):
        nearest = 0
        for other in range(len(free)):
            if far[other] < far[nearest]:
                nearest = other
        them.pours[k] = free[nearest]
        far[nearest] = 2 * FAR
    return count


@bare
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


@bare
def _wish(asks: Asks, stands: Stands, lots: np.random.Generator, pour: int) -> int:
    """One of the cheaper starts of a pour, drawn by lot; of one that is left out any."""
    first, end = asks.option_of[pour], asks.option_of[pour + 1]
    if first == end:
        return 0
    many = end - first if stands.at[pour, OPTION] == NOWHERE else asks.cheap[pour]
    return int(asks.options[first + int(many * lots.random()), START])


# --- off and on -------------------------------------------------------------------------------


@bare
def _put_back(asks: Asks, stands: Stands, one: Try, many: int, bar: float) -> int:
    """What the pours cost where they are put; -1 as soon as it must come above the bar."""
    total = 0
    for k in range(many):
        total += asks.least[one.pours[k]]
    for k in range(many):
        pour = one.pours[k]
        most = min(asks.left_out, int(bar - total) + asks.least[pour])
        cost = _cheapest(asks, stands, pour, most, one.at)
        if cost <= most:
            _put(asks, stands, pour, one.at, cost)
        total += stands.costs[pour] - asks.least[pour]
        if total > bar:
            return -1
    return total


@bare
def _sort(asks: Asks, lots: np.random.Generator, one: Try, many: int) -> None:
    """By lot, or those first that stood to lose most, or those that have least choice."""
    way = int(3 * lots.random())
    pours, costs, keys = one.pours, one.before_costs, one.keys
    for k in range(many):
        pour, cost, lot = pours[k], costs[k], lots.random()
        key = lot
        if way == 1:
            key = -(cost - asks.least[pour]) * (0.5 + lot)
        elif way == 2:
            key = (asks.option_of[pour + 1] - asks.option_of[pour]) * (0.5 + lot)
        place = k
        while place > 0 and keys[place - 1] > key:
            pours[place], costs[place], keys[place] = pours[place - 1], costs[place - 1], keys[place - 1]
            place -= 1
        pours[place], costs[place], keys[place] = pour, cost, key


@bare
def _lift(asks: Asks, stands: Stands, pour: int) -> None:
    """Take a pour off, if it is on."""
    at = stands.at[pour]
    if at[OPTION] == NOWHERE:
        return
    _take(asks, stands, pour, at, -1)
    crew = asks.crews[at[CREW], WHO]
    many = stands.many[crew]
    for k in range(many):
        if stands.of_crew[crew, k] == pour:
            stands.of_crew[crew, k] = stands.of_crew[crew, many - 1]
            break
    stands.many[crew] = many - 1
    at[OPTION] = NOWHERE
    stands.costs[pour] = asks.left_out


@bare
def _put(asks: Asks, stands: Stands, pour: int, at: Ints, cost: int) -> None:
    """Put a pour on, or leave it off where `at` is nowhere."""
    _copy(at, stands.at[pour])
    stands.costs[pour] = cost
    if at[OPTION] == NOWHERE:
        return
    _take(asks, stands, pour, at, 1)
    crew = asks.crews[at[CREW], WHO]
    stands.of_crew[crew, stands.many[crew]] = pour
    stands.many[crew] += 1


@bare
def _take(asks: Asks, stands: Stands, pour: int, at: Ints, sign: int) -> None:
    """Take from the room left what a pour needs where it is; give it back with a sign of -1."""
    option, cut_at = at[OPTION], at[CUT_AT]
    _use(asks, stands, asks.plants[at[PLANT], BATCHES], option, PLACING, cut_at, sign)
    for phase in range(3):
        people = asks.crews[at[CREW], PEOPLE + phase]
        if people != NOBODY:
            _use(asks, stands, people, option, phase, cut_at, sign)
    for row in range(asks.need_of[pour], asks.need_of[pour + 1]):
        _use(asks, stands, asks.needs[row, UNITS], option, asks.needs[row, PHASE], cut_at, sign)


@bare
def _use(asks: Asks, stands: Stands, level: int, option: int, phase: int, cut_at: int, sign: int) -> None:
    """Take a level all through a phase, and reckon anew how long there is room for the levels it touches."""
    first = cut_at if phase == CUTTING else asks.options[option, 2 * phase]
    last = first + asks.options[option, 2 * phase + 1] + asks.levels[level, MOVE]
    of, amount = asks.levels[level, OF], sign * asks.levels[level, AMOUNT]
    room = stands.room[of]
    least = most = room[first]
    for slot in range(first, last):
        least, most = min(least, room[slot]), max(most, room[slot])
        room[slot] -= amount
    least, most = min(least, least - amount), max(most, most - amount)
    for other in range(asks.level_of[of], asks.level_of[of + 1]):
        if least < asks.levels[other, AMOUNT] <= most:
            _run(room, stands.runs[other], asks.levels[other], first, last)


@bare
def _run(room: Ints, runs: Ints, level: Ints, first: int, last: int) -> None:
    """Reckon anew, from back to front, the slots of a stretch and those before it that reach into it."""
    run, asked, longest = runs[last], level[AMOUNT], level[LONGEST]
    for slot in range(last - 1, first - 1, -1):
        run = min(run + 1, longest) if room[slot] >= asked else 0
        runs[slot] = run
    for slot in range(first - 1, -1, -1):
        run = min(run + 1, longest)
        if runs[slot] == 0 or runs[slot] == run:
            break
        runs[slot] = run


# --- looking for room ---------------------------------------------------------------------------


@bare
def _cheapest(asks: Asks, stands: Stands, pour: int, most: int, at: Ints) -> int:
    """What the cheapest place costs that a pour still has, written to `at`; above `most` where none is."""
    best = most + 1
    crews, plants = asks.crew_of[pour], asks.plant_of[pour]
    least = asks.crews[crews, WHO_COSTS] + asks.plants[plants, PLANT_COSTS]
    for option in range(asks.option_of[pour], asks.option_of[pour + 1]):
        if asks.options[option, COST] + least >= best:
            break
        if not _gear(asks, stands, pour, option):
            continue
        plant = _plant(asks, stands, pour, option)
        if plant < 0:
            continue
        so_far = asks.options[option, COST] + asks.plants[plant, PLANT_COSTS]
        for crew in range(crews, asks.crew_of[pour + 1]):
            cost = so_far + asks.crews[crew, WHO_COSTS]
            if cost >= best:
                break
            if not _crew(asks, stands, pour, option, crew):
                continue
            cut_at = _cut(asks, stands, pour, option, asks.crews[crew, PEOPLE + CUTTING])
            if cut_at >= 0:
                best = cost
                at[OPTION], at[CREW], at[PLANT], at[CUT_AT] = option, crew, plant, cut_at
                break
    return int(best)


@bare
def _room(asks: Asks, stands: Stands, level: int, option: int, phase: int) -> bool:
    """Whether there is room for a level all through a phase."""
    lasts = asks.options[option, 2 * phase + 1] + asks.levels[level, MOVE]
    return bool(stands.runs[level, asks.options[option, 2 * phase]] >= lasts)


@bare
def _gear(asks: Asks, stands: Stands, pour: int, option: int) -> bool:
    """Whether pools leave room for placing and finishing."""
    for row in range(asks.need_of[pour], asks.need_of[pour + 1]):
        phase = asks.needs[row, PHASE]
        if phase != CUTTING and not _room(asks, stands, asks.needs[row, UNITS], option, phase):
            return False
    return True


@bare
def _plant(asks: Asks, stands: Stands, pour: int, option: int) -> int:
    """The row of the cheapest plant that can batch it; -1 where none can."""
    for row in range(asks.plant_of[pour], asks.plant_of[pour + 1]):
        if _room(asks, stands, asks.plants[row, BATCHES], option, PLACING):
            return int(row)
    return -1


@bare
def _crew(asks: Asks, stands: Stands, pour: int, option: int, row: int) -> bool:
    """Whether a crew has the people for placing and finishing, and is not placing elsewhere."""
    for phase in (PLACING, FINISHING):
        people = asks.crews[row, PEOPLE + phase]
        if people != NOBODY and not _room(asks, stands, people, option, phase):
            return False
    crew, site = asks.crews[row, WHO], asks.site[pour]
    start, end = asks.options[option, START], asks.options[option, START] + asks.options[option, PLACE]
    for k in range(stands.many[crew]):
        other = stands.of_crew[crew, k]
        leg, its = asks.legs[asks.site[other], site], stands.at[other, OPTION]
        first = asks.options[its, START]
        if start < first + asks.options[its, PLACE] + leg and first < end + leg:
            return False
    return True


@bare
def _cut(asks: Asks, stands: Stands, pour: int, option: int, people: int) -> int:
    """The earliest slot from which a cut in time finds its people and units; -1 where none does."""
    opens, lasts = asks.options[option, CUT], asks.options[option, CUT_LASTS]
    for at in range(opens, opens + asks.options[option, CUT_SLACK] + 1):
        free = people == NOBODY or stands.runs[people, at] >= lasts
        for row in range(asks.need_of[pour], asks.need_of[pour + 1]):
            level = asks.needs[row, UNITS]
            if free and asks.needs[row, PHASE] == CUTTING:
                free = stands.runs[level, at] >= lasts + asks.levels[level, MOVE]
        if free:
            return int(at)
    return -1
