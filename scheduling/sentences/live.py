"""Sentences on a pour under way: trucks that are missing, loads that age, gaps that grow."""

from scheduling.sentences.told import Sentence, Told


def _truck_missing(told: Told) -> str:
    late, asked = told.lasting("late_min"), told.at("asked_at")
    said = f"Load {told['load']} was asked for {asked} and nobody has seen it: {late} late."
    if told.has("dry_min"):
        said += f" No concrete has come for {told.lasting('dry_min')}"
        said += f"; the edge knits until {told['bulkhead_by_at']}." if told.has("bulkhead_by_at") else "."
    return f"{said} Call the plant."


def _load_expires(told: Told) -> str:
    if told.number("age_min") > told.number("age_limit_min"):
        return (
            f"Load {told['load']} is {told.lasting('age_min')} old and its limit is "
            f"{told.lasting('age_limit_min')}. Refuse it or call who may decide, and write down who did."
        )
    return (
        f"Load {told['load']} would be {told.lasting('end_age_min')} old when it is empty; it is good until "
        f"{told['good_until_at']}. Place it first or send it back."
    )


def _gap_growing(told: Told) -> str:
    return (
        f"No concrete has come for {told.lasting('dry_min')}; after {told.lasting('cold_joint_min')} the "
        f"edge no longer knits. Have the bulkhead in by {told['bulkhead_by_at']}."
    )


def _gap_too_long(told: Told) -> str:
    return (
        f"No concrete has come for {told.lasting('dry_min')}; within {told.lasting('cold_joint_min')} the "
        "edge still knits. Stop at a bulkhead and ask the engineer before placing on."
    )


def _hold_trucks(told: Told) -> str:
    one = told.number("loads") == 1
    held = f"Hold load {told['load']}" if one else f"Hold load {told['load']} and those after it"
    said = f"{held} {told.lasting('later_min')}: ask for load {told['load']} {told.at('arrives_at')}"
    return f"{said}." if one else f"{said}, then one every {told['interval_min']}."


SENTENCES: dict[str, Sentence] = {
    "truck_missing": _truck_missing,
    "load_expires": _load_expires,
    "load_age_unknown": (
        "Nobody has entered when load {load} was batched, so its age is not known. Read it off the ticket "
        "before you take the load."
    ),
    "gap_growing": _gap_growing,
    "gap_too_long": _gap_too_long,
    "hold_trucks": _hold_trucks,
}
