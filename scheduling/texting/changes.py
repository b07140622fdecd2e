"""What a crew lead is told when new weather has changed a plan whose numbers they hold: only what changed."""

from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.texting.cautions import Caution, warnings
from scheduling.texting.clock import about, clock
from scheduling.texting.segments import segments, to_gsm
from scheduling.texting.wording import PourFacts

MOST_SEGMENTS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """Which of the numbers are others now, and what is warned of newly or no longer."""

    floats: bool = False
    cuts: bool = False
    trucks: bool = False
    begun: tuple[Caution, ...] = ()
    gone: tuple[Caution, ...] = ()


def change_text(before: PourFacts, after: PourFacts, changed: Changed) -> str:
    """The text; where room is short what is said last goes first. Empty where a crew need not know."""
    lines = [f"{after.place}: new weather."]
    for line in _lines(before, after, changed):
        longer = [*lines, line]
        if segments(to_gsm(" ".join(longer))) > MOST_SEGMENTS:
            break
        lines = longer
    return to_gsm(" ".join(lines)) if len(lines) > 1 else ""


def _lines(before: PourFacts, after: PourFacts, changed: Changed) -> Iterator[str]:
    day = after.starts_at
    new = warnings(changed.begun, day)
    yield from new[:1]
    if changed.trucks and after.arrivals:
        yield f"Trucks now: {after.arrivals.short(clock(day))}."
    if changed.floats:
        yield _floats(before, after)
    if changed.cuts:
        yield _cuts(before, after)
    yield from new[1:]
    for words in warnings(changed.gone, day):
        yield f"No longer: {words[0].lower()}{words[1:]}"


def _floats(before: PourFacts, after: PourFacts) -> str:
    if after.floats_from_at is None:
        return f"No time to {after.surface.lower()} is known any more: ask the office."
    was = f" (was {about(before.floats_from_at, after.starts_at)})" if before.floats_from_at else ""
    return f"{after.surface} from about {about(after.floats_from_at, after.starts_at)}{was}."


def _cuts(before: PourFacts, after: PourFacts) -> str:
    now, was = _span(after), _span(before)
    if not now:
        return "No joints to cut."
    return f"Cut {now} (was {was})." if was else f"Cut {now}."


def _span(pour: PourFacts) -> str:
    if pour.cut_from_at is None or pour.cut_until_at is None:
        return ""
    return "-".join(about(moment, pour.starts_at) for moment in (pour.cut_from_at, pour.cut_until_at))
