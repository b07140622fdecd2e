"""What the trucks may come to: how to ask for them, what waits, and what can go wrong, as chances."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from scheduling.errors import Refusal
from scheduling.models import Company
from scheduling.pages.access import needs, pour_or_404
from scheduling.pages.brief import KeyTime
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import lasting, long_day
from scheduling.pages.wording import Words, about
from scheduling.roles import Right
from scheduling.services import planning

Json = Mapping[str, Any]

NUMBERS = {2: "two", 3: "three"}


@dataclass(frozen=True)
class RiskWords:
    ask: str
    times: tuple[KeyTime, ...]
    worth: tuple[str, ...]
    is_fragile: bool


@needs(Right.SEE_WEEK)
def pour_trucks(request: HttpRequest, pk: int) -> HttpResponse:
    """What the trucks of the pour may come to, worked out afresh with the newest forecast."""
    pour = pour_or_404(request, pk)
    words, zone = Words.of(Company.objects.first()), site_zone(pour)
    head = {
        "pk": pour.pk,
        "name": pour_name(pour),
        "day": long_day(pour.starts_at.astimezone(zone).date(), words.units),
    }
    try:
        best = planning.truck_outlook(pour=pour)
    except Refusal as refused:
        shown = {"head": head, "problem": refused.message}
        return render(request, "pages/trucks.html", shown, status=refused.status)
    risk = risk_words(best, pour.starts_at, zone, words)
    return render(request, "pages/trucks.html", {"head": head, "risk": risk})


def risk_words(best: Json, starts_at: datetime, zone: ZoneInfo, words: Words) -> RiskWords:
    """What may come of a pour's trucks, put into words."""
    return RiskWords(
        ask=ask(best["sayable"], len(best["asked_min"]), words.clock(starts_at, zone)),
        times=tuple(_times(best, starts_at, zone, words)),
        worth=tuple(_worth(best)),
        is_fragile=best["fragile"],
    )


def ask(sayable: Json, loads: int, first_at: str) -> str:
    """The plan of arrivals in one sentence, as a plant takes it over the telephone."""
    together, after, every = (sayable[name] for name in ("first_together", "next_after_min", "interval_min"))
    if loads == 1:
        return f"Ask for the one truck at {first_at}."
    first = f"the first {NUMBERS.get(together, together)} trucks" if together > 1 else "the first truck"
    said = f"Ask for {first} at {first_at}"
    left = loads - together
    if left == 0:
        return f"{said}."
    if left == 1:
        return f"{said} and the last {after} minutes later."
    if after == every:
        return f"{said}, then one every {every} minutes."
    return f"{said}, the next {after} minutes later, then one every {every} minutes."


def _times(best: Json, starts_at: datetime, zone: ZoneInfo, words: Words) -> Iterator[KeyTime]:
    risk = best["risk"]
    wait, high_wait, idle, high_idle = (
        _minutes(risk[name])
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


def _fleet_time(fleet: Json) -> KeyTime:
    enough, waits = fleet["enough"], fleet["crew_wait_min"]
    note = "one more would save next to nothing"
    if enough > 1:
        note = f"with one fewer the crew waits {_minutes(waits[-2])} in all, not {_minutes(waits[-1])}"
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


def _minutes(minutes: float) -> str:
    return lasting(timedelta(minutes=round(minutes)))
