"""Sentences on what cold asks for: the concrete, the ground, the days of protection, the first frost."""

from scheduling.sentences.told import Sentence, Told


def cold(told: Told, meaning: str, cure: str) -> str:
    """What the air does, first and at its lowest, then what to do."""
    first, coldest = told.clock("first_at", dated=True), told.clock("coldest_at", dated=True)
    return (
        f"{meaning}: the air is {told['limit_c']} or less, first {first}, "
        f"lowest {told['coldest_c']} {'then' if coldest == first else coldest}. {cure}"
    )


def _frost(told: Told) -> str:
    cure = "Place nothing on frozen ground, and keep the slab from freezing with blankets or heat."
    return cold(told, "Frost", cure)


def _cold_weather(told: Told) -> str:
    cure = "Have blankets ready; what the specification says of cold weather goes before this."
    return cold(told, "Cold", cure)


def _frozen_base(told: Told) -> str:
    found = f"was read at {told['base_c']}" if told.has("base_c") else "was found frozen"
    return (
        f"The base {found}. No concrete goes on frozen ground, however warm the air: thaw it under blankets "
        "or with heat, have somebody read it again, and enter the new reading."
    )


def _base_may_freeze(told: Told) -> str:
    return (
        f"{told.hours('frost_h')} of frost, down to {told['coldest_c']}, in the day before the first truck. "
        "Keep the base covered that night, look for frost in it and read its temperature before the first "
        "load is batched."
    )


def _cold_placing(told: Told) -> str:
    return (
        f"At {told['air_c']} a {told['thickness_m']} slab wants concrete of {told['least_c']} to "
        f"{told['most_c']} as it is placed: ask the plant for {told['batched_c']} or more as it leaves. "
        "The specification may ask for more."
    )


def _cold_protection(told: Told) -> str:
    why = ", as it has an accelerator" if told.true("accelerated") else ""
    return (
        f"Keep the slab at {told['least_c']} or more for {told.count('days', 'day', 'days')}{why}, until "
        f"{told.about('until_at', dated=True)}; {told['loaded_days']} days where it soon bears load. Then "
        "let it cool slowly. The engineer's specification goes before these."
    )


def _first_freeze(told: Told) -> str:
    return (
        f"The first frost on the slab may come {told.clock('first_at', dated=True)}, about "
        f"{round(told.number('after_h'))} h after placing, down to {told['coldest_c']}. Leave blankets on "
        f"until it has {told['strength_mpa']}, which takes about {told['safe_h']} at {told['safe_air_c']}, "
        "longer in the cold."
    )


SENTENCES: dict[str, Sentence] = {
    "cold_concrete": (
        "The concrete would come at {concrete_c}, under the {limit_c} that a {thickness_m} slab "
        "needs when it is placed. Ask the plant for warmer concrete."
    ),
    "cold_weather": _cold_weather,
    "frost": _frost,
    "frozen_base": _frozen_base,
    "base_may_freeze": _base_may_freeze,
    "cold_placing": _cold_placing,
    "cold_protection": _cold_protection,
    "cold_spell": (
        "By the older definition too this is cold weather: more than {days} days running with a mean under "
        "{mean_limit_c}. A specification may mean either."
    ),
    "first_freeze": _first_freeze,
    "calcium_chloride": (
        "The mix has calcium chloride for {cement_share_percent} of its cement, {chloride_kg} in all. Keep "
        "it off steel, and off a colored or stamped top, which it stains."
    ),
    "chloride_steel": (
        "The mix has calcium chloride, {cement_share_percent} of its cement, which rusts steel. Order it "
        "with an accelerator without chloride."
    ),
    "chloride_decorative": (
        "The mix has calcium chloride, {cement_share_percent} of its cement, which stains a decorative slab. "
        "Order it with an accelerator without chloride."
    ),
    "blanket_wind": lambda told: (
        f"Gusts reach {told['gust_m_s']} {told.from_to('first_at', 'last_at', dated=True)}, enough to lift "
        "sheets and blankets. Lap them and weigh down every edge with lumber or sandbags, and have somebody "
        "look at night."
    ),
}
