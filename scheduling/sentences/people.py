"""Sentences on the people who finish and cut, and on their pace."""

from scheduling.sentences.told import Sentence, Told, listed


def _finishing_waits(told: Told) -> str:
    wet = told.from_to("first_at", "last_at", dated=True)
    later = f"Rain {wet} keeps people off the slab: reckon with {told.lasting('wait_min')} more, until about"
    late = round(told.number("late_percent"))
    hard = f" About {late}% of it may set before it is closed." if late else ""
    stay = "Sheet it, keep the finishers there, and look at it again after."
    return f"{later} {told.clock('ends_at')}. {stay}{hard}"


def _finishing_short(told: Told) -> str:
    return (
        f"{told.count('people', 'finisher', 'finishers')} cannot get over the whole slab before it is "
        f"too hard: {_lost(told)}. {_late(told)}{_enough(told)}"
    )


def _lost(told: Told) -> str:
    """Which bays are past saving; how much of the work is left where that is all of them or not known."""
    if not told.has("lost_percent") or told.number("lost_percent") > 99:
        return f"about {max(1, round(told.number('short_percent')))}% would be left unfinished"
    first, last = (round(told.number(name)) for name in ("first_bay", "last_bay"))
    bays = f"bay {first}" if first == last else f"bays {first} to {last}"
    return f"{bays} of {round(told.number('of_bays'))} would be past saving"


def _late(told: Told) -> str:
    if told.moment("busy_until") <= told.moment("closes_at"):
        return ""
    return f"The work takes until {told.about('busy_until')}; it is too hard by {told.about('closes_at')}. "


def _enough(told: Told) -> str:
    cures = [f"{told['people_needed']} finishers"] if told.has("people_needed") else []
    if told.has("power_trowels_needed"):
        trowels = told.count("power_trowels_needed", "power trowel", "power trowels")
        cures.append(f"{trowels} for the {told['people']} you have")
    slower = ""
    if told.has("longer_min"):
        slower = f"space the trucks so that placing takes {told.lasting('longer_min')} longer"
    if not cures:
        return f"{slower[:1].upper()}{slower[1:]}{', or split' if slower else 'Split'} the pour" + (
            "." if slower else ", or slow the set with a retarder."
        )
    return f"Send {listed(cures, 'or')}, or {slower or 'split the pour'}."


def _finishing_labour(told: Told) -> str:
    return (
        f"Estimating books pay {told.span('least_h', 'most_h')} in all for this finish, waiting included: "
        f"{told.span('least_each_h', 'most_each_h')} for each finisher. Use it for costing; "
        "the plan's own times say when they work."
    )


def _finishing_while_placing(told: Told) -> str:
    return (
        f"The first concrete wants finishing from about {told['finishing_starts_at']}, while placing "
        f"goes on until {told['placed_at']}. Have {told['people']} people on site, so that "
        "nobody must leave one for the other."
    )


def _saw_short(told: Told) -> str:
    return (
        f"One saw takes {told.hours('hours_needed')} for {told['length_m']} of joints, but all must be cut "
        f"within {told['window_h']}, by about {told.about('last_call_at', dated=True)}. "
        f"Bring {told.count('saws_needed', 'saw', 'saws')}."
    )


SENTENCES: dict[str, Sentence] = {
    "finishing_short": _finishing_short,
    "finishing_waits": _finishing_waits,
    "finishing_labour": _finishing_labour,
    "finishing_while_placing": _finishing_while_placing,
    "saw_short": _saw_short,
    "joint_spacing_wide": (
        "Joints {spacing_m} apart are wide for a slab this thick; {widest_m} is the most that is usual. "
        "Cut them closer unless the engineer's drawings say otherwise."
    ),
}
