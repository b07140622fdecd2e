"""The one list of what needs somebody, each with the way to where it is settled."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse

from scheduling.pages.clashes import pour_name, site_zone
from scheduling.pages.clock import day_words
from scheduling.pages.weekplace import Place
from scheduling.pages.wording import Words
from scheduling.queries.attention import Attention
from scheduling.queries.week import local_day

MOST_SHOWN = 4
SOON = timedelta(days=1)  # from the evening before on, what keeps a pour from being placed cannot wait


@dataclass(frozen=True)
class NeedItem:
    label: str
    url: str
    more: str = ""


@dataclass(frozen=True)
class Need:
    """One kind of thing: how grave, how many, what is to be done, and which."""

    mark: str
    count: int
    said: str
    items: tuple[NeedItem, ...]
    rest: int = 0


def needs_words(found: Attention, place: Place, words: Words, now: datetime) -> tuple[Need, ...]:
    """What cannot wait comes first."""
    late = [pour for pour in found.to_call if pour.call_by <= now]
    in_time = [pour for pour in found.to_call if pour.call_by > now]
    by_call = sorted(in_time, key=lambda pour: (pour.call_by, pour.pk))
    needs = (
        need
        for need in (
            *_before_concrete(found, words, now),
            _need("stop", late, "order{s} past the time to call", _orders(late, words)),
            _need("stop", found.lost_texts, "text{s} not through", _texts(found.lost_texts, words, "lost")),
            _need("caution", found.replies, "repl{ies} to read", _replies(found.replies)),
            _need(
                "caution",
                found.unanswered,
                "morning text{s} not answered",
                _texts(found.unanswered, words, "people"),
            ),
            _need("caution", found.without_crew, "pour{s} without a crew", _crewless(found, place, words)),
            _need("to_call", by_call, "order{s} to call in", _orders(by_call, words)),
            _need(
                "caution",
                found.changed_since_plan,
                "pour{s} changed since the plan",
                _plans(found.changed_since_plan, words, "plan it again"),
            ),
            _need(
                "caution",
                found.newer_forecast,
                "plan{s} older than the forecast",
                _plans(found.newer_forecast, words, "plan it again"),
            ),
            _need(
                "called",
                found.unconfirmed,
                "order{s} called in, not confirmed",
                _plans(found.unconfirmed, words, "", "#order"),
            ),
        )
        if need
    )
    return tuple(sorted(needs, key=lambda need: need.mark != "stop"))


def _before_concrete(found: Attention, words: Words, now: datetime) -> Iterator[Need | None]:
    """What must be settled before a truck may come: asked for in good time, and grave from the day before."""
    for pours, said, anchor in (
        (found.forms_open, "pour{s} with forms to be released", "#papers"),
        (found.inspection_open, "pour{s} with an inspection to pass", "#papers"),
        (found.without_spotter, "pour{s} where trucks back and nobody guides them", "#spotter"),
    ):
        mark = "stop" if any(pour.starts_at <= now + SOON for pour in pours) else "caution"
        yield _need(mark, pours, said, _plans(pours, words, "", anchor))


def _need(mark: str, rows: Sequence[Any], said: str, items: Iterator[NeedItem]) -> Need | None:
    if not rows:
        return None
    one = len(rows) == 1
    told = said.format(s="" if one else "s", ies="y" if one else "ies")
    shown = tuple(items)[:MOST_SHOWN]
    return Need(mark, len(rows), told, shown, len(rows) - len(shown))


def _of_pour(pour: Any, words: Words) -> str:
    day = day_words(local_day(pour), words.units).split(",")[0].split(" ")[0]
    return f"{pour_name(pour)}, {day} {words.clock(pour.starts_at, site_zone(pour))}"


def _orders(pours: Sequence[Any], words: Words) -> Iterator[NeedItem]:
    for pour in pours:
        by = words.day_and_time(pour.call_by, ZoneInfo(pour.plant.time_zone))
        yield NeedItem(_of_pour(pour, words), reverse("pour", args=[pour.pk]) + "#order", f"by {by}")


def _plans(pours: Sequence[Any], words: Words, more: str, anchor: str = "#acts") -> Iterator[NeedItem]:
    for pour in pours:
        yield NeedItem(_of_pour(pour, words), reverse("pour", args=[pour.pk]) + anchor, more)


def _crewless(found: Attention, place: Place, words: Words) -> Iterator[NeedItem]:
    for pour in found.without_crew:
        url = place.address(local_day(pour), move=pour.pk) + "#move"
        yield NeedItem(_of_pour(pour, words), url, "give it one")


def _texts(texts: Sequence[Any], words: Words, anchor: str) -> Iterator[NeedItem]:
    for text in texts:
        at = words.day_and_time(text.due_at, words.office)
        state = f", {text.get_state_display()}" if anchor == "lost" else ""
        yield NeedItem(str(text.recipient), f"{reverse('on-call')}#{anchor}", f"{at}{state}")


def _replies(replies: Sequence[Any]) -> Iterator[NeedItem]:
    for reply in replies:
        body = reply.body if len(reply.body) <= 40 else f"{reply.body[:38]}…"
        said = f"“{body}”" if body else "without words"
        yield NeedItem(str(reply.person or reply.phone), f"{reverse('on-call')}#replies", said)
