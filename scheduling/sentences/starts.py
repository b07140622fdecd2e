"""Sentences on when to start: what speaks for another hour, and what one start has against it."""

from scheduling.sentences.told import Sentence, Told, listed

_WORTH_SAYING_H = 0.05


def _instead(told: Told, here: str, there: str) -> str:
    return f"Starting {told.at('starts_at')}, {here}; starting {told.at('asked_at')}, {there}."


def _dries_less(told: Told) -> str:
    here = f"the surface dries at up to {told['peak_kg_m2_h']}"
    return _instead(told, here, f"at {told['asked_peak_kg_m2_h']}, and {told['limit_kg_m2_h']} is the limit")


def _cooler_concrete(told: Told) -> str:
    return _instead(told, f"the concrete comes at {told['concrete_c']}", f"at {told['asked_concrete_c']}")


def _less_cold(told: Told) -> str:
    here = f"the air falls to {told['coldest_c']} before the slab has set"
    return _instead(told, here, f"to {told['asked_coldest_c']}")


def _less_rain(told: Told) -> str:
    return _instead(told, f"rain on the fresh slab is {told['chance']} likely", f"{told['asked_chance']}")


def _less_thunder(told: Told) -> str:
    return _instead(told, f"thunder over the slab is {told['chance']} likely", f"{told['asked_chance']}")


def _placing_lighter(told: Told) -> str:
    here = _unless_none(told, "placing_dark_h", "of placing is in the dark", "placing is in daylight")
    return _instead(told, here, f"{told['asked_placing_dark_h']} is in the dark")


def _finishing_lighter(told: Told) -> str:
    none = "finishing and setting are over by daylight"
    here = _unless_none(told, "finishing_dark_h", "of finishing and setting is in the dark", none)
    return _instead(told, here, f"{told['asked_finishing_dark_h']} is in the dark")


def _quieter(told: Told) -> str:
    none = "loud work stays within the hours for it"
    here = _unless_none(told, "loud_h", "of loud work is outside the hours for it", none)
    return _instead(told, here, f"{told['asked_loud_h']} is outside them")


def _plant_open(told: Told) -> str:
    none = "the plant is open for every load"
    here = _unless_none(told, "outside_h", "of batching is outside the plant's hours", none)
    return _instead(told, here, f"{told['asked_outside_h']} of batching is outside its hours")


def _unless_none(told: Told, name: str, rest: str, none: str) -> str:
    return f"{told[name]} {rest}" if told.number(name) >= _WORTH_SAYING_H else none


def _finishers_keep_up(told: Told) -> str:
    here, there = (round(told.number(name)) for name in ("short_percent", "asked_short_percent"))
    left = f"about {here}% of the slab would be left unfinished" if here else "the finishers keep up"
    return _instead(told, left, f"about {there}% would be left unfinished")


def _weather_known(told: Told) -> str:
    known = told.number("unknown_fraction") == 0
    left = told["unknown_fraction"]
    here = (
        "the forecast covers all the time to set"
        if known
        else f"the forecast lacks {left} of the time to set"
    )
    return _instead(told, here, f"it lacks {told['asked_unknown_fraction']}")


def _work_in_the_dark(told: Told) -> str:
    works = {"placing_dark_h": "placing", "finishing_dark_h": "finishing and setting"}
    dark = listed(
        f"{told[name]} of {work}" for name, work in works.items() if told.number(name) >= _WORTH_SAYING_H
    )
    sun = [f"{verb} {told.at(name)}" for name, verb in _SUN.items() if told.has(name)]
    sky = f"the sun {listed(sun)}" if sun else "the sun does not rise"
    return f"In the dark: {dark}; {sky}. Bring lights, or start at another time."


_SUN = {"sunrise_at": "rises", "sunset_at": "sets"}


def _loud_outside_hours(told: Told) -> str:
    works = {"trucks_h": "trucks", "trowels_h": "power trowels", "saw_h": "the saw"}
    loud = [
        f"{told[name]} of {work}"
        for name, work in works.items()
        if told.has(name) and told.number(name) >= _WORTH_SAYING_H
    ]
    hours = f", {told.from_to('opens_at', 'closes_at')}" if told.has("opens_at") else ""
    noise = listed(loud or ["a few minutes"])
    return f"Outside the hours for loud work{hours}: {noise}. Start at another time, or ask for leave first."


SENTENCES: dict[str, Sentence] = {
    "start_dries_less": _dries_less,
    "start_cooler_concrete": _cooler_concrete,
    "start_less_cold": _less_cold,
    "start_less_rain": _less_rain,
    "start_less_thunder": _less_thunder,
    "start_placing_lighter": _placing_lighter,
    "start_finishing_lighter": _finishing_lighter,
    "start_quieter": _quieter,
    "start_plant_open": _plant_open,
    "start_finishers_keep_up": _finishers_keep_up,
    "start_weather_known": _weather_known,
    "work_in_the_dark": _work_in_the_dark,
    "loud_outside_hours": _loud_outside_hours,
    "daylight_unknown": (
        "Where the site lies on the map is not entered, so nothing tells whether the work is in daylight. "
        "Enter the place."
    ),
}
