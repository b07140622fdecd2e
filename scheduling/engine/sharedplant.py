"""What a plant that also loads other pours of ours does to the trucks of this one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from scheduling.engine.forecast import utc
from scheduling.engine.inputs import Fact, Finding, Severity, Window
from scheduling.engine.rounds import NOISE_MIN, Spans, Trip


def spans_from(windows: Sequence[Window], first_at: datetime) -> Spans:
    """Windows as minutes from `first_at`, in order."""

    def minutes(moment: datetime) -> float:
        return (utc(moment, "plant_busy") - first_at) / timedelta(minutes=1)

    return tuple(sorted((minutes(window.opens_at), minutes(window.closes_at)) for window in windows))


def shared_findings(trips: Sequence[Trip], busy: Spans) -> Iterator[Finding]:
    """Say that the plant loads other pours of ours among these loads, and which of these it puts off."""
    first, last = trips[0].batch - trips[0].held, trips[-1].leave
    others = sum(opens < last and closes > first for opens, closes in busy)
    if others:
        held = [str(number) for number, trip in enumerate(trips, start=1) if trip.held > NOISE_MIN]
        facts: dict[str, Fact] = {
            "other_loads": others,
            "loads": ",".join(held),
            "held_min": max(trip.held for trip in trips),
        }
        yield Finding(Severity.NOTE, "plant_loads_others", facts, "the plans of our other pours")
