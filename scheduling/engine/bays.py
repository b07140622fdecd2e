"""The slab bay by bay, in placing order: how much each takes, from which loads, and when.

One order for all: trucks fill the bays in this order, the board strikes them, and finishing follows.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from scheduling.engine.baygrid import Cell, Grid, TruckStand, bay_cells
from scheduling.engine.delivery import DeliveryRun, Load
from scheduling.engine.forecast import Floats
from scheduling.engine.inputs import (
    BadInput,
    Fact,
    Finding,
    Method,
    Placing,
    Section,
    Severity,
    Side,
    ThickenedEdge,
)
from scheduling.engine.pieces import Corners
from scheduling.engine.placement import PlacingLine, Stage
from scheduling.engine.strikeoff import struck_m2_h
from scheduling.engine.surface import drawn_outline, surface_of
from scheduling.engine.volume import Quantity, SectionVolume

NOISE_M3 = 1e-6
NOISE_M = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Bay:
    """One bay. `number` counts in placing order over the whole pour, `strip` in its section, both from 1.

    `section` counts as entered, from 1; `corners_m` are in that section's own axes. `area_m2` is less
    the bay's share of the openings, whose places nobody knows. `volume_m3` is what is ordered for it:
    slab, thickened edges lying in it, and its share of the allowance and of rounding up. `width_m` is
    what the board spans and `length_m` how far it is pulled. `needed_m` is how far concrete must go
    from the nearest truck to its farthest corner. `loads` are the numbers of those that fill it;
    `starts_at` and `ends_at` are known where the deliveries are.
    """

    number: int
    section: int
    strip: int
    corners_m: Corners
    width_m: float
    length_m: float
    area_m2: float
    depth_m: float
    volume_m3: float
    strike_off_min: float
    needed_m: float
    in_reach: bool
    loads: tuple[int, ...]
    starts_at: datetime | None
    ends_at: datetime | None


@dataclass(frozen=True, slots=True)
class BayPlan:
    """Every bay of a pour in placing order, and for each section, as entered, where its bays end."""

    bays: tuple[Bay, ...]
    grids: tuple[Grid, ...]
    strike_width_m: float
    findings: tuple[Finding, ...]


def plan_bays(
    sections: Sequence[Section],
    quantity: Quantity,
    placing: Placing,
    line: PlacingLine,
    reaches_m: Mapping[Method, float],
    stands: Sequence[TruckStand] = (),
    delivery: DeliveryRun | None = None,
) -> BayPlan:
    """Split a pour into bays in placing order, and share the loads out over them.

    Parameters
    ----------
    sections : sequence of Section
        Placed in the order given.
    quantity : Quantity
        Of these sections.
    placing : Placing
    line : PlacingLine
        Its strike width bounds the bays' widths; those who strike off set their minutes.
    reaches_m : mapping of Method to float
        How far each method brings concrete from where the truck stands; infinite where it has no bound.
    stands : sequence of TruckStand, optional
        One a section. None given: every section is taken to be served from its front, which orders
        the bays, but a bay out of reach is then only noted.
    delivery : DeliveryRun, optional
        Gives the bays their times.

    Returns
    -------
    BayPlan
        Areas sum to the net area, volumes to the order. ``bay_out_of_reach`` names a section with
        bays that no truck reaches: STOP, or NOTE where the front was assumed.

    Raises
    ------
    BadInput
        Not one stand for each section, a method without a reach, or bays past counting.

    Notes
    -----
    The allowance goes by each bay's net volume (our choice). A thickened edge all round lies along
    the outline; one of a given length is spread along it, since nobody says where it is (our choice).
    """
    if stands and len(stands) != len(sections):
        raise BadInput("stands", "wrong_length", "There must be one place for trucks for each section.")
    if placing.method not in reaches_m:
        raise BadInput("reaches_m", "no_reach", f"How far {placing.method.value} reaches is not known.")
    reach_m = reaches_m[placing.method]
    places = stands or [TruckStand()] * len(sections)
    parts = list(zip(sections, quantity.sections, places, strict=True))
    cut = [bay_cells(section.outline, line.strike_width_m, place, reach_m) for section, _, place in parts]
    drafts = [
        draft
        for number, ((section, volume, _), (cells, _)) in enumerate(zip(parts, cut, strict=True), start=1)
        for draft in _drafts(number, section, volume, cells)
    ]
    bays = tuple(_bays(drafts, quantity, _StrikeOff(placing, line), reach_m, delivery))
    return BayPlan(
        bays=bays,
        grids=tuple(grid for _, grid in cut),
        strike_width_m=line.strike_width_m,
        findings=tuple(_reach_findings(sections, bays, placing.method, reaches_m, assumed=not stands)),
    )


def truck_stands(placing: Placing, sections: int) -> tuple[TruckStand, ...]:
    """Where trucks can stand at each of so many sections; nothing where nobody was asked."""
    if not placing.truck_sides and not placing.on_base:
        return ()
    first, *others = placing.truck_sides or (Side.FRONT,)
    return (TruckStand(first, also=tuple(others), on_base=placing.on_base),) * sections


# --- how much each takes ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Draft:
    """A bay before anything is ordered for it."""

    section: int
    cell: Cell
    area_m2: float
    depth_m: float
    net_m3: float


def _drafts(number: int, section: Section, volume: SectionVolume, cells: Sequence[Cell]) -> Iterator[_Draft]:
    """What each bay takes by the drawing.

    One factor brings the drawn pieces to the section's net area: it spreads the openings evenly and
    makes up for what the drawing of a circle is short.
    """
    surface = surface_of(section)
    net_share = volume.area_m2 / math.fsum(cell.area_m2 for cell in cells)
    edge_shares = _edge_shares(section, volume, cells)
    for cell, edge_share in zip(cells, edge_shares, strict=True):
        area_m2, depth_m = cell.area_m2 * net_share, surface.depth_m(*cell.centre_m)
        net_m3 = area_m2 * depth_m + edge_share * volume.edges_m3
        yield _Draft(number, cell, area_m2, depth_m, net_m3)


def _edge_shares(section: Section, volume: SectionVolume, cells: Sequence[Cell]) -> list[float]:
    """Each bay's share of what the thickened edges add, summing to 1 where they add anything."""
    if not section.edges:
        return [0.0] * len(cells)
    outline = drawn_outline(section.outline)
    pieces = shapely.polygons([shapely.linearrings(cell.corners_m) for cell in cells])
    totals = [0.0] * len(cells)
    for edge in section.edges:
        below_m = max(0.0, edge.depth_m - volume.depth_m)
        totals = [
            total + below_m * dug for total, dug in zip(totals, _dug_m2(edge, outline, pieces), strict=True)
        ]
    whole = math.fsum(totals)
    return [total / whole if whole else 0.0 for total in totals]


