"""The slab and what is left to place as the lead's phone shows them, in the language spoken just now."""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from scheduling.models import NoteKind
from scheduling.quantities import Dimension, UnitSystem, format_quantity
from scheduling.services.balance import MAY_FOLLOW
from scheduling.services.phonerows import Button, Left, StripRow
from scheduling.texting import phone as words

Json = Mapping[str, Any]

CUT = ("opens_at", "last_call_at")


def strip_rows(
    slab: Json, zone: ZoneInfo, day: datetime, button: Callable[..., Button]
) -> Iterator[StripRow]:
    """Each strip with what it was and will be; one that is not found ready has a button to say so."""

    def on_site(said: str) -> datetime:
        return datetime.fromisoformat(said).astimezone(zone)

    cuts = slab["sawing"]["starts_at"] is not None
    for strip in slab["strips"]:
        ready_at, found = on_site(strip["ready_at"]), strip["found_ready"]
        said = [
            words.ready_at(ready_at, day, found=found),
            gettext(words.TOO_LATE)
            if strip["lost"]
            else words.finished_about(on_site(strip["finished_at"]), day),
        ]
        if cuts and strip["cut_opens_at"] and strip["cut_last_call_at"]:
            first, last = on_site(strip["cut_opens_at"]), on_site(strip["cut_last_call_at"])
            said.append(words.cut_between(words.span(first, last, day)))
        yield StripRow(
            number=strip["number"],
            loads=words.loads_in_it(strip["loads"]),
            said=tuple(said),
            is_ready=found,
            ready=None if found else button(NoteKind.READY_TO_FINISH, strip=strip["number"]),
        )


def left_to_place(
    stand: Json | None, zone: ZoneInfo, units: UnitSystem, now: datetime, button: Callable[..., Button]
) -> Left:
    """What a measure makes of the balance load, and how far one asked for has got."""
    if stand is None:
        return Left()
    step = NoteKind(stand["step"]) if stand["step"] else None
    need = stand["need"]
    return Left(
        said=tuple(_said(stand, zone, units, now)),
        order=_to_order(need, zone, units, now) if stand["is_short"] else "",
        may_ask=need is not None or step is not None,
        amount=format_quantity(need["order_m3"], Dimension.VOLUME, units) if stand["is_short"] else "",
        steps=tuple(button(kind) for kind in _next_steps(step)) if step else (),
    )


def _next_steps(step: NoteKind) -> Iterator[NoteKind]:
    """What may come next of a balance load; another is asked for with its amount, not by a button alone."""
    return (kind for kind in MAY_FOLLOW[step] if kind != NoteKind.BALANCE_ASKED)


def _said(stand: Json, zone: ZoneInfo, units: UnitSystem, now: datetime) -> Iterator[str]:
    def amount(m3: float) -> str:
        return format_quantity(m3, Dimension.VOLUME, units)

    if need := stand["need"]:
        measured_at = datetime.fromisoformat(stand["measured_at"]).astimezone(zone)
        coming = amount(need["coming_m3"]) if need["coming_m3"] else ""
        yield words.was_left(amount(need["left_m3"]), measured_at, coming)
        if not need["order_m3"]:
            yield gettext(words.ENOUGH)
    if stand["step"]:
        yield words.balance_step(stand["step"], amount(stand["asked_m3"]) if stand["asked_m3"] else "")


def _to_order(need: Json, zone: ZoneInfo, units: UnitSystem, now: datetime) -> str:
    by_at = datetime.fromisoformat(need["by_at"]).astimezone(zone) if need["by_at"] else None
    amount = format_quantity(need["order_m3"], Dimension.VOLUME, units)
    return words.to_order(amount, need["load"], by_at, too_late=by_at is not None and by_at <= now)


def finish_words(slab: Json, zone: ZoneInfo, day: datetime) -> tuple[str, str]:
    """From when the slab takes a trowel by its actual placing, and what rain makes of it."""
    ready_at = datetime.fromisoformat(slab["ready_early_at"]).astimezone(zone)
    finished_at = datetime.fromisoformat(slab["finished_at"]).astimezone(zone)
    more = [words.finished_about(finished_at, day)]
    if slab["rain_waits_min"] >= 1:
        more.append(words.rain_takes(round(slab["rain_waits_min"])))
    return words.from_about(ready_at, day), ". ".join(more)


def cut_words(slab: Json, zone: ZoneInfo, day: datetime) -> str:
    """``6pm-9:30pm``; empty where nothing is cut."""
    sawing = slab["sawing"]
    if sawing["starts_at"] is None:
        return ""
    first, last = (datetime.fromisoformat(sawing[name]).astimezone(zone) for name in CUT)
    return words.span(first, last, day)
