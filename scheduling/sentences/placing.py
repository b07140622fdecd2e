"""Sentences on how the concrete gets to the slab, who places it, and what holds them up."""

from scheduling.sentences.slab import section_name
from scheduling.sentences.told import Sentence, Told, listed

_STAGES = {
    "unload": "Unloading the truck",
    "rake": "Raking",
    "strike_off": "Striking off",
    "bull_float": "Bull floating",
}
_CARRIERS = {
    "barrow": "Wheeling barrows",
    "power_buggy": "The power buggy",
    "line_pump": "The line pump",
    "boom_pump": "The boom pump",
    "conveyor": "The conveyor",
}
# What one does there, and what several do.
_DUTIES = {
    "unload": ("tends the chute", "tend the chute"),
    "carry": ("brings concrete", "bring concrete"),
    "rake": ("rakes", "rake"),
    "strike_off": ("strikes off", "strike off"),
    "bull_float": ("bull floats", "bull float"),
}
_METHODS = {
    "chute": "the truck's own chute",
    "extended_chute": "an extension chute",
    "barrow": "barrows",
    "power_buggy": "a power buggy",
    "line_pump": "a line pump",
    "boom_pump": "a boom pump",
    "conveyor": "a conveyor",
}
_WORTH_A_PERSON = 1.02  # our choice


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _limiting_stage(told: Told) -> str:
    stage = told["stage"]
    doing = _CARRIERS[told["method"]] if stage == "carry" else _STAGES.get(stage, _plain(stage).capitalize())
    pace = f"{doing} sets the pace: {told.count('people', 'person', 'people')}, {told['rate_m3_h']}."
    if told.number("one_more_person_m3_h") < _WORTH_A_PERSON * told.number("rate_m3_h"):
        more = "One more person would hardly help."
    else:
        more = f"One more person would make it {told['one_more_person_m3_h']}."
    return f"{pace} {more}{_posts(told)}"


def _posts(told: Told) -> str:
    """`` 1 tends the chute, 2 strike off and bull float.``, from ``unload:1,strike_off+bull_float:2``."""
    if not told.has("posts"):
        return ""
    posts = (post.split(":") for post in told["posts"].split(","))
    said = (f"{people} {listed(_duties(stages.split('+'), people))}" for stages, people in posts)
    return f" {', '.join(said)}."


def _duties(stages: list[str], people: str) -> list[str]:
    return [_DUTIES.get(stage, (_plain(stage),) * 2)[people != "1"] for stage in stages]


def _out_of_reach(told: Told) -> str:
    return (
        f"The concrete must go {told['needed_m']} from the truck; this way it gets {told['reach_m']} far. "
        f"{_reach_cures(told)}"
    )


def _reach_cures(told: Told) -> str:
    ways = [_with_rate(told, method) for method in _METHODS if told.true(method)]
    cures = [f"use {listed(ways, 'or')}"] if ways else []
    if told.true("second_truck_position"):
        cures.append("find a second place for the truck to stand")
    cure = listed(cures or ["find another way to get it there"], "or")
    return f"{cure[0].upper()}{cure[1:]}."


def _with_rate(told: Told, method: str) -> str:
    rate = f"{method}_m3_h"
    return f"{_METHODS[method]} ({told[rate]})" if told.has(rate) else _METHODS[method]


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
        f"{told.count('people', 'person', 'people')} cannot keep every post of this line at once. "
        f"Send at least {told['people_wanted']} to place."
    )


def _spare_people(told: Told) -> str:
    return (
        f"{told.count('people', 'person', 'people')} more than placing can use: "
        "let them get ready for finishing, or send them elsewhere."
    )


def _line_volume(told: Told) -> str:
    return (
        f"{told['lost_m3']} fills the pump's hopper and {told['line_m']} of line and never reaches the slab. "
        "It is counted in the order; agree who brings the grout that primes the line."
    )


def _method_setup(told: Told) -> str:
    said = f"Setting up {_METHODS[told['method']]} takes about {told['setup_min']} before the first concrete."
    if not told.number("moves_min"):
        return f"{said} Have it on site that much earlier."
    moves = told.count("moves", "move", "moves")
    return (
        f"{said} {moves} in the pour stop placing for {told['moves_min']} in all: hold trucks back meanwhile."
    )


def _quicker_way(told: Told) -> str:
    way = _METHODS[told["method"]]
    return (
        f"{way[0].upper()}{way[1:]} would place it in {told.lasting('takes_min')} instead of "
        f"{told.lasting('booked_min')} with the same {told.count('people', 'person', 'people')}: "
        f"{told['rate_m3_h']}, kept up by {told.count('trucks', 'truck', 'trucks')}."
    )


SENTENCES: dict[str, Sentence] = {
    "limiting_stage": _limiting_stage,
    "out_of_reach": _out_of_reach,
    "bay_out_of_reach": _bay_out_of_reach,
    "crew_thin": _crew_thin,
    "spare_people": _spare_people,
    "quicker_way": _quicker_way,
    "barrow_trips": "{trips} barrow loads of {barrow_m3} each: see that there are barrows and hands.",
    "line_volume": _line_volume,
    "method_setup": _method_setup,
    "stiff_for_pump": (
        "A slump of {slump_mm} is hard to pump; {least_slump_mm} or more is wanted. Ask the plant for a mix "
        "made for pumping, and add no water on site."
    ),
    "wet_on_slope": (
        "The slab falls {slope_percent}, and concrete of an ordinary slump creeps down such a slope. "
        "Order a slump of {most_slump_mm} or less, and place uphill."
    ),
}
