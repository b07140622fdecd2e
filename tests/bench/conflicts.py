"""How long the search for clashes takes as the book of pours grows."""

import random
import time
from datetime import UTC, datetime, timedelta

from scheduling.engine.conflicts import Booking, Party, find_clashes, first_free_start
from scheduling.engine.inputs import PhaseKind

FIRST_DAY = datetime(2026, 1, 5, tzinfo=UTC)
CREWS = 25
CREW_SIZE = 6
POURS_A_DAY = 40
WORK = ((PhaseKind.PLACE, 0.0, 3.0, 5), (PhaseKind.FINISH, 5.0, 4.0, 2), (PhaseKind.CUT, 13.0, 1.5, 1))


def book(pours: int, seed: int = 1) -> list[Booking]:
    """Pours spread over as many days as they fill, each placed, finished and cut by one of the crews."""
    draw = random.Random(seed)
    bookings = []
    for number in range(pours):
        start = FIRST_DAY + timedelta(days=number // POURS_A_DAY, hours=6, minutes=15 * draw.randrange(28))
        crew = f"crew {draw.randrange(CREWS)}"
        for kind, after_h, lasts_h, people in WORK:
            starts_at = start + timedelta(hours=after_h)
            ends_at = starts_at + timedelta(hours=lasts_h * draw.uniform(0.5, 2))
            bookings.append(Booking(f"pour {number}", crew, kind, starts_at, ends_at, people))
    return bookings


def seconds(pours: int) -> tuple[float, int]:
    bookings = book(pours)
    parties = [Party(f"crew {number}", CREW_SIZE) for number in range(CREWS)]
    began = time.perf_counter()
    clashes = find_clashes(bookings, parties)
    return time.perf_counter() - began, len(clashes)


def free_start_ms(pours: int, asked: int = 50) -> float:
    bookings = book(pours)
    parties = [Party(f"crew {number}", CREW_SIZE) for number in range(CREWS)]
    began = time.perf_counter()
    for number in range(asked):
        first_free_start(f"pour {number}", bookings, parties)
    return (time.perf_counter() - began) / asked * 1000


def run() -> dict[str, float]:
    print(f"{'bookings':>10} {'clashes':>8} {'ms':>8}")
    last_ms = 0.0
    for pours in (100, 1_000, 10_000, 33_334):
        took, clashes = seconds(pours)
        last_ms = took * 1000
        print(f"{pours * len(WORK):>10,} {clashes:>8,} {last_ms:>8.1f}")
    offer_ms = free_start_ms(300)
    print(f"\nEarliest free start of one pour among 300: {offer_ms:.1f} ms on average")
    return {"find_100k_ms": last_ms, "free_start_ms": offer_ms}
