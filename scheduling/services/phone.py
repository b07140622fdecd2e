"""What a crew lead presses on the phone: noted as it happened, also where it gets here an hour later."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from functools import partial
from typing import BinaryIO

from django.db import transaction
from django.utils import translation

from scheduling.errors import Refusal
from scheduling.localtime import moment_of
from scheduling.models import Company, DayLink, NoteKind, Pour, SiteNote
from scheduling.quantities import UnitSystem
from scheduling.queries import sitenotes
from scheduling.services import briefing, live, outbox, tickets
from scheduling.services.photos import keep_photo
from scheduling.texting import phone as words
from scheduling.texting.segments import to_gsm
from scheduling.texting.wording import clip

LONGEST_QUEUED = timedelta(hours=36)  # what a phone kept longer than that is of a day that is over
DAY = timedelta(days=1)
MOST_PHOTOS = 60  # of one pour (our choice): whoever finds a link must not fill the disk
TOLD_USEFUL = timedelta(hours=2)
SITE_LENGTH, SAID_LENGTH = 40, 200
KEY_LENGTH = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """One press of a button. `ago` is how long it waited on the phone, by the phone's own clock.

    So a phone whose clock is wrong still tells when it was: only how much time went by counts. `at` and
    `batched` are clock times as typed.
    """

    kind: NoteKind
    key: str
    ago: timedelta = timedelta()
    load: int | None = None
    at: time | None = None
    batched: time | None = None
    people: int | None = None
    strip: int | None = None
    m3: float | None = None
    confirmed: bool = False
    words: str = ""
    slump_mm: float | None = None
    concrete_c: float | None = None
    ticket_m3: float | None = None
    ticket_mix: str = ""
    ticket_address: str = ""
    photo: BinaryIO | None = None
    photo_size: int = 0


@transaction.atomic
def press(*, link: DayLink, pour: Pour, said: Press, now: datetime) -> SiteNote:
    """Note what was pressed by whoever holds the link, in the name of its lead.

    Raises
    ------
    Refusal
        As `live.note` does; if a load is started whose batch time nobody entered; if a problem has no words.
    """
    if said.photo and (known := SiteNote.objects.filter(pour=pour, key=said.key).first()):
        return known  # and the picture is kept once
    pressed_at = now - min(max(said.ago, timedelta()), LONGEST_QUEUED)
    happened_at = _last_time(pour, said.at, pressed_at, "at") or pressed_at
    batch_at = _last_time(pour, said.batched, happened_at, "batched")
    if said.kind == NoteKind.PROBLEM and not said.words.strip():
        raise Refusal("Say what is the matter.", code="words_needed", field="words")
    if said.kind == NoteKind.TRUCK_STARTED:
        _age_is_known(link, pour, said, happened_at, batch_at, now)
        batch_at = None
    made = _note(link, pour, said, happened_at, batch_at, now)
    _tell_dispatch(made, now)
    return made


def undo(*, link: DayLink, note: SiteNote, now: datetime) -> SiteNote:
    """Take back what was noted, within ten minutes."""
    return live.undo(note=note, by=link.lead, now=now)


def _note(
    link: DayLink, pour: Pour, said: Press, happened_at: datetime, batch_at: datetime | None, now: datetime
) -> SiteNote:
    return live.note(
        pour=pour,
        kind=said.kind,
        key=said.key,
        happened_at=happened_at,
        by=link.lead,
        now=now,
        load=said.load,
        batch_at=batch_at,
        people=said.people,
        strip=said.strip,
        m3=said.m3,
        confirmed=said.confirmed,
        words=said.words.strip(),
        slump_mm=said.slump_mm,
        concrete_c=said.concrete_c,
        ticket_m3=said.ticket_m3,
        ticket_mix=said.ticket_mix.strip(),
        ticket_address=said.ticket_address.strip(),
        photo=_kept(pour, said),
    )


def _last_time(pour: Pour, clock: time | None, by: datetime, field: str) -> datetime | None:
    """The last moment before then that the site's clock showed so: after midnight 11:50 pm is yesterday."""
    if clock is None:
        return None
    zone = briefing.site_zone(pour)
    day = by.astimezone(zone).date()
    today = moment_of(datetime.combine(day, clock), zone, field=field)
    if today <= by + live.CLOCK_SLACK:
        return today
    return moment_of(datetime.combine(day - DAY, clock), zone, field=field)


