"""How much concrete a slab takes, how much to order, and how it goes into trucks."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from scheduling.engine.allowance import allowance_findings, allowance_for
from scheduling.engine.inputs import (
    Allowance,
    BadInput,
    Circle,
    Fact,
    FallingTop,
    Finding,
    Mix,
    Opening,
    Outline,
    PlainArea,
    Polygon,
    Rectangle,
    Section,
    Severity,
    SpotDepths,
    Supply,
    ThickenedEdge,
    Trapezoid,
    require_positive,
)
from scheduling.engine.loads import load_findings, load_limit, order_in_steps, split_order

MAX_AREA_M2 = 100_000.0  # our choice: ten times the largest single placements the trade press reports
NET_M3 = (0.001, 10_000.0)  # our choice: from a litre to more than any day's trucks bring
CIRCLE_QUARTER_SIDES = 32
DRAWING_TOLERANCE = 0.02  # our choice
BASE_TOLERANCE_M = 0.75 * 0.0254  # ACI 117-10: the base within 3/4 in of its level


@dataclass(frozen=True, slots=True)
class SectionVolume:
    """One section's concrete. `area_m2` is net of openings, `depth_m` the slab's mean depth without edges.

    ``net_m3 = slab_m3 + edges_m3 - openings_m3``.
    """

    label: str
    area_m2: float
    depth_m: float
    slab_m3: float
    edges_m3: float
    openings_m3: float
    net_m3: float


@dataclass(frozen=True, slots=True)
class Quantity:
    """What the whole pour takes. `depth_m` is weighted by area, `thinnest_m` the least slab depth anywhere.

    `line_m3` is ordered for a pump's hopper and line, where it stays.
    `load_limit_m3` is what one truck may carry and `load_limited_by` says why: its "drum", its
    "payload" or the "road".
    """

    sections: tuple[SectionVolume, ...]
    area_m2: float
    depth_m: float
    thinnest_m: float
    net_m3: float
    allowance_m3: float
    line_m3: float
    order_m3: float
    loads_m3: tuple[float, ...]
    load_limit_m3: float
    load_limited_by: str
    findings: tuple[Finding, ...]

    @property
    def placed_m3(self) -> float:
        """What may come to lie on the slab: the order without what stays in the line."""
        return self.order_m3 - self.line_m3

    @property
    def placed_depth_m(self) -> float:
        """How thick that would lie: the people who place handle the allowance too."""
        return self.placed_m3 / self.area_m2


# --- outlines ---------------------------------------------------------------------------------


def outline_polygon(outline: Outline) -> shapely.Polygon | None:
    """Draw an outline in its own axes, in metres.

    Parameters
    ----------
    outline : Outline
        A circle is drawn in the square from (0, 0), as a polygon of 128 sides (area 0.04 % under).

    Returns
    -------
    shapely.Polygon or None
        None for a plain area, whose outline nobody knows.

    Raises
    ------
    BadInput
        When a polygon crosses or doubles back on itself.
    """
    match outline:
        case Rectangle():
            return shapely.box(0.0, 0.0, outline.length_m, outline.width_m)
        case Trapezoid(side_a_m=a, side_b_m=b, height_m=height):
            return shapely.Polygon([(0.0, 0.0), (a, 0.0), (b, height), (0.0, height)])
        case Polygon():
            return _plain_polygon(outline)
        case Circle(diameter_m=diameter):
            radius = diameter / 2
            return shapely.Point(radius, radius).buffer(radius, quad_segs=CIRCLE_QUARTER_SIDES)
        case PlainArea():
            return None


def _plain_polygon(outline: Polygon) -> shapely.Polygon:
    polygon = shapely.Polygon(outline.corners_m)
    if not polygon.is_valid:
        message = "The outline must not cross, touch or double back on itself."
        raise BadInput("corners_m", "crosses_itself", message)
    return polygon


def outline_area_m2(outline: Outline) -> float:
    """Area inside an outline; exact for a circle.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    float
        Square metres.

    Raises
    ------
    BadInput
        When a polygon crosses itself, or the area is nothing or more than 100,000 m2.
    """
    polygon = outline_polygon(outline)
    match outline:
        case Circle(diameter_m=diameter):
            area_m2 = math.pi * diameter * diameter / 4
        case PlainArea():
            area_m2 = outline.area_m2
        case _:
            area_m2 = float(shapely.area(polygon))
    require_positive("area_m2", area_m2)
    if area_m2 > MAX_AREA_M2:
        message = f"A section covers at most {MAX_AREA_M2:,.0f} m2: check its sizes, or split it."
        raise BadInput("area_m2", "too_large", message)
    return area_m2


def _margin_area_m2(outline: Outline, width_m: float) -> float:
    """Area of the strip within `width_m` of the edge, every corner counted once."""
    polygon = outline_polygon(outline)
    if polygon is None:
        message = "Where only the area is known, a thickened edge needs its length."
        raise BadInput("length_m", "edge_length_needed", message)
    if isinstance(outline, Circle):
        inner_m = max(outline.diameter_m / 2 - width_m, 0.0)
        return outline_area_m2(outline) - math.pi * inner_m * inner_m
    return float(polygon.area - polygon.buffer(-width_m, join_style="mitre").area)


# --- one section ------------------------------------------------------------------------------


def _named_depth_m(section: Section) -> float:
    """The depth people would call the slab by: a wedge's at its low edge, the mean of measured spots."""
    if isinstance(section.depth, SpotDepths):
        return statistics.fmean(section.depth.depths_m)
    return section.depth.depth_m


