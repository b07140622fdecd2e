"""Trucks on their rounds on many possible days at once: who comes when, waits, and is emptied when.

The rules are those of `rounds.truck_trips`, with luck added. Minutes are counted from the moment
the first truck is asked for; the crew is ready then and not before. A step of the loop is one load
on every day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduling.engine.chance import Bools, Draws
from scheduling.engine.forecast import Floats, utc
from scheduling.engine.inputs import Place, Supply, Window
from scheduling.engine.rounds import Spans, changeover_min, plant_min
from scheduling.engine.sharedplant import spans_from

Ints: TypeAlias = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Round:
    """What a truck's round takes and what it shares with others, in minutes.

    `lead_min` runs from the start of batching to the site on a day that is on time, `back_min` from
    the end of discharge to the truck's next batch. `plant_min` is how long the plant is taken by each
    load, `plant_busy` when it is taken by other pours; those go first.
    """

    lead_min: float
    back_min: float
    changeover_min: float
    plant_min: tuple[float, ...]
    trucks: int | None = None
    plant_busy: Spans = ()


@dataclass(frozen=True, slots=True)
class Paths:
    """What happened on every day: arrays of shape (loads, days), in minutes.

    `sent` and `reached` are by load as sent: start of batching and arrival. The others are by place
    in the line at the site, the first to discharge first; `exchanged` says where that differs: which
    load, on its way forward, took which place from the one ahead of it, and on which days.
    """

    sent: Floats
    reached: Floats
    batch: Floats
    arrive: Floats
    unload: Floats
    start: Floats
    end: Floats
    exchanged: tuple[tuple[int, int, Ints], ...] = ()

    def in_line(self, by_load: Sequence[float]) -> Floats:
        """What holds of each load, by place in the line on every day."""
        rows = np.repeat(np.array(by_load, float)[:, None], self.start.shape[1], axis=1)
        for _, place, days in self.exchanged:
            exchange(rows, place, days)
        return rows


def round_for(
    loads_m3: Sequence[float],
    supply: Supply,
    place: Place,
    extra_changeover_min: float,
    starts_at: datetime,
    plant_busy: Sequence[Window] = (),
) -> Round:
    """Put together a truck's round from the supply, the site and what else the plant has to do.

    Parameters
    ----------
    loads_m3 : sequence of float
    supply : Supply
    place : Place
    extra_changeover_min : float
        Between any two trucks, on top of what the site needs.
    starts_at : datetime
        When the first truck is asked for.
    plant_busy : sequence of Window
        When the plant loads trucks of other pours, see `plant_windows`.

    Returns
    -------
    Round
    """
    first_at = utc(starts_at, "starts_at")

    return_min = supply.haul_min if supply.return_min is None else supply.return_min
    return Round(
        lead_min=supply.loading_min + supply.haul_min,
        back_min=supply.washout_min + return_min,
        changeover_min=changeover_min(place) + extra_changeover_min,
        plant_min=tuple(plant_min(m3, supply) for m3 in loads_m3),
        trucks=supply.trucks,
        plant_busy=spans_from(plant_busy, first_at),
    )


def plant_windows(
    batches_at: Sequence[datetime], loads_m3: Sequence[float], supply: Supply
) -> tuple[Window, ...]:
    """When the plant is taken by another pour's loads, batched at these moments."""
    return tuple(
        Window(batch_at, batch_at + timedelta(minutes=plant_min(m3, supply)))
        for batch_at, m3 in zip(batches_at, loads_m3, strict=True)
        if plant_min(m3, supply) > 0
    )


def simulate(asked_min: Floats, turn: Round, draws: Draws, into: Paths | None = None) -> Paths:
    """Follow every load on every day.

    A load is batched in time to arrive when asked, unless its truck is not back or the plant is
    taken; a late truck comes back late. Trucks stay in the order they were sent in unless one can
    overtake, and are emptied in the order they arrive, one at a time.

    Parameters
    ----------
    asked_min : array of shape (loads,)
        When each load is asked to arrive.
    turn : Round
    draws : Draws
    into : Paths, optional
        Of an earlier call with the same draws and fleet: its arrays are written over. A search that
        asks a hundred times spends half its time on new memory otherwise.

    Returns
    -------
    Paths

    Notes
    -----
    The line at the site is Lindley's (1952), doi:10.1017/S0305004100027638. With a fleet of M the
    k-th load goes out with the truck that was the (k - M)-th to be emptied, since with one truck
    emptied at a time they come back in that order.
    """
    run = _Run(asked_min, turn, draws, into or room_for(turn, draws))
    for at_site, leaving in send_order(len(asked_min), turn.trucks):
        for load in leaving:
            run.send(load)
            run.join_line(load, at_site)
        run.discharge(at_site)
    return replace(run.paths, exchanged=tuple(run.exchanged))


