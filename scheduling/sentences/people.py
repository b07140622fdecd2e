"""Sentences on the people who finish and cut, and on their pace."""

from scheduling.sentences.told import Sentence, Told, listed


def _finishing_short(told: Told) -> str:
    return (
        f"{told.count('people', 'finisher', 'finishers')} cannot get over the whole slab before it is "
        f"too hard: about {_share(told)} would be left unfinished. {_late(told)}{_enough(told)}"
    )


def _share(told: Told) -> str:
    return f"{max(1, round(told.number('short_percent')))}%"


def _late(told: Told) -> str:
    if told.moment("busy_until") <= told.moment("closes_at"):
        return ""
    return f"The work takes until {told.about('busy_until')}; it is too hard by {told.about('closes_at')}. "


def _enough(told: Told) -> str:
    cures = [f"{told['people_needed']} finishers"] if told.has("people_needed") else []
    if told.has("power_trowels_needed"):
        trowels = told.count("power_trowels_needed", "power trowel", "power trowels")
        cures.append(f"{trowels} for the {told['people']} you have")
    if not cures:
        return "Split the pour, or slow the set with a retarder."
    return f"Send {listed(cures, 'or')}, or split the pour."


def _finishing_limits_placing(told: Told) -> str:
    return (
        f"{told.count('people', 'finisher', 'finishers')} can follow placing of {told['safe_m3_h']} at most, "
        f"and this line places {told['line_m3_h']}. Space the trucks for that "
        f"({told.lasting('longer_min')} longer){_lifting(told)}."
    )


def _lifting(told: Told) -> str:
    cures = [f"{told['people_needed']} finishers"] if told.has("people_needed") else []
    if told.has("power_trowels_needed"):
        trowels = told.count("power_trowels_needed", "power trowel", "power trowels")
        cures.append(f"{trowels} for the {told['people']} there are")
    return f", or have {listed(cures, 'or')}" if cures else ", or split the pour"


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
    "finishing_limits_placing": _finishing_limits_placing,
    "finishing_labour": _finishing_labour,
    "finishing_while_placing": _finishing_while_placing,
    "saw_short": _saw_short,
    "joint_spacing_wide": (
        "Joints {spacing_m} apart are wide for a slab this thick; {widest_m} is the most that is usual. "
        "Cut them closer unless the engineer's drawings say otherwise."
    ),
}