def _age_is_known(
    link: DayLink, pour: Pour, said: Press, happened_at: datetime, batch_at: datetime | None, now: datetime
) -> None:
    """A load of unknown age is not taken: its batch time is there, or comes with the press."""
    if any(batched_at(sitenotes.standing_notes(pour), said.load)):
        return
    if batch_at is None:
        raise Refusal("Enter the batch time first.", code="batch_needed", field="batched")
    live.note(
        pour=pour,
        kind=NoteKind.TICKET,
        key=f"{said.key[: KEY_LENGTH - 2]}-b",
        happened_at=happened_at,
        by=link.lead,
        now=now,
        load=said.load,
        batch_at=batch_at,
    )


def batched_at(notes: list[SiteNote], load: int | None) -> list[datetime]:
    """The batch times read of that load, oldest first, since one was last refused under its number."""
    read: list[datetime] = []
    for note in notes:
        if note.load == load and note.kind == NoteKind.REFUSED:
            read = []
        elif note.load == load and note.batch_at is not None:
            read.append(note.batch_at)
    return read


def _kept(pour: Pour, said: Press) -> str:
    if said.photo is None or said.kind != NoteKind.PHOTO:
        return ""
    if pour.site_notes.filter(kind=NoteKind.PHOTO).count() >= MOST_PHOTOS:
        raise Refusal("There are too many photos of this pour.", code="photo_many", field="photo")
    return keep_photo(upload=said.photo, size=said.photo_size, folder=f"pours/{pour.pk}")


# --- what dispatch must hear ------------------------------------------------------------------


def _tell_dispatch(note: SiteNote, now: datetime) -> None:
    """A problem, a load sent back, a ticket that does not fit and people who are not there."""
    if _told(note):
        outbox.tell_dispatch(
            key=f"phone-{note.pk}",
            body=partial(_text, note),
            now=now,
            useful_until=now + TOLD_USEFUL,
            about=note.by,
            pours=[note.pour],
        )


def _text(note: SiteNote) -> str:
    place = clip(note.pour.job.site.name, SITE_LENGTH)
    return to_gsm(words.told_dispatch(place, str(note.by), clip(_told(note), SAID_LENGTH)))


def _told(note: SiteNote) -> str:
    """What to tell in the language spoken just now; empty where there is nothing."""
    if note.kind == NoteKind.PROBLEM:
        return note.words
    if note.kind == NoteKind.REFUSED:
        return f"{noted_words(note)}. {note.words}".strip()
    if note.kind == NoteKind.PEOPLE_THERE and (note.people or 0) < note.pour.people:
        return words.people_short(note.people or 0, note.pour.people)
    if note.kind == NoteKind.TICKET:
        return " ".join(mismatch_words(note.pour, note))
    return ""


def mismatch_words(pour: Pour, ticket: SiteNote) -> list[str]:
    """Where a ticket says otherwise than what was ordered, a sentence each."""
    if pour.plan is None or ticket.load is None:
        return []
    planned = briefing.kept_answer(pour.plan).delivery.loads
    if ticket.load > len(planned):
        return []
    units = UnitSystem(Company.objects.get().units)
    found = tickets.mismatches(pour, ticket, planned[ticket.load - 1].m3, units)
    return [words.mismatch(one.what, one.load, one.ticket, one.ordered) for one in found]


def noted_words(note: SiteNote, measured: str = "") -> str:
    """What was noted, in the language spoken just now."""
    said = words.READY_OF_STRIP if note.strip else words.NOTED[note.kind]
    return translation.gettext(said).format(
        load=note.load, people=note.people, strip=note.strip, measured=measured
    )
