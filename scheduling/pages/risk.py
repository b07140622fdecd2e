"""What the trucks of a plan may come to: what waits, and what can go wrong, as chances."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.pages.brief import KeyTime, minutes_words
from scheduling.pages.wording import Words, about

Json = Mapping[str, Any]


@dataclass(frozen=True)
class RiskWords:
    times: tuple[KeyTime, ...]
    worth: tuple[str, ...]
    is_fragile: bool


def risk_words(
    best: Json, starts_at: datetime, zone: ZoneInfo, words: Words, wait_fees: Sequence[float] = ()
) -> RiskWords:
    """What may come of a pour's trucks, put into words.

    `wait_fees` is what the plant charges for each load if all goes as asked.
    """
    return RiskWords(
        times=(*_times(best, starts_at, zone, words), *_fees(best["risk"], wait_fees, words)),
        worth=tuple(_worth(best)),
        is_fragile=best["fragile"],
    )


def _times(best: Json, starts_at: datetime, zone: ZoneInfo, words: Words) -> Iterator[KeyTime]:
    risk = best["risk"]
    wait, high_wait, idle, high_idle = (
        minutes_words(risk[name])
        for name in (
            "truck_wait_mean_min",
            "truck_wait_p90_min",
            "crew_wait_mean_min",
            "crew_wait_p90_min",
        )
    )
    finish, early, late = (
        about(starts_at + timedelta(minutes=risk[name]))
        for name in ("finish_mean_min", "finish_p05_min", "finish_p95_min")
    )
    yield KeyTime("A truck waits", wait, f"on average; nine in ten wait {high_wait} or less")
    yield KeyTime("The crew waits", idle, f"on average in all; on nine days in ten {high_idle} or less")
    yield KeyTime("A load gets too old", chance(risk["any_dead_chance"]), "one load or more")
    yield KeyTime("A cold joint", chance(risk["cold_joint_chance"]), "one gap too long, or more")
    spread = words.from_to(early, late, zone)
    yield KeyTime("Last truck empty", words.clock(finish, zone), f"on nine days in ten {spread}")
    yield _fleet_time(best["fleet"])


def _fees(risk: Json, wait_fees: Sequence[float], words: Words) -> Iterator[KeyTime]:
    """What the plant charges for waiting; nothing where the plan was kept before that was worked out."""
    if "wait_fees_mean" not in risk:
        return
    asked = words.money(sum(wait_fees)) if round(sum(wait_fees)) else "nothing"
    note = f"on average, for trucks kept beyond their free minutes; {asked} if all goes as asked"
    yield KeyTime("The plant charges", words.money(risk["wait_fees_mean"]), note)


def _fleet_time(fleet: Json) -> KeyTime:
    enough, waits = fleet["enough"], fleet["crew_wait_min"]
    note = "one more would save next to nothing"
    if enough > 1:
        note = (
            f"with one fewer the crew waits {minutes_words(waits[-2])} in all, not {minutes_words(waits[-1])}"
        )
    return KeyTime("Keeps the crew fed", f"{enough} truck{'s' if enough > 1 else ''}", note)


def _worth(best: Json) -> Iterator[str]:
    """What the plan costs beside the best one that could be thought of, and the plainest."""
    if len(best["asked_min"]) == 1:
        return
    lost, saved, plain = round(best["loss_percent"]), round(best["saved_percent"]), best["plain_interval_min"]
    if lost >= 1:
        yield f"Said so plainly the plan costs {lost}% more waiting and risk than timing each truck alone."
    else:
        yield "Timing each truck alone would save less than 1% of the waiting and risk."
    plainest = f"a truck every {plain} minutes, which is a load divided by the crew’s pace"
    if saved >= 1:
        yield f"Asked this way it costs {saved}% less than {plainest}."
    else:
        yield f"Asked this way it costs about as much as {plainest}."


def chance(share: float) -> str:
    """A chance as a person takes it: none is shown as certain or impossible that was only not seen."""
    if share < 0.01:
        return "under 1%"
    return "over 99%" if share > 0.99 else f"{100 * share:.0f}%"
