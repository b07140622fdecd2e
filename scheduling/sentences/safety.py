"""Sentences on what can hurt people, and the usual precaution against it."""

from scheduling.sentences.told import Sentence, Told, listed


def _spotter_needed(told: Told) -> str:
    spotters = told.count("people", "person", "people")
    return (
        f"Trucks must back in here, and no spotter is named. Name {spotters} to do nothing but guide each "
        "truck in, in the driver's sight, and not the one at the chute: until then no truck backs."
    )


def _wet_concrete_burns(told: Told) -> str:
    kit = {"rubber_boots": "rubber boots", "gloves": "gloves", "wash_water": "clean wash water"}
    bring = listed([words for name, words in kit.items() if told.true(name)] or ["protection"])
    return f"Wet concrete burns skin. Bring {bring}; rinse it off at once and change soaked clothes."


def _silica_wet_saw(told: Told) -> str:
    water = "Cutting joints makes silica dust. Keep water running on the blade"
    if told.number("respirator_apf") <= 0:
        return f"{water}."
    why = "indoors" if told.true("indoors") else f"when cutting by hand for {told['cutting_h']}"
    return (
        f"{water}, and {why} wear a respirator with a protection factor of {told['respirator_apf']} or more."
    )


def _silica_assessment(told: Told) -> str:
    where = " indoors" if told.true("indoors") else ""
    return (
        f"An early-entry saw{where} runs dry and makes silica dust, and no ready-made rule covers it. "
        "Have the exposure assessed by somebody qualified, and bring respirators."
    )


def _carbon_monoxide(told: Told) -> str:
    engines = [
        told.count(name, one, more)
        for name, one, more in (
            ("power_trowels", "power trowel", "power trowels"),
            ("power_buggies", "power buggy", "power buggies"),
            ("saws", "saw", "saws"),
        )
        if told.has(name) and told.number(name) > 0
    ]
    return (
        f"Engines indoors ({listed(engines)}) give off carbon monoxide. Use electric ones if you can; "
        "otherwise run fans to the outside, carry an alarm, and get everybody out when a head aches or it "
        "sounds."
    )


def _power_lines(told: Told) -> str:
    if told.true("boom"):
        return (
            "There are power lines at this site, and a boom over it. Keep every part of the boom "
            f"{told['clearance_m']} off or more, as the local code demands, and set the pump up where it "
            "cannot swing into them."
        )
    return (
        "There are power lines at this site. Keep trucks, chutes and long tools as far off as the local code "
        "demands, and ask the utility if that cannot be done."
    )


def _stand_clear(told: Told) -> str:
    moved = " after every move of hose or pump," if told.true("after_a_move") else ""
    return (
        f"Air in a pump's line makes the hose whip. When it is primed, at every restart,{moved} and after "
        "a blockage, everybody stands clear of its end until concrete runs steadily."
    )


def _heavy_barrows(told: Told) -> str:
    rise = f", {told['rise_m']} up" if told.number("rise_m") > 0 else ""
    return (
        f"A full barrow holds about {told['barrow_kg']} and goes {told['carry_m']}{rise}. Lay a firm run of "
        "boards, keep the way back apart, and change those who wheel."
    )


SENTENCES: dict[str, Sentence] = {
    "spotter_needed": _spotter_needed,
    "spotter_named": (
        "Trucks must back in here. {spotter} guides each of them in, in the driver's sight, and does not "
        "work the chute; while a truck backs, nobody else is behind it."
    ),
    "power_lines": _power_lines,
    "stand_clear": _stand_clear,
    "heavy_barrows": _heavy_barrows,
    "wet_concrete_burns": _wet_concrete_burns,
    "silica_wet_saw": _silica_wet_saw,
    "silica_assessment": _silica_assessment,
    "silica_outdoors_only": (
        "The silica rule knows a drivable saw outdoors only. Cut indoors with a walk-behind saw, water on "
        "the blade and respirators."
    ),
    "carbon_monoxide": _carbon_monoxide,
}
