"""Other times a pour could start that day: ranked, with what speaks for and against each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from scheduling.errors import Refusal
from scheduling.models import Company, Pour
from scheduling.pages.access import needs, pour_or_404
from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import day_words, long_day
from scheduling.pages.wording import Words
from scheduling.roles import Right
from scheduling.services import planning

Json = Mapping[str, Any]

SHOWN_AT_ONCE = 8
OFFERED = 4  # beside a form that is being filled in
WORST_FIRST = ("stop", "caution", "note")

# What a start is charged for.
TROUBLES = {
    "drying": "fast drying",
    "hot_concrete": "hot concrete",
    "cold": "cold",
    "rain": "rain",
    "thunder": "thunder",
    "placing_dark": "placing in the dark",
    "finishing_dark": "finishing in the dark",
    "loud": "loud work outside its hours",
    "plant_hours": "the plant’s hours",
    "old_loads": "loads too old",
    "finishing_short": "finishing too late",
    "unknown_weather": "no forecast",
}

# Said once above the list: it holds for every start.
SAID_ABOVE = "daylight_unknown"


@dataclass(frozen=True)
class Reason:
    severity: str
    words: str


@dataclass(frozen=True)
class StartRow:
    """One start beside the booked one: what is better, what is milder or gone, what is new or graver."""

    at: str
    note: str  # the day, where it is another one
    severity: str
    trouble: str
    made_of: str
    better: tuple[str, ...]
    milder: tuple[Reason, ...]
    gone: tuple[str, ...]
    worse: tuple[Reason, ...]
    is_booked: bool
    url: str

    @property
    def is_like_booked(self) -> bool:
        return not (self.is_booked or self.better or self.milder or self.gone or self.worse)


@dataclass(frozen=True)
class RankedStarts:
    first: tuple[StartRow, ...]
    rest: tuple[StartRow, ...]
    above: str
    problem: str

    @property
    def lacks_booked(self) -> bool:
        """Whether the booked start is no half hour that is still ahead."""
        rows = (*self.first, *self.rest)
        return bool(rows) and not any(row.is_booked for row in rows)


@needs(Right.BOOK)
def pour_starts(request: HttpRequest, pk: int) -> HttpResponse:
    """What the pour is; its starts are asked for once the page stands, or with `?all` come at once."""
    pour = pour_or_404(request, pk)
    words, zone = Words.of(Company.objects.first()), site_zone(pour)
    shown: dict[str, Any] = {
        "pk": pk,
        "name": pour_name(pour),
        "day": long_day(pour.starts_at.astimezone(zone).date(), words.units),
        "booked": words.clock(pour.starts_at, zone),
    }
    status = 200
    if "all" in request.GET:
        shown["starts"], status = _ranked(pour, words)
    return render(request, "pages/starts.html", shown, status=status)


@require_safe
@needs(Right.BOOK)
def ranked_starts(request: HttpRequest, pk: int) -> HttpResponse:
    """Every half hour of the pour's day, the best first; each fills in the form that moves the pour."""
    starts, _ = _ranked(pour_or_404(request, pk), Words.of(Company.objects.first()))
    return render(request, "pages/starts_ranked.html", {"starts": starts})


def _ranked(pour: Pour, words: Words) -> tuple[RankedStarts, int]:
    choices, problem, status = _ask(pour)
    return _shown(pour, choices, problem, words), status


def _ask(pour: Pour) -> tuple[list[dict[str, Any]], str, int]:
    """The choices; where there are none what stands in the way, and its status."""
    if not pour.is_standing:
        return [], f"This pour is {pour.get_state_display()}: it is not moved any more.", 200
    try:
        return planning.better_starts(pour=pour, now=timezone.now()), "", 200
    except Refusal as refused:
        return [], refused.message, refused.status


def _shown(pour: Pour, choices: Sequence[Json], problem: str, words: Words) -> RankedStarts:
    zone = site_zone(pour)
    rows = list(_rows(pour, choices, zone, words))
    # The booked start is always among those shown at once.
    first = [row for n, row in enumerate(rows) if n < SHOWN_AT_ONCE or row.is_booked]
    rest = [row for row in rows if row not in first]
    return RankedStarts(
        first=tuple(first),
        rest=tuple(rest),
        above=_above(choices, zone, words),
        problem=problem,
    )