def send_order(loads: int, trucks: int | None) -> list[tuple[int, range]]:
    """For each truck to be emptied, which loads leave the plant without waiting for it to come back."""
    fleet = loads if trucks is None else min(trucks, loads)
    later = [
        (place, range(min(place + fleet - 1, loads), min(place + fleet, loads))) for place in range(loads)
    ]
    return [(0, range(fleet)), *later[1:]]


def room_for(turn: Round, draws: Draws) -> Paths:
    """Arrays to write into. Where nobody overtakes, what is by load and what is by place is one array."""
    shape = draws.unload_min.shape
    sent, reached, start, end = (np.empty(shape) for _ in range(4))
    batch, arrive, unload = sent, reached, draws.unload_min
    if _overtakes(turn, draws) is not None:
        batch, arrive, unload = (np.empty(shape) for _ in range(3))
    return Paths(sent, reached, batch, arrive, unload, start, end)


def _overtakes(turn: Round, draws: Draws) -> Bools | None:
    """A single truck has nobody to overtake."""
    return None if turn.trucks == 1 else draws.overtakes


@dataclass(slots=True)
class _Run:
    """A simulation under way."""

    asked_min: Floats
    turn: Round
    draws: Draws
    paths: Paths
    exchanged: list[tuple[int, int, Ints]] = field(default_factory=list)

    def send(self, load: int) -> None:
        turn, paths = self.turn, self.paths
        sent, reached = paths.sent[load], paths.reached[load]
        sent.fill(self.asked_min[load] - turn.lead_min)
        if load:
            np.maximum(sent, paths.sent[load - 1] + turn.plant_min[load - 1], out=sent)
        if turn.trucks is not None and load >= turn.trucks:
            np.maximum(sent, paths.end[load - turn.trucks] + turn.back_min, out=sent)
        if turn.plant_busy:
            after_busy(sent, turn.plant_min[load], turn.plant_busy)
        np.add(sent, turn.lead_min, out=reached)
        reached += self.draws.late_min[load]
        if load:
            self._keep_behind(load)

    def _keep_behind(self, load: int) -> None:
        reached, ahead = self.paths.reached[load], self.paths.reached[load - 1]
        overtakes = _overtakes(self.turn, self.draws)
        if overtakes is not None:
            ahead = np.where(overtakes[load], -np.inf, ahead)
        np.maximum(reached, ahead, out=reached)

    def join_line(self, load: int, first_waiting: int) -> None:
        """Let those who overtook pass, place by place, and note who did."""
        paths = self.paths
        if _overtakes(self.turn, self.draws) is None:
            return
        paths.batch[load], paths.arrive[load] = paths.sent[load], paths.reached[load]
        paths.unload[load] = self.draws.unload_min[load]
        for place in range(load, first_waiting, -1):
            days = np.flatnonzero(paths.arrive[place] < paths.arrive[place - 1])
            if not days.size:
                return
            for rows in (paths.batch, paths.arrive, paths.unload):
                exchange(rows, place, days)
            self.exchanged.append((load, place, days))

    def discharge(self, place: int) -> None:
        paths = self.paths
        free = paths.end[place - 1] + self.turn.changeover_min if place else 0.0
        np.maximum(paths.arrive[place], free, out=paths.start[place])
        np.add(paths.start[place], paths.unload[place], out=paths.end[place])


def exchange(rows: Floats, place: int, days: Ints) -> None:
    """Exchange the rows `place` and `place - 1` on these days."""
    passed, passing = rows[place - 1], rows[place]
    ahead = passed[days]
    passed[days] = passing[days]
    passing[days] = ahead


def after_busy(batch: Floats, takes_min: float, busy: Spans) -> None:
    """Move every batch that would run into a busy span to that span's end, in place.

    Touching is no clash. A batch that takes no time may begin anywhere outside the spans.
    """
    for opens, closes in busy:
        clash = (batch > opens - takes_min) & (batch < closes)
        np.copyto(batch, closes, where=clash)
