"""Weeks made up for tests and measurements: sites on a plane, crews with yards, a week of weather."""

import math
import random
from datetime import UTC, datetime

from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekproblem import (
    Need,
    Option,
    Pool,
    Standing,
    WeekCrew,
    WeekPlant,
    WeekPour,
    WeekProblem,
)

FIRST_AT = datetime(2026, 6, 8, 5, tzinfo=UTC)
DAY = 96
PLACE, FINISH, CUT = PhaseKind.PLACE, PhaseKind.FINISH, PhaseKind.CUT


def generated(pours: int, crews: int, days: int, seed: int, hard: bool = False) -> WeekProblem:
    """A week with the same answer for the same seed; a hard one has a third less to do it with."""
    draw = random.Random(seed)
    yards = [(draw.uniform(0, 30), draw.uniform(0, 30)) for _ in range(crews)]
    places = [(draw.uniform(0, 30), draw.uniform(0, 30)) for _ in range(pours)]
    names = [f"site {number}" for number in range(pours)]
    weather = [[draw.choice((0, 0, 0, 5, 15, 40)) for _ in range(3)] for _ in range(days)]
    warm = [draw.choice((10, 12, 16)) for _ in range(days)]
    share = 0.8 if hard else 1.0
    count = lambda each: max(1, round(crews * each * share))  # noqa: E731
    plants = tuple(
        WeekPlant(
            f"plant {n}",
            round(10 * crews * share) + 60,
            tuple((DAY * d + 20, DAY * d + 68) for d in range(days)),
        )
        for n in range(2)
    )
    made = []
    for number in range(pours):
        size = draw.choice((1, 1, 2, 2, 3, 4) if not hard else (1, 2, 2, 3, 4, 4))
        made.append(_pour(draw, number, names[number], places[number], yards, size, days, weather, warm))
    legs = {
        (names[i], names[j]): 1 + round(math.dist(places[i], places[j]) / 30)
        for i in range(pours)
        for j in range(i)
    }
    return WeekProblem(
        first_at=FIRST_AT,
        pours=tuple(made),
        crews=tuple(WeekCrew(f"crew {n}", draw.choice((6, 7, 8))) for n in range(crews)),
        pools=(
            Pool("finishing party", tuple(f"party {n}" for n in range(count(1.4))), 2),
            Pool("ride-on", tuple(f"ride-on {n}" for n in range(count(0.7))), 2),
            Pool("saw", tuple(f"saw {n}" for n in range(count(0.6))), 2),
            Pool("pump", tuple(f"pump {n}" for n in range(count(0.5))), 3),
        ),
        plants=plants,
        legs=legs,
    )


def _pour(draw, number, site, place, yards, size, days, weather, warm) -> WeekPour:
    lasts = 4 + 2 * size + draw.randrange(3)
    finishes, cuts = 6 + 3 * size, 2 + size
    options = []
    for day in range(days):
        for clock in range(24, 58):  # six to half past two
            band = min(2, (clock - 24) // 12)
            waits = warm[day] - 2 * (band == 1)
            end = clock + lasts + waits + finishes
            options.append(
                Option(
                    day, DAY * day + clock, lasts, lasts + waits, finishes,
                    lasts + waits + finishes + 2, cuts, 12,
                    weather[day][band] * size, 4 * max(0, (end - 70) // 4),
                )
            )  # fmt: skip
    near = sorted(range(len(yards)), key=lambda n: math.dist(yards[n], place))[:6]
    crews = {f"crew {n}": round(math.dist(yards[n], place)) for n in near}
    needs = [Need("finishing party", FINISH), Need("saw", CUT)]
    if size >= 3:
        needs.append(Need("ride-on", FINISH, 1))
    if draw.random() < 0.25:
        needs.append(Need("pump", PLACE))
    wanted = draw.randrange(days)
    standing = None
    if draw.random() < 0.5:
        stands = draw.choice(options)
        standing = Standing(stands.start, draw.choice(sorted(crews)), "plant 0")
    return WeekPour(
        name=f"pour {number}",
        site=site,
        options=tuple(options),
        crews=crews,
        plants={"plant 0": draw.randrange(10), "plant 1": draw.randrange(10)},
        people={PLACE: 4 + (size > 2), FINISH: 0 if draw.random() < 0.7 else 2, CUT: 0},
        needs=tuple(needs),
        rate=20 + 5 * size,
        wanted_day=wanted,
        latest_day=min(days - 1, wanted + draw.choice((0, 1, 2, 4, 4))),
        standing=standing,
    )