def _above(choices: Sequence[Json], zone: ZoneInfo, words: Words) -> str:
    findings = choices[0]["findings"] if choices else ()
    return next((words.finding(one, zone) for one in findings if one["code"] == SAID_ABOVE), "")


def _rows(pour: Pour, choices: Sequence[Json], zone: ZoneInfo, words: Words) -> Iterator[StartRow]:
    booked_on = pour.starts_at.astimezone(zone).date()

    def say(finding: Json) -> str:
        return words.finding(finding, zone)

    for choice in choices:
        at = datetime.fromisoformat(choice["starts_at"])
        wall = at.astimezone(zone)
        milder, worse, gone = _against(choice)
        yield StartRow(
            at=words.clock(at, zone),
            note="" if wall.date() == booked_on else day_words(wall.date(), words.units),
            severity=choice["findings"][0]["severity"] if choice["findings"] else "",
            trouble=_hours(choice["total_h"]),
            made_of=_made_of(choice["costs_h"]),
            better=tuple(say(one) for one in choice["advantages"]),
            milder=tuple(Reason(one["severity"], say(one)) for one in milder),
            gone=tuple(say(one) for one in gone),
            worse=tuple(Reason(one["severity"], say(one)) for one in worse),
            is_booked=at == pour.starts_at,
            url=_move_url(pour, wall),
        )


def _against(choice: Json) -> tuple[list[Json], list[Json], list[Json]]:
    """What is milder, what is new or graver, and what is gone beside the booked start.

    A finding of another severity both appears and clears; it is said once.
    """
    cleared = {one["code"]: one for one in choice["clear"]}
    appeared = {one["code"] for one in choice["appear"]}
    milder = [
        one
        for one in choice["appear"]
        if one["code"] in cleared
        and WORST_FIRST.index(one["severity"]) > WORST_FIRST.index(cleared[one["code"]]["severity"])
    ]
    worse = [one for one in choice["appear"] if one not in milder]
    return milder, worse, [one for one in choice["clear"] if one["code"] not in appeared]


def _move_url(pour: Pour, wall: datetime) -> str:
    asked = urlencode({"start": f"{wall:%Y-%m-%dT%H:%M}"}, safe=":")
    return f"{reverse('pour', args=[pour.pk])}?{asked}#move"


def _made_of(costs_h: Mapping[str, float]) -> str:
    """The troubles that weigh anything, the heaviest first."""
    heavy = sorted(costs_h.items(), key=lambda cost: -cost[1])
    return ", ".join(
        f"{TROUBLES.get(name, name.replace('_', ' '))} {_hours(cost)}" for name, cost in heavy if cost >= 0.05
    )


def _hours(hours: float) -> str:
    return f"{hours:.1f}"


# --- offered while a pour is booked -----------------------------------------------------------


@dataclass(frozen=True)
class StartOffer:
    """Another hour of the day that is typed, and what is better there or worse."""

    at: str
    why: str
    is_worse: bool
    fill: str


def start_offers(pour: Pour, choices: Sequence[Json], words: Words) -> list[StartOffer]:
    """The best few of the hours ranked, without the one that is typed."""
    zone = site_zone(pour)
    others = [one for one in choices if datetime.fromisoformat(one["starts_at"]) != pour.starts_at]
    return [_offer(choice, zone, words) for choice in others[:OFFERED]]


def _offer(choice: Json, zone: ZoneInfo, words: Words) -> StartOffer:
    at = datetime.fromisoformat(choice["starts_at"])
    wall = at.astimezone(zone)
    milder, worse, gone = _against(choice)
    better = [words.finding(one, zone) for one in choice["advantages"]]
    better += [f"Not there: {words.finding(one, zone)}" for one in gone if one["severity"] != "note"]
    new = [words.finding(one, zone) for one in (*worse, *milder) if one["severity"] != "note"]
    why = better[0] if better else new[0] if new else "Much like the start typed."
    return StartOffer(
        at=words.clock(at, zone),
        why=why,
        is_worse=not better and bool(new),
        fill=urlencode({"day": f"{wall:%Y-%m-%d}", "time": f"{wall:%H:%M}", "settled": f"time {wall:%H:%M}"}),
    )