def _wedge_m(section: Section) -> float:
    """Mean depth that a top falling over a flat base adds above the low edge: the plane at the centroid."""
    if not isinstance(section.depth, FallingTop):
        return 0.0
    return section.depth.fall_m * _share_up_the_fall(section.outline, section.depth.towards_deg)


def _share_up_the_fall(outline: Outline, towards_deg: float) -> float:
    """How far the outline's centroid lies up the fall: 0 at the low edge, 1 at the high."""
    if not math.isfinite(towards_deg):
        raise BadInput("towards_deg", "not_finite", "towards_deg must be a finite number of degrees.")
    polygon = outline_polygon(outline)
    if polygon is None:
        return 0.5
    run_x, run_y = math.cos(math.radians(towards_deg)), math.sin(math.radians(towards_deg))
    along = [x * run_x + y * run_y for x, y in polygon.exterior.coords]
    centroid = polygon.centroid.x * run_x + polygon.centroid.y * run_y
    return (max(along) - centroid) / (max(along) - min(along))


def _thinnest_m(section: Section) -> float:
    return min(section.depth.depths_m) if isinstance(section.depth, SpotDepths) else section.depth.depth_m


def _edge_areas_m2(outline: Outline, edge: ThickenedEdge) -> tuple[float, float]:
    """Plan areas of an edge's full-depth strip and of its taper."""
    if edge.length_m is not None:
        return edge.length_m * edge.width_m, edge.length_m * edge.taper_m
    strip_m2 = _margin_area_m2(outline, edge.width_m)
    return strip_m2, _margin_area_m2(outline, edge.width_m + edge.taper_m) - strip_m2


def _edges_m3(section: Section, area_m2: float, depth_m: float) -> float:
    """What the thickened edges take below the slab's mean depth; a taper takes half its strip."""
    total_m3, total_m2 = 0.0, 0.0
    for edge in section.edges:
        if edge.depth_m < depth_m * (1 - 1e-9):
            message = f"A thickened edge must be at least as deep as the slab, {depth_m:g} m."
            raise BadInput("edges", "edge_shallower_than_slab", message)
        strip_m2, taper_m2 = _edge_areas_m2(section.outline, edge)
        total_m3 += (edge.depth_m - depth_m) * (strip_m2 + taper_m2 / 2)
        total_m2 += strip_m2 + taper_m2
    if total_m2 > area_m2 * (1 + 1e-9):
        raise BadInput("edges", "edges_too_large", "The thickened edges cover more than the section.")
    return total_m3


def _openings_m2(openings: tuple[Opening, ...], area_m2: float) -> float:
    total_m2 = sum(outline_area_m2(opening.outline) * opening.count for opening in openings)
    if total_m2 >= area_m2:
        raise BadInput("openings", "openings_too_large", "The openings leave nothing of the section.")
    return total_m2


def _section_volume(section: Section) -> SectionVolume:
    outline_m2 = outline_area_m2(section.outline)
    depth_m = _named_depth_m(section) + _wedge_m(section)
    openings_m2 = _openings_m2(section.openings, outline_m2)
    slab_m3, openings_m3 = outline_m2 * depth_m, openings_m2 * depth_m
    edges_m3 = _edges_m3(section, outline_m2, depth_m)
    return SectionVolume(
        label=section.label,
        area_m2=outline_m2 - openings_m2,
        depth_m=depth_m,
        slab_m3=slab_m3,
        edges_m3=edges_m3,
        openings_m3=openings_m3,
        net_m3=slab_m3 + edges_m3 - openings_m3,
    )


# --- what to tell people ----------------------------------------------------------------------


