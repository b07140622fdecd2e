"""Sentences on the people who place, finish and cut, and on their pace."""

from scheduling.sentences.slab import section_name
from scheduling.sentences.told import Sentence, Told, listed

_STAGES = {
    "unload": "Unloading the truck",
    "rake": "Raking",
    "strike_off": "Striking off",
    "bull_float": "Bull floating",
}
_WORTH_A_PERSON = 1.02  # our choice
_METHODS = {"chute": "the truck's own chute", "extended_chute": "an extension chute"}


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _limiting_stage(told: Told) -> str:
    stage = _STAGES.get(told["stage"], _plain(told["stage"]).capitalize())
    pace = f"{stage} sets the pace: {told.count('people', 'person', 'people')}, {told['rate_m3_h']}."
    if told.number("one_more_person_m3_h") < _WORTH_A_PERSON * told.number("rate_m3_h"):
        return f"{pace} One more person would hardly help."
    return f"{pace} One more person would make it {told['one_more_person_m3_h']}."


def _out_of_reach(told: Told) -> str:
    return (
        f"The concrete must go {told['needed_m']} from the truck, but reaches only "
        f"{told['reach_m']} this way. {_reach_cures(told)}"
    )


def _reach_cures(told: Told) -> str:
    cures = [f"use {words}" for method, words in _METHODS.items() if told.true(method)]
    if told.true("second_truck_position"):
        cures.append("find a second place for the truck to stand")
    cure = listed(cures or ["find another way to get it there"], "or")
    return f"{cure[0].upper()}{cure[1:]}."


def _bay_out_of_reach(told: Told) -> str:
    bays = round(told.number("of_bays"))
    reached = bays - round(told.number("bays"))
    assumed = told.true("front_assumed")
    where = "in front" if assumed else "where you said"
    cure = "Enter where trucks can stand." if assumed else _reach_cures(told)
    return (
        f"{section_name(told)}: with trucks {where}, concrete gets to "
        f"{f'{reached} of {bays} bays' if reached else 'no whole bay'}. "
        f"The farthest needs {told['needed_m']}; this way reaches {told['reach_m']}. {cure}"
    )


def _crew_thin(told: Told) -> str:
    return (
        f"{told.count('people', 'person', 'people').capitalize()} cannot tend chute, rake and board at once. "
        f"Send at least {told['people_wanted']} to place."
    )


def _spare_people(told: Told) -> str:
    return (
        f"{told.count('people', 'person', 'people')} more than placing can use: "
        "let them get ready for finishing, or send them elsewhere."
    )


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
    "limiting_stage": _limiting_stage,
    "out_of_reach": _out_of_reach,
    "bay_out_of_reach": _bay_out_of_reach,
    "crew_thin": _crew_thin,
    "spare_people": _spare_people,
    "finishing_short": _finishing_short,
    "finishing_labour": _finishing_labour,
    "finishing_while_placing": _finishing_while_placing,
    "saw_short": _saw_short,
    "joint_spacing_wide": (
        "Joints {spacing_m} apart are wide for a slab this thick; {widest_m} is the most that is usual. "
        "Cut them closer unless the engineer's drawings say otherwise."
    ),
}
