"""Weeks so small that all of them can be gone through, and the going through."""

import random
from dataclasses import replace
from datetime import UTC, datetime
from itertools import combinations

from scheduling.engine.weekproblem import (
    WORKED,
    Need,
    Option,
    Placed,
    Pool,
    Standing,
    WeekCrew,
    WeekPlant,
    WeekPour,
    WeekProblem,
    cost_of_week,
)

PLACE, FINISH, CUT = WORKED
FIRST_AT = datetime(2026, 6, 8, 5, tzinfo=UTC)
DAY = 96


def option(start: int, day: int = 0, **more) -> Option:
    lasts = {"place": 4, "finish_after": 8, "finish": 6, "cut_after": 16, "cut": 2} | more
    return Option(day, DAY * day + start, **lasts)


def pour(name: str, *options: Option, **more) -> WeekPour:
    usual = {
        "site": name,
        "crews": {"north": 0},
        "plants": {"plant": 0},
        "people": {PLACE: 5, FINISH: 0, CUT: 0},
    }
    return WeekPour(name=name, options=options, **usual | more)


def problem(*pours: WeekPour, **more) -> WeekProblem:
    usual = {
        "crews": (WeekCrew("north", 6), WeekCrew("south", 6)),
        "plants": (WeekPlant("plant", 60, ((0, 5 * DAY),)),),
        "pools": (Pool("finishing party", ("party 1", "party 2")),),
    }
    return WeekProblem(first_at=FIRST_AT, pours=pours, **usual | more)


# --- brute force ------------------------------------------------------------------------------


def tiny(seed: int) -> WeekProblem:
    """Four pours that get in each other's way, each with a handful of starts."""
    draw = random.Random(seed)
    pours = []
    for number in range(4):
        options = [
            option(
                start, day, place=draw.choice((3, 4)), cut_slack=draw.choice((0, 1)), risk=draw.randrange(60)
            )
            for day in range(2)
            for start in draw.sample(range(14), 2)
        ]
        standing = Standing(options[0].start, "north", "plant") if draw.random() < 0.4 else None
        pours.append(
            pour(
                f"pour {number}",
                *options,
                crews={"north": draw.randrange(9), "south": draw.randrange(9)},
                people={PLACE: 5, FINISH: draw.choice((0, 2)), CUT: draw.choice((0, 1))},
                needs=(Need("finishing party", FINISH), Need("saw", CUT)),
                rate=draw.choice((20, 40)),
                wanted_day=draw.randrange(2),
                standing=standing,
            )
        )
    names = [one.name for one in pours]
    return problem(
        *pours,
        pools=(Pool("finishing party", ("party 1", "party 2")), Pool("saw", ("saw",))),
        legs={pair: draw.randrange(3) for pair in combinations(names, 2)},
    )


def places_of(asked: WeekPour) -> list[Placed | None]:
    """Everywhere a pour could go, and nowhere."""
    return [
        None,
        *(
            Placed(asked.name, one, crew, "plant", one.start + one.cut_after + slip)
            for one in asked.options
            for crew in asked.crews
            for slip in range(one.cut_slack + 1)
        ),
    ]


def holds(asked: WeekProblem, placed: list[Placed]) -> bool:
    """Whether a week breaks nothing: counted slot by slot, none of the engine's reckoning in it."""
    pours = {one.name: one for one in asked.pours}
    longest = max(asked.legs.values())
    used: dict[tuple, int] = {}
    have = {("crew", c.name): c.people for c in asked.crews}
    have |= {("pool", p.name): len(p.units) for p in asked.pools} | {("plant", "plant"): 60}
    for one in placed:
        here = pours[one.pour]
        for phase in WORKED:
            first, last = one.option.stretch(phase, one.cut_at)
            takes = [(("crew", one.crew), here.people[phase], last)]
            takes += [(("pool", n.pool), n.count, last + longest) for n in here.needs if n.phase is phase]
            takes += [(("plant", "plant"), here.rate, last)] if phase is PLACE else []
            for key, amount, until in takes:
                for slot in range(first, until):
                    used[key, slot] = used.get((key, slot), 0) + amount
                    if used[key, slot] > have[key]:
                        return False
    for one, other in combinations(placed, 2):
        first, second = sorted((one, other), key=lambda each: each.option.start)
        leg = asked.leg(pours[one.pour].site, pours[other.pour].site)
        if one.crew == other.crew and first.option.start + first.option.place + leg > second.option.start:
            return False
    return True


def by_brute_force(asked: WeekProblem) -> int:
    """The least cost of all weeks there are, pour by pour, dearer beginnings cut off."""
    places = [places_of(one) for one in asked.pours]
    best = [cost_of_week(asked, {})]

    def go(index: int, placed: list[Placed], left_out: int) -> None:
        week_of = {one.pour: one for one in placed}
        rest = {one.name for one in asked.pours[index:]}
        part = replace(asked, pours=tuple(one for one in asked.pours if one.name not in rest))
        cost = cost_of_week(part, week_of)
        if cost >= best[0]:
            return
        if index == len(places):
            best[0] = cost
            return
        for place in places[index]:
            added = placed if place is None else [*placed, place]
            if place is None or holds(asked, added):
                go(index + 1, added, left_out + (place is None))

    go(0, [], 0)
    return best[0]
