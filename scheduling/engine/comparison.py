"""The same pour by every method and with more or fewer people: what each would place, and by when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scheduling.engine.inputs import BadInput, Fact, Finding, Method, Place, Placing, Severity, Supply
from scheduling.engine.methods import gets_there, moves_min
from scheduling.engine.placement import OUR_RATES, slowest_team, teams_for
from scheduling.engine.rounds import unload_min
from scheduling.engine.spacing import spacing_for

USUAL_PEOPLE = range(3, 9)

# Another method is worth a word where it saves this much of the time, and no less than so many minutes (our
# choice): it costs a hire and a call.
WORTH_SAYING_SHARE = 0.15
WORTH_SAYING_MIN = 20.0


@dataclass(frozen=True, slots=True)
class Choice:
    """One method with so many people.

    `rate_m3_h` is what they place without waiting. `hours` runs from the first discharge to the last,
    with trucks as the plant, the site and the fleet allow and a pump's moves in it. `trucks` keep up
    with that.
    """

    method: Method
    people: int
    rate_m3_h: float
    hours: float
    trucks: int
    within_reach: bool


def compare(
    placing: Placing,
    area_m2: float,
    depth_m: float,
    loads_m3: Sequence[float],
    supply: Supply,
    place: Place,
    *,
    capacity: float = 1.0,
    people: range = USUAL_PEOPLE,
    methods: Sequence[Method] = tuple(Method),
) -> tuple[Choice, ...]:
    """Set the methods and the headcounts side by side.

    Parameters
    ----------
    placing : Placing
        As booked; its method and people are replaced, all else stays.
    area_m2, depth_m : float
        Slab area and mean depth, m2 and m.
    loads_m3 : sequence of float
        Volumes in order of delivery, the same for every choice: what a pump's line swallows is not
        in them.
    supply : Supply
    place : Place
    capacity : float
        Part of their usual work that people manage in the weather.
    people : range
        Headcounts, one apart.
    methods : sequence of Method

    Returns
    -------
    tuple of Choice
        Method by method in the order given, fewest people first.

    Raises
    ------
    BadInput
        No people, no loads, or a size that is not positive.
    """
    if not people or people.step != 1 or people[0] < 1:
        raise BadInput("people", "out_of_range", "people must count up one by one from at least 1.")
    choices: list[Choice] = []
    for method in methods:
        way = replace(placing, method=method)
        lines = teams_for(way, area_m2, depth_m, people, capacity)
        for count, teams in zip(people, lines, strict=True):
            rate_m3_h = slowest_team(teams).rate_m3_h
            choices.append(_choice(way, count, rate_m3_h, loads_m3, supply, place))
    return tuple(choices)


def _choice(
    way: Placing, people: int, rate_m3_h: float, loads_m3: Sequence[float], supply: Supply, place: Place
) -> Choice:
    spacing = spacing_for(loads_m3, rate_m3_h, supply, place)
    run_min = (len(loads_m3) - 1) * spacing.exact_min + unload_min(loads_m3[-1], rate_m3_h) + moves_min(way)
    return Choice(
        method=way.method,
        people=people,
        rate_m3_h=rate_m3_h,
        hours=run_min / 60,
        trucks=spacing.trucks_needed,
        within_reach=gets_there(way, way.method),
    )


def comparison_findings(choices: Sequence[Choice], placing: Placing) -> tuple[Finding, ...]:
    """Say which other method would place the same pour much sooner with the same people.

    Parameters
    ----------
    choices : sequence of Choice
    placing : Placing
        As booked.

    Returns
    -------
    tuple of Finding
        NOTE ``quicker_way`` for the soonest of them, or nothing: where none saves enough, or the booked
        method with its people is not among the choices.
    """
    same = [choice for choice in choices if choice.people == placing.people]
    booked = next((choice for choice in same if choice.method is placing.method), None)
    others = [choice for choice in same if choice.within_reach and choice.method is not placing.method]
    if booked is None or not others:
        return ()
    best = min(others, key=lambda choice: choice.hours)
    saved_min = 60 * (booked.hours - best.hours)
    if saved_min < max(WORTH_SAYING_MIN, WORTH_SAYING_SHARE * 60 * booked.hours):
        return ()
    facts: dict[str, Fact] = {
        "method": best.method.value,
        "people": placing.people,
        "rate_m3_h": best.rate_m3_h,
        "trucks": best.trucks,
        "takes_min": 60 * best.hours,
        "booked_min": 60 * booked.hours,
    }
    return (Finding(Severity.NOTE, "quicker_way", facts, OUR_RATES),)