def _dug_m2(edge: ThickenedEdge, outline: shapely.Polygon, pieces: NDArray[Any]) -> list[float]:
    """What of an edge lies in each piece, its taper counted half."""
    if edge.length_m is not None:
        along_m = shapely.length(shapely.intersection(pieces, outline.boundary))
        width_m = (edge.width_m + edge.taper_m / 2) * edge.length_m / outline.boundary.length
        return [float(length_m) * width_m for length_m in along_m]
    strip_m2, wider_m2 = (
        _margin_m2(outline, width_m, pieces) for width_m in (edge.width_m, edge.width_m + edge.taper_m)
    )
    return [float(m2) for m2 in (strip_m2 + wider_m2) / 2]


def _margin_m2(outline: shapely.Polygon, width_m: float, pieces: NDArray[Any]) -> Floats:
    """What of each piece lies within `width_m` of the outline."""
    inner = outline.buffer(-width_m, join_style="mitre")
    shapely.prepare(inner)
    near = ~shapely.covers(inner, pieces)
    margins_m2 = np.zeros(len(pieces))
    margins_m2[near] = shapely.area(pieces[near]) - shapely.area(shapely.intersection(pieces[near], inner))
    return margins_m2


# --- who fills them, and when -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _StrikeOff:
    placing: Placing
    line: PlacingLine

    def minutes(self, area_m2: float, width_m: float) -> float:
        people = next(team.people for team in self.line.teams if Stage.STRIKE_OFF in team.stages)
        pace = self.placing.rate_factor * self.line.capacity
        return 60 * area_m2 / struck_m2_h(self.placing, width_m, people, pace)


