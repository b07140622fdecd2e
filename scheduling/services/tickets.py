"""What the tickets of loads say against what was ordered: a wrong mix is found before it starts."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduling.models import NoteKind, Pour, SiteNote
from scheduling.quantities import Dimension, UnitSystem, format_quantity

# Tickets are written to a quarter of a yard at the finest; less is rounding (our choice).
WORTH_NAMING_M3 = 0.15


@dataclass(frozen=True, slots=True)
class Mismatch:
    """`what` is mix, address or yards; the mix and the address stop the load."""

    what: str
    load: int
    ticket: str
    ordered: str

    @property
    def stops(self) -> bool:
        return self.what != "yards"


def last_tickets(notes: Iterable[SiteNote]) -> dict[int, SiteNote]:
    """The ticket read last of each load that stands; a load refused has none until it comes again."""
    tickets: dict[int, SiteNote] = {}
    for note in notes:
        if note.load is not None and note.kind == NoteKind.TICKET:
            tickets[note.load] = note
        elif note.load is not None and note.kind == NoteKind.REFUSED:
            tickets.pop(note.load, None)
    return tickets


def mismatches(pour: Pour, ticket: SiteNote, planned_m3: float, units: UnitSystem) -> Iterator[Mismatch]:
    """Where the ticket says otherwise than what was ordered; a line nobody read says nothing."""
    load = ticket.load or 0
    if ticket.ticket_mix and _plain(ticket.ticket_mix) != _plain(pour.mix.code):
        yield Mismatch("mix", load, ticket.ticket_mix, pour.mix.code)
    if ticket.ticket_address and _plain(ticket.ticket_address) != _plain(pour.job.site.address):
        yield Mismatch("address", load, ticket.ticket_address, pour.job.site.address)
    if ticket.ticket_m3 is not None and abs(ticket.ticket_m3 - planned_m3) > WORTH_NAMING_M3:
        said, asked = (format_quantity(m3, Dimension.VOLUME, units) for m3 in (ticket.ticket_m3, planned_m3))
        yield Mismatch("yards", load, said, asked)


def _plain(words: str) -> str:
    """Without what people leave out when they copy: capitals, blanks, dots and dashes."""
    return re.sub(r"[\W_]+", "", words).casefold()
