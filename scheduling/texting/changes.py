"""What a crew lead is told when a plan whose numbers they hold has changed: only what changed."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as said

from scheduling.texting.cautions import Caution, warnings
from scheduling.texting.clock import about, clock, day_name, the_clock
from scheduling.texting.segments import segments, to_gsm
from scheduling.texting.wording import (
    MOST_SEGMENTS,
    WORK_FROM,
    PourFacts,
    Surface,
    cut_span,
    trucks,
    where,
)

WORK_FROM_INSTEAD = {
    Surface.TROWEL: said("Trowel from {clock} (was {was})."),
    Surface.BROOM: said("Broom from {clock} (was {was})."),
    Surface.FLOAT: said("Float from {clock} (was {was})."),
}
NO_TIME_TO = {
    Surface.TROWEL: said("No time to trowel is known any more: ask the office."),
    Surface.BROOM: said("No time to broom is known any more: ask the office."),
    Surface.FLOAT: said("No time to float is known any more: ask the office."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """Which of the numbers are others now, and what is warned of newly or no longer.

    `by_hand` where a person changed the booking, and not only the weather its plan.
    """

    by_hand: bool = False
    start: bool = False
    place: bool = False
    order: bool = False
    floats: bool = False
    cuts: bool = False
    trucks: bool = False
    begun: tuple[Caution, ...] = ()
    gone: tuple[Caution, ...] = ()

    @property
    def is_urgent(self) -> bool:
        """Whether something stops the pour that did not before."""
        return any(caution.is_stop for caution in self.begun)


def change_text(before: PourFacts, after: PourFacts, changed: Changed) -> str:
    """The text; where room is short what is said last goes first. Empty where a crew need not know."""
    lines = [_head(after, changed)]
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
    if changed.place:
        yield gettext("Now at {where}.").format(where=where(after))
    if changed.start:
        yield _start(before, after)
    elif changed.trucks and after.arrivals:
        yield gettext("Trucks now: {trucks}.").format(trucks=after.arrivals.short(the_clock(day)))
    if changed.order and after.quantity:
        yield gettext("Order now {order}.").format(order=f"{after.quantity} {after.mix}, {after.plant}")
    if changed.floats:
        yield _floats(before, after)
    if changed.cuts:
        yield _cuts(before, after)
    yield from new[1:]
    for words in warnings(changed.gone, day):
        yield gettext("No longer: {words}").format(words=f"{words[0].lower()}{words[1:]}")


def _head(after: PourFacts, changed: Changed) -> str:
    if changed.by_hand:
        return gettext("CHANGE {day}, {place}:").format(day=day_name(after.starts_at), place=after.place)
    return gettext("{place}: new weather.").format(place=after.place)


def _start(before: PourFacts, after: PourFacts) -> str:
    words = gettext("Be there {the_clock} (was {was}). {trucks}")
    was = clock(before.call_at, after.call_at)
    return words.format(the_clock=the_clock(after.call_at, after.starts_at), was=was, trucks=trucks(after))


def _floats(before: PourFacts, after: PourFacts) -> str:
    if after.floats_from_at is None:
        return gettext(NO_TIME_TO[after.surface])
    now = about(after.floats_from_at, after.starts_at)
    if before.floats_from_at is None:
        return gettext(WORK_FROM[after.surface]).format(clock=now)
    words = gettext(WORK_FROM_INSTEAD[after.surface])
    return words.format(clock=now, was=about(before.floats_from_at, after.starts_at))


def _cuts(before: PourFacts, after: PourFacts) -> str:
    now, was = cut_span(after), cut_span(before)
    if not now:
        return gettext("No joints to cut.")
    if not was:
        return gettext("Cut {span}.").format(span=now)
    return gettext("Cut {span} (was {was}).").format(span=now, was=was)
