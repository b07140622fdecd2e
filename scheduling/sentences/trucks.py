"""Sentences on loads, the trucks that bring them and the plant that makes them."""

from scheduling.sentences.told import Sentence, Told, listed

CHANCE_WORTH_SAYING = 0.02  # our choice: one day in fifty


def _short_load(told: Told) -> str:
    return (
        f"Load {told['load']} is only {told['load_m3']}, under the plant's minimum of "
        f"{told['minimum_load_m3']}. Ask what a short load costs, or change the order."
    )


def _spacing_limited(told: Told) -> str:
    limits = {
        "plant": "The plant cannot load trucks any faster than one every",
        "site": "Only one truck fits on site at a time, so one can come every",
    }
    limit = limits.get(told["limited_by"], "Trucks can come every")
    return (
        f"{limit} {told['interval_min']}; the crew alone could take one every "
        f"{told.minutes_up('crew_interval_min')}. Expect the crew to wait between trucks."
    )


def _too_few_trucks(told: Told) -> str:
    trucks = told.count("trucks", "truck", "trucks")
    return (
        f"With {trucks} a load comes only every {told['interval_min']}, while the pour could take one every "
        f"{told['wanted_interval_min']}. Ask the plant for "
        f"{told['trucks_needed']} trucks, or take the slower pour."
    )


def _load_too_old(told: Told) -> str:
    return (
        f"{told.loads('loads')} would be up to {told.minutes_up('worst_age_min')} old when the truck is "
        f"empty; the limit is {told['age_limit_min']}. {_younger(told)}"
    )


def _younger(told: Told) -> str:
    if told.has("passing_interval_min"):
        return f"One truck every {told['passing_interval_min']} would pass."
    if told.number("largest_load_m3") > 0:
        return (
            "Trucks farther apart do not help: "
            f"order loads of about {told['largest_load_m3']} at most, or place faster."
        )
    return "Loading and haul use that up: find a nearer plant, or agree on a retarder and a longer limit."


def _plant_not_open(told: Told) -> str:
    shut = f"before the plant opens {told.at('opens_at')}"
    return (
        f"{_batched(told, shut, 'the first', told.at('first_batch_at'))} Start placing at "
        f"{told.no_earlier('earliest_start_at')} or later, or ask the plant to open early."
    )


def _plant_closed(told: Told) -> str:
    shut = f"after the plant closes {told.at('closes_at')}"
    return (
        f"{_batched(told, shut, 'the last', told.at('last_batch_at'))} Start placing by "
        f"{told['latest_start_at']}, or ask the plant to stay open."
    )


def _plant_loads_others(told: Told) -> str:
    others = told.count("other_loads", "truck", "trucks")
    said = (
        f"The plant loads {others} for our other pours in the same hours; what was planned first goes first."
    )
    if not told["loads"]:
        return f"{said} These fit in between."
    return f"{said} {told.loads('loads')} would leave up to {told.minutes_up('held_min')} later for that."


def _batched(told: Told, shut: str, which: str, when: str) -> str:
    loads = told.loads("loads")
    if loads.startswith("Loads"):
        return f"{loads} would have to be batched {shut}, {which} {when}."
    return f"{loads} would have to be batched {when}, {shut}."


def _crew_waits(told: Told) -> str:
    return (
        f"Expect the crew to stand waiting for trucks {told.lasting('crew_wait_min')} of the "
        f"{told.lasting('run_min')} of placing. Get concrete there faster, or send fewer people."
    )


def _arrivals_weighed(told: Told) -> str:
    said = [
        f"{who} {told.lasting(asked)}{total}, not {told.lasting(f'quick_{asked}')}"
        for who, asked, total in (
            ("a truck waits", "truck_wait_min", ""),
            ("the crew waits", "crew_wait_min", " in all"),
        )
        if told.lasting(asked) != told.lasting(f"quick_{asked}")
    ]
    if abs(told.number("quick_dead_chance") - told.number("dead_chance")) >= CHANCE_WORTH_SAYING:
        said.append(f"a load gets too old on {told['dead_chance']} of days, not {told['quick_dead_chance']}")
    quickest = f"Loads can follow each other every {told['quickest_interval_min']}"
    if not said:
        return f"{quickest}; asked for as here, they come as quickly."
    return (
        f"{quickest}, but trucks come early and late and loads empty unevenly. Asked for as here, "
        f"{listed(said)}."
    )


