"""The day of one pour as its slab has it: how warm it comes, when it sets, how it dries."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduling.engine.evaporation import EvaporationHour, evaporation_day
from scheduling.engine.exposure import stood_in
from scheduling.engine.forecast import Forecast, over_slab, utc
from scheduling.engine.inputs import Fact, Finding, Place, PourRequest, Severity, WeatherHour
from scheduling.engine.sawcut import FOLLOWED_AGE_H
from scheduling.engine.setting import SetTimes, Slab, SlabClock, clock_times, slab_clock

ASSUMED_AIR_C = (70 - 32) / 1.8  # where no forecast reaches: a mild day, said so in a finding (our choice)
ASSUMED_SPAN_H = 96


@dataclass(frozen=True, slots=True)
class PourClock:
    """How the concrete of a pour sets.

    `first`, `last` and each of `strips` in order; `known` is whether the forecast tells. `air` and `slab`
    are the weather and the slab's clock that they rest on, by the forecast or a mild day; `warmth` goes by
    the forecast alone. In both clocks the first concrete comes first, then the strips, then the last.
    """

    first: SetTimes
    last: SetTimes
    strips: tuple[SetTimes, ...]
    known: bool
    air: Forecast
    slab: SlabClock
    warmth: SlabClock


def pour_clock(
    request: PourRequest,
    forecast: Forecast,
    slab: Slab,
    first_last_at: tuple[datetime, datetime],
    strips: Sequence[tuple[datetime, bool]],
) -> PourClock:
    """Return how a pour's concrete sets, all of it on a mild day where the forecast falls short.

    Parameters
    ----------
    request : PourRequest
    forecast : Forecast
    slab : Slab
    first_last_at : tuple of datetime
        When the first and the last concrete are placed.
    strips : sequence of (datetime, bool)
        When each strip is placed, and whether it lies in shade.
    """
    first_at, last_at = first_last_at
    sections = request.sections
    placed = [(first_at, sections[0].shaded), *strips, (last_at, sections[-1].shaded)]
    warmth, sets = _strips(request, forecast, slab, placed)
    if sets:
        return PourClock(sets[0], sets[-1], sets[1:-1], known=True, air=forecast, slab=warmth, warmth=warmth)
    mild = _mild_day(first_at, last_at)
    assumed, sets = _on_a_mild_day(request, mild, slab, placed)
    return PourClock(sets[0], sets[-1], sets[1:-1], known=False, air=mild, slab=assumed, warmth=warmth)


def first_set(request: PourRequest, forecast: Forecast, slab: Slab) -> SetTimes:
    """Return how the first concrete sets, before it is known when the rest comes; on a mild day at need."""
    starts_at = request.starts_at
    placed = [(starts_at, request.sections[0].shaded)]
    _, sets = _strips(request, forecast, slab, placed, until_age_h=0.0)
    if not sets:
        _, sets = _on_a_mild_day(request, _mild_day(starts_at, starts_at), slab, placed)
    return sets[0]


def _strips(
    request: PourRequest,
    forecast: Forecast,
    slab: Slab,
    placed: Sequence[tuple[datetime, bool]],
    until_age_h: float = FOLLOWED_AGE_H,
) -> tuple[SlabClock, tuple[SetTimes, ...]]:
    """The clock of all and their set times; of these none where one is not known."""
    moments, shaded = zip(*placed, strict=True)
    clock = slab_clock(request.mix, slab, forecast, moments, shaded, until_age_h)
    sets = clock_times(request.mix, slab, clock)
    known = tuple(one for one in sets if one is not None)
    return clock, known if len(known) == len(sets) else ()


def _on_a_mild_day(
    request: PourRequest, mild: Forecast, slab: Slab, placed: Sequence[tuple[datetime, bool]]
) -> tuple[SlabClock, tuple[SetTimes, ...]]:
    clock, sets = _strips(request, mild, replace(slab, place=Place()), placed)
    if not sets:
        raise AssertionError("A mild day of four days is long enough for any mix to set.")
    return clock, sets


def _mild_day(start: datetime, end: datetime) -> Forecast:
    """Mild hours from the first concrete until long after the last, however long placing takes."""
    first = utc(start).replace(minute=0, second=0, microsecond=0)
    span_h = math.ceil((end - first) / timedelta(hours=1)) + ASSUMED_SPAN_H
    hours = (WeatherHour(at=first + timedelta(hours=n), air_c=ASSUMED_AIR_C) for n in range(span_h))
    return Forecast(tuple(hours))


def drying_day(
    request: PourRequest, forecast: Forecast, concrete_c: float | None, clock: PourClock
) -> tuple[EvaporationHour, ...]:
    """Return drying and temperature hour by hour, from the first concrete to the final set of the last.

    Until placing ends they are of the first concrete, from then on of the last.
    """
    if concrete_c is None:
        return ()
    warmth, placed_at = clock.warmth, clock.last.placed_at
    first, last = 0, warmth.placed_s.size - 1
    return evaporation_day(
        over_slab(forecast, request.place),
        lambda moment: warmth.surface_c(last if moment >= placed_at else first, moment),
        request.starts_at,
        clock.last.final.likely,
        wet_share_at=lambda moment: warmth.wet_share(last if moment >= placed_at else first, moment),
    )


def stand_in_findings(request: PourRequest, forecast: Forecast, clock: PourClock) -> Iterator[Finding]:
    """Say, NOTE ``slab_weather_assumed``, what of the weather the slab's temperature had to assume."""
    over = over_slab(forecast, request.place)
    missing = stood_in(over, request.place, clock.first.placed_at, clock.last.final.likely)
    if missing:
        facts: dict[str, Fact] = {f"{name}_missing": True for name in missing}
        yield Finding(Severity.NOTE, "slab_weather_assumed", facts, "our choice")