class _Supply:
    """The loads one after another, read at any volume placed so far."""

    def __init__(self, quantity: Quantity, delivery: DeliveryRun | None) -> None:
        self._loads: tuple[Load, ...] = delivery.loads if delivery else ()
        loads_m3 = [load.m3 for load in self._loads] if delivery else quantity.loads_m3
        self._ends_m3 = list(accumulate(loads_m3))

    def between(self, start_m3: float, end_m3: float) -> range:
        """Which loads, from 0, carry what is placed between two volumes."""
        last = len(self._ends_m3) - 1
        first = min(bisect_right(self._ends_m3, start_m3 + NOISE_M3), last)
        return range(first, max(first, min(bisect_left(self._ends_m3, end_m3 - NOISE_M3), last)) + 1)

    def moment(self, load: int, placed_m3: float) -> datetime | None:
        """When that volume is reached, which lies in this load."""
        if not self._loads:
            return None
        truck = self._loads[load]
        part = (placed_m3 - (self._ends_m3[load] - truck.m3)) / truck.m3
        return truck.starts_at + (truck.ends_at - truck.starts_at) * min(max(part, 0.0), 1.0)


def _bays(
    drafts: Sequence[_Draft],
    quantity: Quantity,
    strike_off: _StrikeOff,
    reach_m: float,
    delivery: DeliveryRun | None,
) -> Iterator[Bay]:
    supply = _Supply(quantity, delivery)
    ordered = quantity.order_m3 / math.fsum(draft.net_m3 for draft in drafts)
    placed_m3 = [0.0, *accumulate(draft.net_m3 * ordered for draft in drafts)]
    for number, draft in enumerate(drafts, start=1):
        cell, start_m3, end_m3 = draft.cell, placed_m3[number - 1], placed_m3[number]
        loads = supply.between(start_m3, end_m3)
        yield Bay(
            number=number,
            section=draft.section,
            strip=cell.strip,
            corners_m=cell.corners_m,
            width_m=cell.width_m,
            length_m=cell.length_m,
            area_m2=draft.area_m2,
            depth_m=draft.depth_m,
            volume_m3=draft.net_m3 * ordered,
            strike_off_min=strike_off.minutes(draft.area_m2, cell.width_m),
            needed_m=cell.needed_m,
            in_reach=cell.needed_m <= reach_m + NOISE_M,
            loads=tuple(load + 1 for load in loads),
            starts_at=supply.moment(loads[0], start_m3),
            ends_at=supply.moment(loads[-1], end_m3),
        )


# --- what to tell people ----------------------------------------------------------------------


def _reach_findings(
    sections: Sequence[Section],
    bays: Sequence[Bay],
    method: Method,
    reaches_m: Mapping[Method, float],
    *,
    assumed: bool,
) -> Iterator[Finding]:
    for number, section in enumerate(sections, start=1):
        here = [bay for bay in bays if bay.section == number]
        beyond = [bay for bay in here if not bay.in_reach]
        if not beyond:
            continue
        needed_m = max(bay.needed_m for bay in beyond)
        facts: dict[str, Fact] = {
            "section": section.label or str(number),
            "bays": len(beyond),
            "of_bays": len(here),
            "reach_m": reaches_m[method],
            "needed_m": needed_m,
            "front_assumed": assumed,
            **{other.value: far >= needed_m for other, far in reaches_m.items() if other is not method},
            "second_truck_position": True,
        }
        severity = Severity.NOTE if assumed else Severity.STOP
        yield Finding(severity, "bay_out_of_reach", facts, "common practice, no source")
