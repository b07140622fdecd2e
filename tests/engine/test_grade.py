"""Heights of the screed pads."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.baygrid import TruckStand, bay_cells
from scheduling.engine.grade import grade_sheet
from scheduling.engine.inputs import (
    BadInput,
    Circle,
    FallingBase,
    FallingTop,
    PlainArea,
    Polygon,
    Rectangle,
    Section,
    Severity,
    Side,
    SpotDepths,
    Trapezoid,
    UniformDepth,
)
from scheduling.engine.surface import drawn_outline

FT, INCH = 0.3048, 0.0254
SLAB = Section(Rectangle(52 * FT, 38 * FT), FallingBase(5 * INCH, 2 * INCH))


def sheet_of(section, board_m=14 * FT, reach_m=math.inf, side=Side.FRONT, **given_heights):
    _, grid = bay_cells(section.outline, board_m, TruckStand(side), reach_m)
    return grade_sheet(section, grid, **given_heights)


def test_a_slab_falling_two_inches_is_an_inch_lower_half_way():
    # 52 by 38 ft, 2 in over the 38 ft; four rows of 9 1/2 ft: half an inch a row
    sheet = sheet_of(SLAB, reach_m=12 * FT)
    assert len(sheet.points) == 25
    heights = {round(p.y_m / FT, 6): round(p.height_m / INCH, 9) for p in sheet.points}
    assert heights == {0: 0, 9.5: -0.5, 19: -1, 28.5: -1.5, 38: -2}
    assert (sheet.highest_m, sheet.lowest_m) == (0, pytest.approx(-2 * INCH))
    assert sheet.fall_percent == pytest.approx(100 * 2 / (38 * 12))  # 0.44 %


def test_pads_stand_row_by_row_from_the_front():
    places = [(p.y_m, p.x_m) for p in sheet_of(SLAB).points]
    assert places == sorted(places)
    assert len(set(places)) == len(places) == 5 * 4


def test_a_rod_reads_more_the_lower_the_pad():
    # benchmark 1 ft 6 in below the high edge, laser 4 ft 9 in above the benchmark: 3 ft 3 in at the
    # high edge, 3 ft 5 in at the low
    sheet = sheet_of(SLAB, high_edge_m=1.5 * FT, instrument_m=4.75 * FT)
    assert sheet.points[0].height_m == pytest.approx(1.5 * FT)
    assert sheet.points[0].rod_m == pytest.approx(3.25 * FT)
    assert sheet.points[-1].rod_m == pytest.approx(3 * FT + 5 * INCH)


def test_without_a_laser_there_are_no_rod_readings():
    assert {p.rod_m for p in sheet_of(SLAB).points} == {None}


def test_a_fall_to_a_corner_has_the_other_two_corners_half_way():
    square = Section(Rectangle(10.0, 10.0), FallingTop(0.1, 0.08, 45.0))
    corners = {(p.x_m, p.y_m): p.height_m for p in sheet_of(square).points}
    assert corners[0, 0] == pytest.approx(0)
    assert corners[10, 0] == pytest.approx(corners[0, 10]) == pytest.approx(-0.04)
    assert corners[10, 10] == pytest.approx(-0.08)


@given(
    outline=st.sampled_from(
        [
            Rectangle(9.0, 14.0),
            Trapezoid(12, 5, 8),
            Circle(11),
            PlainArea(80),
            Polygon(((0, 0), (16, 0), (16, 6), (7, 6), (7, 13), (0, 13))),
        ]
    ),
    fall_m=st.floats(0.01, 0.3),
    towards_deg=st.floats(-360, 360),
    side=st.sampled_from(Side),
)
def test_pads_lie_on_the_slab_and_between_its_edges(outline, fall_m, towards_deg, side):
    sheet = sheet_of(Section(outline, FallingTop(0.1, fall_m, towards_deg)), side=side)
    polygon = drawn_outline(outline).buffer(1e-6)
    assert len(sheet.points) >= 4
    for point in sheet.points:
        assert polygon.covers(shapely.Point(point.x_m, point.y_m))
        assert -fall_m - 1e-9 <= point.height_m <= 1e-9
    assert sheet.highest_m - sheet.lowest_m >= 0.5 * fall_m


def test_every_corner_of_a_polygon_has_a_pad():
    corners = ((0, 0), (16, 0), (16, 6), (7, 6), (7, 13), (0, 13))
    pads = {(p.x_m, p.y_m) for p in sheet_of(Section(Polygon(corners), UniformDepth(0.1))).points}
    assert set(corners) <= pads


def test_a_circle_has_pads_where_lines_meet_its_edge_and_not_at_every_facet():
    assert len(sheet_of(Section(Circle(40 * FT), UniformDepth(0.1))).points) < 30


@pytest.mark.parametrize("depth", [UniformDepth(0.1), SpotDepths((0.1, 0.12)), FallingBase(0.1, 0.0)])
def test_a_level_top_is_level_and_needs_no_word(depth):
    sheet = sheet_of(Section(Rectangle(10, 8), depth), high_edge_m=0.25)
    assert {p.height_m for p in sheet.points} == {0.25}
    assert (sheet.fall_percent, sheet.findings) == (0, ())


# --- whether it drains ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inches", "flat"), [(2, True), (38 / 8 - 0.01, True), (38 / 8, False), (38 / 4, False)]
)
def test_a_fall_under_an_eighth_of_an_inch_per_foot_is_said_to_be_flat(inches, flat):
    # 1/8 to 1/4 in per ft for drainage: common practice, no source
    section = Section(Rectangle(52 * FT, 38 * FT), FallingTop(5 * INCH, inches * INCH))
    findings = sheet_of(section).findings
    assert [finding.code for finding in findings] == (["fall_is_flat"] if flat else [])


def test_a_flat_fall_is_told_in_percent():
    (finding,) = sheet_of(SLAB).findings
    assert finding.severity is Severity.NOTE
    assert finding.facts["percent"] == pytest.approx(0.4386, abs=1e-4)
    assert finding.facts["draining_percent"] == pytest.approx(1.0417, abs=1e-4)
    assert finding.facts["run_m"] == pytest.approx(38 * FT)


# --- what cannot be ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heights", "field"),
    [
        ({"high_edge_m": math.nan}, "high_edge_m"),
        ({"instrument_m": math.inf}, "instrument_m"),
        ({"instrument_m": 0.4, "high_edge_m": 0.5}, "instrument_m"),
    ],
)
def test_heights_that_cannot_be_are_refused_by_name(heights, field):
    with pytest.raises(BadInput) as caught:
        sheet_of(SLAB, **heights)
    assert caught.value.field == field


def test_a_round_pad_in_a_single_bay_has_pads_at_its_four_farthest_points():
    sheet = sheet_of(Section(Circle(6 * FT), FallingTop(4 * INCH, INCH)))
    assert [(round(p.x_m / FT), round(p.y_m / FT)) for p in sheet.points] == [(3, 0), (0, 3), (6, 3), (3, 6)]
    assert sheet.highest_m - sheet.lowest_m == pytest.approx(INCH)
