"""What was noted on site of a pour, and what of its plan that settles."""

from collections.abc import Iterable
from datetime import timedelta

from scheduling.models import BALANCE_NOTES, NoteKind, Plan, Pour, SiteNote


def standing_notes(pour: Pour) -> list[SiteNote]:
    """What was noted and not taken back, in the order it happened."""
    return list(pour.site_notes.filter(undone_at__isnull=True).order_by("happened_at", "id"))


def standing_notes_of(pours: Iterable[Pour]) -> dict[int, list[SiteNote]]:
    """The standing notes of many pours in one reading; a pour of which nothing was noted is left out."""
    notes = SiteNote.objects.filter(pour__in=[pour.pk for pour in pours], undone_at__isnull=True)
    of_pours: dict[int, list[SiteNote]] = {}
    for note in notes.order_by("happened_at", "id"):
        of_pours.setdefault(note.pour_id, []).append(note)
    return of_pours


def placed_later(pour: Pour, plan: Plan) -> timedelta:
    """How much later than planned the first concrete came out, as noted; nothing where nobody noted it."""
    started = pour.site_notes.filter(kind=NoteKind.TRUCK_STARTED, undone_at__isnull=True)
    first = started.order_by("happened_at").first()
    return first.happened_at - plan.starts_at if first else timedelta()


def kinds_noted(pour: Pour) -> frozenset[str]:
    """The kinds of things that were noted and stand."""
    return frozenset(pour.site_notes.filter(undone_at__isnull=True).values_list("kind", flat=True))


def is_raining(notes: Iterable[SiteNote]) -> bool:
    """Whether rain was noted, and not that it is over."""
    skies = [note.kind for note in notes if note.kind in (NoteKind.RAIN, NoteKind.RAIN_OVER)]
    return skies[-1:] == [NoteKind.RAIN]


def balance_stand(pour: Pour) -> str | None:
    """How far the balance load has got: the kind of the last note on it; None where none was asked for."""
    noted = pour.site_notes.filter(kind__in=BALANCE_NOTES, undone_at__isnull=True)
    return noted.order_by("-happened_at", "-id").values_list("kind", flat=True).first()


def last_measured(pour: Pour) -> SiteNote | None:
    """What was measured last of what is still to place."""
    measured = pour.site_notes.filter(kind=NoteKind.MEASURED, undone_at__isnull=True)
    return measured.order_by("-happened_at", "-id").first()