def _section_findings(section: Section, volume: SectionVolume, name: str) -> Iterator[Finding]:
    named_m, wedge_m = _named_depth_m(section), _wedge_m(section)
    drawn_m = section.drawn_depth_m
    if drawn_m is not None and abs(named_m - drawn_m) > DRAWING_TOLERANCE * drawn_m:
        facts: dict[str, Fact] = {
            "section": name,
            "depth_m": named_m,
            "drawn_depth_m": drawn_m,
            "as_entered_m3": volume.area_m2 * volume.depth_m,
            "as_drawn_m3": volume.area_m2 * (drawn_m + wedge_m),
        }
        yield Finding(Severity.CAUTION, "depth_differs_from_drawing", facts, "our choice")
    if wedge_m > 0:
        wedge_m3 = volume.area_m2 * wedge_m
        wedge_facts: dict[str, Fact] = {"section": name, "wedge_m3": wedge_m3, "deeper_depth_m": wedge_m}
        yield Finding(Severity.NOTE, "wedge_volume", wedge_facts, "geometry: a plane over a flat base")
    if isinstance(section.depth, SpotDepths):
        yield from _base_findings(section.depth.depths_m, drawn_m or named_m, name)


def _base_findings(depths_m: tuple[float, ...], meant_m: float, name: str) -> Iterator[Finding]:
    least_m, most_m = min(depths_m), max(depths_m)
    if max(most_m - meant_m, meant_m - least_m) > BASE_TOLERANCE_M:
        facts: dict[str, Fact] = {
            "section": name,
            "least_depth_m": least_m,
            "most_depth_m": most_m,
            "meant_depth_m": meant_m,
            "tolerance_depth_m": BASE_TOLERANCE_M,
        }
        yield Finding(Severity.CAUTION, "base_out_of_tolerance", facts, "ACI 117-10")


# --- the whole order --------------------------------------------------------------------------


def _checked_net_m3(net_m3: float) -> float:
    least_m3, most_m3 = NET_M3
    if not net_m3 >= least_m3:
        raise BadInput("sections", "too_little", "The slab must take at least a litre of concrete.")
    if not net_m3 <= most_m3:
        message = f"The slab would take more than {most_m3:g} m3: check its sizes, or split it into several."
        raise BadInput("sections", "too_many_loads", message)
    return net_m3


def order_quantity(
    sections: tuple[Section, ...],
    allowance: Allowance,
    mix: Mix,
    supply: Supply,
    hold_last_load: bool,
    line_m3: float = 0.0,
) -> Quantity:
    """Work out the net volume, the order in plant steps and the loads it comes in.

    Every load is as full as a truck may be, in whole order steps, but the last, the balance.

    Parameters
    ----------
    sections : tuple of Section
        At least one.
    allowance : Allowance
        Percent of the net, depth over the net area, or from the spread of measured depths.
    mix : Mix
        Its density turns weight limits into volume.
    supply : Supply
        Order step, minimum load and what a truck may carry.
    hold_last_load : bool
        Whether the last load waits at the plant until what is left has been measured.
    line_m3 : float
        What fills a pump's hopper and line and never reaches the slab.

    Returns
    -------
    Quantity

    Raises
    ------
    BadInput
        When an outline, edge, opening or weight cannot be, or more than 300 loads are needed.

    Notes
    -----
    An order 4 to 10 % over the net is NRMCA CIP 8; a base within 3/4 in is ACI 117-10.
    """
    volumes = tuple(_section_volume(section) for section in sections)
    areas_m2 = tuple(volume.area_m2 for volume in volumes)
    nets_m3 = tuple(volume.net_m3 for volume in volumes)
    area_m2, net_m3 = sum(areas_m2), _checked_net_m3(sum(nets_m3))
    allowance_m3, fallback_findings = allowance_for(allowance, sections, areas_m2, nets_m3)
    order_m3 = order_in_steps(net_m3 + allowance_m3 + line_m3, supply.order_step_m3)
    limit_m3, limited_by = load_limit(mix, supply)
    loads_m3 = split_order(order_m3, limit_m3, supply)
    findings = [
        finding
        for number, (section, volume) in enumerate(zip(sections, volumes, strict=True), start=1)
        for finding in _section_findings(section, volume, section.label or str(number))
    ]
    findings += fallback_findings
    findings += allowance_findings(net_m3, allowance_m3, order_m3 - line_m3, supply.order_step_m3)
    findings += load_findings(loads_m3, supply, hold_last_load)
    return Quantity(
        sections=volumes,
        area_m2=area_m2,
        depth_m=sum(volume.area_m2 * volume.depth_m for volume in volumes) / area_m2,
        thinnest_m=min(_thinnest_m(section) for section in sections),
        net_m3=net_m3,
        allowance_m3=allowance_m3,
        line_m3=line_m3,
        order_m3=order_m3,
        loads_m3=loads_m3,
        load_limit_m3=limit_m3,
        load_limited_by=limited_by,
        findings=tuple(findings),
    )
