"""Where people are booked twice, found from the phases of the pours' current plans."""

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, F, Q, QuerySet

from scheduling.engine.conflicts import Booking, Clash, Party, find_clashes, first_free_start
from scheduling.engine.inputs import PhaseKind
from scheduling.engine.weekcolumns import Conflict
from scheduling.models import STANDING, AcceptedClash, Crew, Plan, PlanPhase, Pour

NOT_KEPT = 0  # no kept pour has this number
LOOK_AHEAD = timedelta(days=2)  # so that a free start offered for a pour is free of the pours after it


@dataclass(frozen=True)
class PourClash:
    """A clash with the pours and the crew it is about, and whether somebody has said yes to it."""

    crew: Crew
    pours: tuple[Pour, ...]
    code: str
    kinds: tuple[str, ...]
    starts_at: datetime
    ends_at: datetime
    needed: int
    available: int
    key: str
    accepted: bool
    free_start_at: datetime | None  # when the later of the pours could start instead


def standing_phases(start: datetime, end: datetime) -> QuerySet[PlanPhase]:
    """Phases of current plans of standing pours with a crew that touch [start, end)."""
    return PlanPhase.objects.filter(
        plan=F("plan__pour__plan"),
        plan__pour__state__in=STANDING,
        plan__pour__crew__isnull=False,
        starts_at__lt=end,
        ends_at__gt=start,
    ).select_related("plan__pour__job__site", "plan__pour__crew")


def clashes_between(start: datetime, end: datetime) -> list[PourClash]:
    """Every clash that touches [start, end), in order of time."""
    phases = list(standing_phases(start, end + LOOK_AHEAD).defer("plan__inputs", "plan__result"))
    return [clash for clash in _clashes(phases) if clash.starts_at < end and clash.ends_at > start]


def clashes_of(pour: Pour) -> list[PourClash]:
    """The clashes this pour is part of, as its current plan stands."""
    if pour.plan is None or pour.crew is None or not pour.is_standing:
        return []
    phases = list(pour.plan.phases.all())
    start = min(phase.starts_at for phase in phases)
    end = max(phase.ends_at for phase in phases)
    booked = standing_phases(start, end + LOOK_AHEAD).filter(plan__pour__crew=pour.crew)
    return [clash for clash in _clashes(list(booked)) if pour in clash.pours]


def clashes_of_draft(pour: Pour, result: Mapping[str, Any]) -> list[PourClash]:
    """The clashes that a pour which is not kept would be part of, were it booked with that plan."""
    if pour.crew is None:
        return []
    phases = draft_phases(pour, result)
    draft = phases[0].plan.pour
    start, end = min(one.starts_at for one in phases), max(one.ends_at for one in phases)
    booked = standing_phases(start, end + LOOK_AHEAD).filter(plan__pour__crew=pour.crew)
    return [clash for clash in _clashes([*booked, *phases]) if draft in clash.pours]


def draft_phases(pour: Pour, result: Mapping[str, Any]) -> list[PlanPhase]:
    """The work of a pour that is not kept, as a plan of it says."""
    draft = copy(pour)
    draft.pk = NOT_KEPT
    plan = Plan(pour=draft, result=dict(result))
    return [
        PlanPhase(
            plan=plan,
            kind=phase["kind"],
            starts_at=datetime.fromisoformat(phase["starts_at"]),
            ends_at=datetime.fromisoformat(phase["ends_at"]),
            people=phase["people"],
        )
        for phase in result["phases"]
    ]


def _clashes(phases: Sequence[PlanPhase]) -> list[PourClash]:
    pours = {str(phase.plan.pour_id): phase.plan.pour for phase in phases}
    crews = {str(pour.crew_id): pour.crew for pour in pours.values() if pour.crew}
    bookings = [_booking(phase) for phase in phases]
    parties = _parties(crews, bookings)
    found = find_clashes(bookings, parties)
    keys = [clash_key(clash, pours) for clash in found]
    accepted = set(AcceptedClash.objects.filter(key__in=keys).values_list("key", flat=True))
    return [
        _seen(clash, key, crews[clash.crew], pours, key in accepted, bookings, parties)
        for clash, key in zip(found, keys, strict=True)
    ]


def _booking(phase: PlanPhase) -> Booking:
    pour = phase.plan.pour
    return Booking(
        pour=str(pour.pk),
        crew=str(pour.crew_id),
        kind=PhaseKind(phase.kind),
        starts_at=phase.starts_at,
        ends_at=phase.ends_at,
        people=phase.people,
    )


def _parties(crews: dict[str, Crew], bookings: Iterable[Booking]) -> list[Party]:
    """How many people each crew has; one whose people are not listed has what its largest phase asks."""
    counted = dict(
        Crew.objects.filter(pk__in=crews)
        .annotate(n=Count("workers", filter=Q(workers__active=True)))
        .values_list("pk", "n")
    )
    asked: dict[str, int] = {}
    for booking in bookings:
        asked[booking.crew] = max(asked.get(booking.crew, 1), booking.people)
    return [Party(crew=key, people=counted[crew.pk] or asked[key]) for key, crew in crews.items()]


def clash_key(clash: Clash | Conflict, pours: Mapping[str, Pour]) -> str:
    """What an acceptance is kept under: it lapses as soon as one of the pours changes."""
    versions = sorted((int(pk), pours[pk].version) for pk in clash.pours)
    return ":".join(
        [clash.code, *sorted(str(kind) for kind in clash.kinds), *(f"{pk}.{v}" for pk, v in versions)]
    )


def _seen(
    clash: Clash,
    key: str,
    crew: Crew,
    pours: dict[str, Pour],
    accepted: bool,
    bookings: list[Booking],
    parties: list[Party],
) -> PourClash:
    # Of pours at one moment the one that is not kept is the one to move.
    involved = sorted(
        (pours[pk] for pk in clash.pours), key=lambda pour: (pour.starts_at, pour.pk == NOT_KEPT, pour.pk)
    )
    last = involved[-1]
    later_min = first_free_start(str(last.pk), bookings, parties) if len(involved) > 1 else None
    free = None if later_min is None else last.starts_at + timedelta(minutes=later_min)
    return PourClash(
        crew=crew,
        pours=tuple(involved),
        code=clash.code,
        kinds=tuple(str(kind) for kind in clash.kinds),
        starts_at=clash.starts_at,
        ends_at=clash.ends_at,
        needed=clash.needed,
        available=clash.available,
        key=key,
        accepted=accepted,
        free_start_at=free,
    )
