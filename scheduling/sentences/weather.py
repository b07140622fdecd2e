"""Sentences on drying, heat, rain, thunder and wind, and on what the forecast does not tell."""

from scheduling.sentences.told import Sentence, Told, listed

_NOTHING_MM = 0.05


def _evaporation_high(told: Told) -> str:
    when = told.from_to("first_over_at", "last_over_at")
    return (
        f"The surface dries too fast {when}: up to {told['peak_kg_m2_h']} {told.at('peak_at')}, "
        f"and {told['limit_kg_m2_h']} is the limit. Wind breaks, fog, an evaporation retarder or an earlier "
        f"start help. Such estimates may be off by {told['uncertainty_fraction']}."
    )


def _evaporation_watch(told: Told) -> str:
    return (
        f"The surface dries at up to {told['peak_kg_m2_h']} {told.at('peak_at')}, and "
        f"{told['limit_kg_m2_h']} is the limit. Such estimates may be off by {told['uncertainty_fraction']}, "
        "so watch the surface and have an evaporation retarder at hand."
    )


def _evaporation_unknown(told: Told) -> str:
    words = {"wind_missing": "wind", "humidity_missing": "humidity", "air_missing": "air temperature"}
    missing = [word for name, word in words.items() if told.true(name)]
    why = f"the forecast lacks {listed(missing)}" if missing else "the slab's temperature is not known"
    return (
        f"How fast the surface dries {told.from_to('first_at', 'last_at')} cannot be told: {why}. "
        "Watch it and have an evaporation retarder at hand."
    )


def _slab_weather_assumed(told: Told) -> str:
    words = {
        "wind": "a usual wind",
        "humidity": "usual humidity",
        "cloud": "a half-clouded sky",
        "sun": "no sun",
    }
    assumed = listed([said for name, said in words.items() if told.true(f"{name}_missing")])
    return (
        "The forecast does not tell everything that warms or cools the slab, so set and finish times are for "
        f"{assumed}."
    )


def _rain(told: Told) -> str:
    chance = f"chance up to {told['highest_chance']}" if told.has("highest_chance") else ""
    falls = told.has("total_mm") and told.number("total_mm") > _NOTHING_MM
    amount = f"about {told['total_mm']} altogether" if falls else ""
    return (
        f"Rain is forecast {told.from_to('first_at', 'last_at', dated=True)}: "
        f"{', '.join(part for part in (chance, amount) if part)}. "
        "Have sheets on site to cover the fresh slab, or choose another start."
    )


def _thunder(told: Told) -> str:
    return (
        f"Thunder is possible {told.from_to('first_at', 'last_at', dated=True)}: "
        f"chance up to {told['highest_chance']}. "
        "At the first thunder everybody goes into a building or a car until half an hour after the "
        "last. Agree beforehand who calls it and who minds the slab then."
    )


def _weather_unknown(told: Told) -> str:
    words = {
        "air": ("how cold it gets", "Frost"),
        "rain": ("whether it rains", "Rain"),
        "wind": ("how hard it blows", "Wind too strong for a boom"),
    }
    missing, danger = words.get(told["missing"], (told["missing"], "Bad weather"))
    return (
        f"The forecast does not tell {missing} from {told.clock('from_at', dated=True)} on. {danger} after "
        "that cannot be ruled out: look again when there is a newer one."
    )


def _heat_illness(told: Told) -> str:
    rest = ""
    if told.has("rest_min"):
        rest = f", and {told['rest_min']} of rest in every {told['rest_every_h']}"
    new = f"people new to the heat start with {told['new_people_fraction']} of the work"
    if told.has("returning_fraction"):
        new += f", those back after a week or more with {told['returning_fraction']}"
    return (
        f"It feels like up to {told['heat_index_c']} {told.at('peak_at')}. Have water and shade at hand"
        f"{rest}; {new}. Local rules on heat go before this."
    )


def _heat_slows_people(told: Told) -> str:
    return (
        f"Heat leaves people about {_whole_percent(told)} of their usual work {told.at('worst_at')} (a wet "
        f"bulb globe temperature near {told['wbgt_c']}, estimated). Start earlier, or send more people."
    )


def _cold_slows_people(told: Told) -> str:
    return (
        f"A wind chill of {told['chill_c']} {told.at('worst_at')} leaves people about {_whole_percent(told)} "
        "of their usual work. Keep a warm place at hand, or send more people."
    )


def _whole_percent(told: Told) -> str:
    return f"{round(told.number('left_percent'))}%"


def _boom_wind(told: Told) -> str:
    gusts = "Gusts" if told.true("gust_told") else "Gusts, as far as the mean wind tells,"
    when = told.from_to("first_at", "last_at", dated=True)
    if told.true("over_limit"):
        cure = f"The boom's limit is {told['limit_m_s']}: choose another time, or a line pump."
    else:
        cure = (
            f"The boom's limit is {told['limit_m_s']}: ask the pump's operator, and have the wind measured."
        )
    return f"{gusts} reach {told['gust_m_s']} {when}. {cure}"


SENTENCES: dict[str, Sentence] = {
    "evaporation_high": _evaporation_high,
    "evaporation_watch": _evaporation_watch,
    "evaporation_unknown": _evaporation_unknown,
    "crusting": lambda told: (
        f"The top dries faster than the slab bleeds: its sheen is gone about {told.clock('sheen_gone_at')}, "
        f"but it bears a float only about {told.clock('float_ready_at')}. Keep the top moist with fog or an "
        "evaporation retarder, and do not take the dry top for a set slab."
    ),
    "concrete_mixed": (
        "By its ingredients the concrete leaves the plant at {mixed_c} and comes at {concrete_c}, "
        "{way_min} later."
    ),
    "much_ice": (
        "Ice is {ice_fraction} of the water. From about half on, concrete comes warmer than reckoned and ice "
        "may not melt in time: ask the plant what it can do."
    ),
    "slab_weather_assumed": _slab_weather_assumed,
    "hot_concrete": (
        "The concrete would come at {concrete_c}, over the usual limit of {limit_c} at discharge; the "
        "specification may set a lower one. Ask the plant for cooler concrete, with chilled water or ice, or "
        "start earlier."
    ),
    "rain": _rain,
    "thunder": _thunder,
    "heat_illness": _heat_illness,
    "heat_slows_people": _heat_slows_people,
    "cold_slows_people": _cold_slows_people,
    "boom_wind": _boom_wind,
    "weather_unknown": _weather_unknown,
    "forecast_old": (
        "The forecast is {age_h} old: the weather service has given no newer one. "
        "Look at the sky, and at another forecast, before you rely on it."
    ),
    "weather_assumed": lambda told: (
        f"No forecast covers all of {told.day('starts_at')}'s pour yet, so finish and cut times are for a "
        f"mild day of {told['assumed_air_c']}. Look again when there is one."
    ),
}