def _trucks_wait(told: Told) -> str:
    return (
        f"Trucks would wait on site {told.lasting('truck_wait_min')} in all, one of them "
        f"{told.lasting('longest_wait_min')}, in {told.lasting('run_min')} of placing. "
        "Space them farther apart."
    )


def _load_may_die(told: Told) -> str:
    return (
        f"On {told['chance']} of such days a load gets too old, most often the {_ordinal(told, 'load')}: "
        f"one day in ten it is {told.minutes_up('age_p90_min')} old or more when the truck is empty, and the "
        f"limit is {told['age_limit_min']}. Place faster, order smaller loads, or agree on a longer limit."
    )


def _ordinal(told: Told, name: str) -> str:
    """``1st``, ``12th``, ``23rd`` of the trucks in the order they are emptied."""
    number = round(told.number(name))
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _cold_joint_risk(told: Told) -> str:
    return (
        f"On {told['chance']} of such days a gap between loads is longer than {told['cold_joint_min']}, "
        f"which leaves a cold joint; one day in ten it is {told.minutes_up('gap_p90_min')} or more. Ask for "
        "more trucks, and have a bulkhead at hand."
    )


def _fragile_spacing(told: Told) -> str:
    ends = {"dead_chance": "a load gets too old on", "cold_joint_chance": "a gap leaves a cold joint on"}
    said = [f"{end} {told[name]} of days" for name, end in ends.items() if told.has(name)]
    return (
        f"This spacing needs punctual trucks: when each may be {told['lateness_min']} early or late, as is "
        f"usual, {' and '.join(said)}. Have the plant call when a truck leaves, and hold back the next."
    )


def _more_trucks_help(told: Told) -> str:
    return (
        f"With {told.count('trucks', 'truck', 'trucks')} the crew waits "
        f"{told.lasting('crew_wait_min')} in all on an average day; with {told['trucks_enough']} it would "
        f"wait {told.lasting('crew_wait_with_enough_min')}. Ask the plant for {told['trucks_enough']}."
    )


SENTENCES: dict[str, Sentence] = {
    "hold_last_load": (
        "Hold load {load} at the plant until you have measured what is left (about {remaining_m3})."
    ),
    "short_load": _short_load,
    "road_limit_unchecked": (
        "The road carries {road_limit_kg}, but nobody entered what the trucks weigh empty, so loads are not "
        "held to it. Ask the plant and enter it."
    ),
    "spacing_limited": _spacing_limited,
    "too_few_trucks": _too_few_trucks,
    "load_too_old": _load_too_old,
    "plant_not_open": _plant_not_open,
    "plant_closed": _plant_closed,
    "plant_loads_others": _plant_loads_others,
    "plant_shut": lambda told: (
        f"The plant is shut that {told.day('starts_at')}. Choose another day or another plant."
    ),
    "balance_deadline": "If you run short, call for one more load by {call_by_at}: the plant closes then.",
    "balance_after_close": lambda told: (
        f"The last full load is out {told.at('last_full_load_ends_at')}, after the plant closes "
        f"{told.at('call_by_at')}, too late to call for what is short. Start placing by "
        f"{told['latest_start_at']}, or agree on a late load beforehand."
    ),
    "arrivals_weighed": _arrivals_weighed,
    "crew_waits": _crew_waits,
    "trucks_wait": _trucks_wait,
    "load_may_die": _load_may_die,
    "cold_joint_risk": _cold_joint_risk,
    "fragile_spacing": _fragile_spacing,
    "more_trucks_help": _more_trucks_help,
}
