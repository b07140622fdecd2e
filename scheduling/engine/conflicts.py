"""People asked for in two places at once: found by crew and phase, not by whole days.

All stretches are half-open, so work that ends as other work starts never clashes with it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import accumulate
from typing import TypeAlias

from scheduling.engine.inputs import BadInput, PhaseKind, require_aware, require_not_negative

STEP_MIN = 15  # starts are offered on quarter hours from the one asked for: our choice
LATEST_MIN = 24 * 60  # a pour that fits nowhere within a day later belongs on another day: our choice

PEOPLE_SHORT = "people_short"
TWO_PLACINGS = "two_placings"


@dataclass(frozen=True, slots=True)
class Booking:
    """One phase of one pour that keeps `people` of a crew busy from `starts_at` up to `ends_at`.

    The moments are kept in UTC, so that comparing them never compares clock faces.
    """

    pour: str
    crew: str
    kind: PhaseKind
    starts_at: datetime
    ends_at: datetime
    people: int

    def __post_init__(self) -> None:
        for name in ("starts_at", "ends_at"):
            moment = getattr(self, name)
            require_aware(name, moment)
            object.__setattr__(self, name, moment.astimezone(UTC))
        if self.ends_at <= self.starts_at:
            raise BadInput("ends_at", "empty_window", "A booking must end after it starts.")
        require_not_negative("people", self.people)


@dataclass(frozen=True, slots=True)
class Party:
    """How many people a crew has."""

    crew: str
    people: int

    def __post_init__(self) -> None:
        require_not_negative("people", self.people)


@dataclass(frozen=True, slots=True)
class Clash:
    """A longest stretch in which one crew is asked for more than it can give.

    `needed` is the most asked for within it. With code ``people_short`` it and `available` count
    people; with ``two_placings`` they count slabs being placed, and a crew places one.
    """

    crew: str
    starts_at: datetime
    ends_at: datetime
    needed: int
    available: int
    pours: tuple[str, ...]
    kinds: tuple[PhaseKind, ...]
    code: str


def find_clashes(bookings: Iterable[Booking], parties: Iterable[Party]) -> tuple[Clash, ...]:
    """Every stretch in which a crew lacks people or places two slabs at once.

    Parameters
    ----------
    bookings : iterable of Booking
    parties : iterable of Party
        One for every crew that is booked.

    Returns
    -------
    tuple of Clash
        By start, crew and code, whatever the order of the bookings.

    Raises
    ------
    BadInput
        A booking of a crew that has no party.

    Notes
    -----
    A sweep over starts and ends, O(n log n) in the number of bookings.
    """
    people = {party.crew: party.people for party in parties}
    found: list[Clash] = []
    for crew, theirs in _by_crew(bookings).items():
        if crew not in people:
            raise BadInput("parties", "unknown_crew", f"Nothing says how many people {crew} has.")
        found += _people_short(crew, theirs, people[crew])
        found += _two_placings(crew, theirs)
    return tuple(sorted(found, key=lambda clash: (clash.starts_at, clash.crew, clash.code)))


def free_people(bookings: Iterable[Booking], party: Party, starts_at: datetime, ends_at: datetime) -> int:
    """How many of a crew are free all through a stretch.

    Parameters
    ----------
    bookings : iterable of Booking
        Those of other crews are passed over.
    party : Party
    starts_at, ends_at : datetime
        Half-open stretch.

    Returns
    -------
    int
        0 when the crew is already short.

    Raises
    ------
    BadInput
        When the stretch is empty.
    """
    asked = Booking("", party.crew, PhaseKind.PLACE, starts_at, ends_at, 0)
    within = (
        (max(one.starts_at, asked.starts_at), min(one.ends_at, asked.ends_at), one.people)
        for one in bookings
        if one.crew == party.crew and _overlap(one, asked)
    )
    busiest = max((level for _, level in _levels(within)), default=0)
    return max(0, party.people - busiest)


def first_free_start(pour: str, bookings: Sequence[Booking], parties: Iterable[Party]) -> int | None:
    """How much later a pour must start so that nothing of it clashes.

    Parameters
    ----------
    pour : str
        The pour to move, all its phases by the same time.
    bookings : sequence of Booking
        Of this and all other pours.
    parties : iterable of Party

    Returns
    -------
    int or None
        Minutes, in steps of a quarter hour, 0 when nothing of it clashes as booked; None when no
        start within a day later is free. Clashes among other pours alone do not count.

    Notes
    -----
    The phases keep their distances, though set and finishing change with the hour; the plan for
    the new start has the last word.
    """
    moving = [one for one in bookings if one.pour == pour]
    if not moving:
        return 0
    near = _near(moving, bookings)
    crews = {one.crew for one in moving}
    ours = [party for party in parties if party.crew in crews]
    for later_min in range(0, LATEST_MIN + STEP_MIN, STEP_MIN):
        moved = [_later(one, later_min) for one in moving]
        if not any(pour in clash.pours for clash in find_clashes([*near, *moved], ours)):
            return later_min
    return None


def _near(moving: Sequence[Booking], bookings: Iterable[Booking]) -> list[Booking]:
    """Bookings of other pours that `moving` could meet, now or moved as far as we look."""
    crews = {one.crew for one in moving}
    first_at = min(one.starts_at for one in moving)
    last_at = max(one.ends_at for one in moving) + timedelta(minutes=LATEST_MIN)
    return [
        one
        for one in bookings
        if one.crew in crews
        and one.pour != moving[0].pour
        and one.starts_at < last_at
        and one.ends_at > first_at
    ]


def _later(booking: Booking, later_min: int) -> Booking:
    shift = timedelta(minutes=later_min)
    return replace(booking, starts_at=booking.starts_at + shift, ends_at=booking.ends_at + shift)


# --- the sweep --------------------------------------------------------------------------------

Stretch: TypeAlias = tuple[datetime, datetime, int]  # from, up to, how many


def _people_short(crew: str, bookings: Iterable[Booking], people: int) -> Iterator[Clash]:
    working = [one for one in bookings if one.people > 0]
    over = _overfull(((one.starts_at, one.ends_at, one.people) for one in working), people)
    return _clashes(PEOPLE_SHORT, crew, over, working, people)


def _two_placings(crew: str, bookings: Iterable[Booking]) -> Iterator[Clash]:
    placings = [one for one in bookings if one.kind == PhaseKind.PLACE]
    by_pour: dict[str, list[Stretch]] = defaultdict(list)
    for one in placings:
        by_pour[one.pour].append((one.starts_at, one.ends_at, 1))
    # A pour placed in two parts at once is still one placing.
    slabs = ((starts, ends, 1) for parts in by_pour.values() for starts, ends, _ in _overfull(parts, 0))
    return _clashes(TWO_PLACINGS, crew, _overfull(slabs, 1), placings, 1)


def _levels(stretches: Iterable[Stretch]) -> Iterator[tuple[datetime, int]]:
    """Each moment at which something changes, with how many are busy from then on."""
    change: dict[datetime, int] = defaultdict(int)
    for starts_at, ends_at, count in stretches:
        change[starts_at] += count
        change[ends_at] -= count
    moments = sorted(change)
    return zip(moments, accumulate(change[moment] for moment in moments), strict=True)


def _overfull(stretches: Iterable[Stretch], limit: int) -> list[Stretch]:
    """Longest stretches in which more than `limit` are busy, each with the most that are."""
    found: list[Stretch] = []
    since: datetime | None = None
    most = 0
    for moment, level in _levels(stretches):
        if level > limit:
            since, most = since or moment, max(most, level)
        elif since is not None:
            found.append((since, moment, most))
            since, most = None, 0
    return found


def _clashes(
    code: str, crew: str, over: Sequence[Stretch], bookings: Iterable[Booking], available: int
) -> Iterator[Clash]:
    for (starts_at, ends_at, needed), met in zip(over, _meeting(over, bookings), strict=True):
        yield Clash(
            crew=crew,
            starts_at=starts_at,
            ends_at=ends_at,
            needed=needed,
            available=available,
            pours=tuple(sorted({one.pour for one in met})),
            kinds=tuple(kind for kind in PhaseKind if any(one.kind == kind for one in met)),
            code=code,
        )


def _meeting(over: Sequence[Stretch], bookings: Iterable[Booking]) -> list[list[Booking]]:
    """For each stretch, which are in order and apart, the bookings that overlap it."""
    ends = [ends_at for _, ends_at, _ in over]
    starts = [starts_at for starts_at, _, _ in over]
    met: list[list[Booking]] = [[] for _ in over]
    for one in bookings:
        for index in range(bisect_right(ends, one.starts_at), bisect_left(starts, one.ends_at)):
            met[index].append(one)
    return met


def _by_crew(bookings: Iterable[Booking]) -> Mapping[str, list[Booking]]:
    crews: dict[str, list[Booking]] = defaultdict(list)
    for one in bookings:
        crews[one.crew].append(one)
    return crews


def _overlap(one: Booking, other: Booking) -> bool:
    return one.starts_at < other.ends_at and other.starts_at < one.ends_at
