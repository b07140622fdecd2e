"""Volumes against published examples of the trade, and against geometry."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.inputs import (
    BadInput,
    Circle,
    DepthAllowance,
    FallingBase,
    FallingTop,
    Mix,
    Opening,
    PercentAllowance,
    PlainArea,
    Polygon,
    Rectangle,
    Section,
    Severity,
    SpotDepths,
    Supply,
    ThickenedEdge,
    Trapezoid,
    UniformDepth,
)
from scheduling.engine.volume import order_quantity, outline_area_m2, outline_polygon

FT = 0.3048
IN = 0.0254
FT2 = FT * FT
YD3 = (3 * FT) ** 3
MIX = Mix(name="4000", strength_mpa=28, aggregate_mm=19)
SUPPLY = Supply(truck_m3=10 * YD3, order_step_m3=0.25 * YD3, haul_min=20)


def slab(length_ft, width_ft, depth_in, **more):
    return Section(Rectangle(length_ft * FT, width_ft * FT), UniformDepth(depth_in * IN), **more)


def order(*sections, allowance=None, supply=SUPPLY, hold_last_load=False):
    return order_quantity(sections, allowance or PercentAllowance(5), MIX, supply, hold_last_load)


def codes(quantity):
    return [finding.code for finding in quantity.findings]


def finding(quantity, code):
    return next(finding for finding in quantity.findings if finding.code == code)


def refusal(*sections, **more):
    with pytest.raises(BadInput) as caught:
        order(*sections, **more)
    return caught.value.code


# --- published volumes ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length_ft", "width_ft", "depth_in", "yards"),
    [
        (20, 20, 4, 4.938),  # V = area (ft2) x thickness (in) / 324
        (10, 10, 4, 1.235),
        (60, 4, 0.33 * 12, 2.93),  # a published sidewalk: 79.2 ft3
        (300, 200, 6, 1111.11),  # concreteconstruction.net, 60,000 sf at 6 in, "about 1,100"
        (24, 36, 4, 10.67),
        (24, 36, 3.5, 9.33),
    ],
)
def test_a_rectangle_takes_its_area_times_its_depth(length_ft, width_ft, depth_in, yards):
    assert order(slab(length_ft, width_ft, depth_in)).net_m3 / YD3 == pytest.approx(yards, abs=0.005)


def test_five_percent_on_a_garage_floor():
    # A published example: 24 x 24 ft at 4 in with 5 % is 7.467 yards.
    quantity = order(slab(24, 24, 4), allowance=PercentAllowance(5))
    assert (quantity.net_m3 + quantity.allowance_m3) / YD3 == pytest.approx(7.467, abs=0.0005)
    assert quantity.order_m3 / YD3 == pytest.approx(7.5)


def test_a_thickened_edge_dug_deeper_takes_a_yard_and_a_half_more():
    # A builder's diary: garage pad whose edge was dug 12 in where 16 was drawn (strip width ours).
    quantities = [
        order(slab(28, 36, 4, edges=(ThickenedEdge(width_m=12 * IN, depth_m=depth * IN),)))
        for depth in (12, 16)
    ]
    edges = [quantity.sections[0].edges_m3 / YD3 for quantity in quantities]
    assert edges == pytest.approx([3.06, 4.59], abs=0.005)
    assert [quantity.net_m3 / YD3 for quantity in quantities] == pytest.approx([15.51, 17.04], abs=0.005)


def test_an_eighth_too_deep_is_one_yard_in_thirty_two():
    # NRMCA CIP 8: 1/8 in on 4 in is about 3 %, one yard in 32.
    area_ft2 = 32 * 324 / 4
    measured = Section(PlainArea(area_ft2 * FT2), SpotDepths((4 * IN, 4.125 * IN, 4.25 * IN)))
    assert order(measured).net_m3 / YD3 == pytest.approx(33.0)


# --- outlines ---------------------------------------------------------------------------------


def test_a_trapezoid_is_its_mean_side_times_its_height():
    assert outline_area_m2(Trapezoid(6, 4, 3)) == pytest.approx(15)


def test_a_trapezoid_without_its_second_side_is_a_triangle():
    assert outline_area_m2(Trapezoid(6, 0, 3)) == pytest.approx(9)


def test_a_concave_polygon_loses_its_notch():
    ell = Polygon(((0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)))
    assert outline_area_m2(ell) == pytest.approx(64)


def test_the_direction_of_the_corners_does_not_matter():
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 7.0))
    assert outline_area_m2(Polygon(corners)) == pytest.approx(outline_area_m2(Polygon(corners[::-1])))


def test_a_circle_is_exact_and_drawn_within_a_part_in_a_thousand():
    circle = Circle(6)
    assert outline_area_m2(circle) == pytest.approx(math.pi * 9)
    assert outline_polygon(circle).area == pytest.approx(math.pi * 9, rel=1e-3)
    assert outline_polygon(circle).bounds == pytest.approx((0, 0, 6, 6))


def test_a_plain_area_has_no_outline():
    assert outline_polygon(PlainArea(50)) is None
    assert outline_area_m2(PlainArea(50)) == 50


@pytest.mark.parametrize(
    "corners",
    [
        ((0, 0), (4, 4), (4, 0), (0, 4)),  # a bow tie
        ((0, 0), (4, 0), (8, 0)),  # all on one line
        ((0, 0), (6, 0), (6, 4), (3, 0), (0, 4)),  # touches its own side
    ],
)
def test_an_outline_that_meets_itself_is_refused(corners):
    assert refusal(Section(Polygon(corners), UniformDepth(0.1))) == "crosses_itself"


def test_an_area_beyond_any_pour_is_refused():
    assert refusal(Section(Rectangle(1e100, 1e100), UniformDepth(0.1))) == "too_large"


@given(st.floats(0.5, 100), st.floats(0.5, 100), st.floats(0.05, 0.5))
def test_a_polygon_of_a_rectangles_corners_is_the_rectangle(length, width, depth):
    corners = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    big = Supply(truck_m3=20, order_step_m3=0.1, haul_min=20)
    edge = ThickenedEdge(width_m=0.2, depth_m=depth + 0.2)
    first, second = (
        order(Section(outline, UniformDepth(depth), edges=(edge,)), supply=big)
        for outline in (Rectangle(length, width), Polygon(corners))
    )
    assert first.net_m3 == pytest.approx(second.net_m3)
    assert first.loads_m3 == second.loads_m3


# --- depths -----------------------------------------------------------------------------------


def wedge(outline, towards_deg=90.0):
    return Section(outline, FallingTop(depth_m=0.1, fall_m=0.1, towards_deg=towards_deg))


@pytest.mark.parametrize("towards_deg", [0, 37, 90, 180, -90])
def test_a_falling_top_over_a_rectangle_adds_half_its_fall(towards_deg):
    assert order(wedge(Rectangle(8, 5), towards_deg)).net_m3 == pytest.approx(40 * 0.15)


@pytest.mark.parametrize("outline", [Circle(4), PlainArea(12.5)])
def test_a_falling_top_over_a_circle_or_plain_area_adds_half_its_fall(outline):
    assert order(wedge(outline)).sections[0].depth_m == pytest.approx(0.15)


@pytest.mark.parametrize(("towards_deg", "share"), [(90, 2 / 3), (-90, 1 / 3), (0, 2 / 3), (180, 1 / 3)])
def test_a_falling_top_over_a_triangle_is_the_plane_at_its_centroid(towards_deg, share):
    # The centroid of a triangle lies a third of the way from its base: geometry. Corners (0,0), (6,0), (0,3).
    triangle = Trapezoid(6, 0, 3)
    assert order(wedge(triangle, towards_deg)).sections[0].depth_m == pytest.approx(0.1 + 0.1 * share)


@given(st.floats(-720, 720), st.floats(0, 0.4))
def test_a_falling_top_over_a_concave_slab_agrees_with_integrating_the_plane(towards_deg, fall_m):
    squares = [(x + 0.5, y + 0.5) for x in range(10) for y in range(10) if x < 4 or y < 4]
    run = (math.cos(math.radians(towards_deg)), math.sin(math.radians(towards_deg)))
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (4.0, 4.0), (4.0, 10.0), (0.0, 10.0))
    along = [x * run[0] + y * run[1] for x, y in corners]
    depths = [
        0.1 + fall_m * (max(along) - x * run[0] - y * run[1]) / (max(along) - min(along)) for x, y in squares
    ]
    section = Section(Polygon(corners), FallingTop(depth_m=0.1, fall_m=fall_m, towards_deg=towards_deg))
    assert order(section).net_m3 == pytest.approx(sum(depths))


def test_a_falling_base_is_one_thickness_and_says_nothing_of_a_wedge():
    quantity = order(Section(Rectangle(8, 5), FallingBase(depth_m=0.1, fall_m=0.1)))
    assert quantity.net_m3 == pytest.approx(4.0)
    assert "wedge_volume" not in codes(quantity)


def test_a_wedge_tells_how_much_it_adds_over_a_falling_base():
    found = finding(order(wedge(Rectangle(8, 5))), "wedge_volume")
    assert found.severity is Severity.NOTE
    assert found.facts["wedge_m3"] == pytest.approx(40 * 0.05)
    assert found.facts["section"] == "1"


def test_a_top_that_does_not_fall_is_no_wedge():
    section = Section(Rectangle(8, 5), FallingTop(depth_m=0.1, fall_m=0))
    assert "wedge_volume" not in codes(order(section))


def test_spot_depths_count_by_their_mean_and_the_least_is_the_thinnest():
    quantity = order(Section(PlainArea(100), SpotDepths((0.1, 0.11, 0.12))))
    assert quantity.net_m3 == pytest.approx(11)
    assert quantity.thinnest_m == pytest.approx(0.1)


@pytest.mark.parametrize(("low_in", "told"), [(3.25, False), (3.2, True), (4.75, False), (4.8, True)])
def test_a_base_more_than_three_quarters_out_is_told(low_in, told):
    # ACI 117-10: base tolerance 3/4 in either way.
    spots = SpotDepths((4 * IN, 4 * IN, low_in * IN))
    quantity = order(Section(PlainArea(100), spots, drawn_depth_m=4 * IN))
    assert ("base_out_of_tolerance" in codes(quantity)) is told


def test_a_direction_that_is_no_number_is_refused():
    assert refusal(wedge(Rectangle(8, 5), math.nan)) == "not_finite"


# --- the drawing ------------------------------------------------------------------------------


def test_four_inch_by_name_and_three_and_a_half_by_the_forms_is_asked_about():
    # A builder's question: 24 x 36 ft is 10.67 yards at 4 in and 9.33 at 3 1/2; the forms decide.
    quantity = order(slab(24, 36, 3.5, drawn_depth_m=4 * IN, label="shop floor"))
    found = finding(quantity, "depth_differs_from_drawing")
    assert found.severity is Severity.CAUTION
    assert found.facts["as_entered_m3"] / YD3 == pytest.approx(9.33, abs=0.005)
    assert found.facts["as_drawn_m3"] / YD3 == pytest.approx(10.67, abs=0.005)
    assert found.facts["section"] == "shop floor"
    assert quantity.net_m3 / YD3 == pytest.approx(9.33, abs=0.005)


@pytest.mark.parametrize(("depth_in", "told"), [(4, False), (4.079, False), (4.081, True), (3.919, True)])
def test_two_percent_off_the_drawing_is_let_go(depth_in, told):
    # Our choice.
    quantity = order(slab(24, 36, depth_in, drawn_depth_m=4 * IN))
    assert ("depth_differs_from_drawing" in codes(quantity)) is told


def test_a_wedge_is_compared_with_the_drawing_at_its_low_edge():
    section = Section(Rectangle(8, 5), FallingTop(depth_m=0.1, fall_m=0.1), drawn_depth_m=0.1)
    assert "depth_differs_from_drawing" not in codes(order(section))


# --- edges ------------------------------------------------------------------------------------


def edges_m3(outline, *edges):
    return order(Section(outline, UniformDepth(0.1), edges=edges)).sections[0].edges_m3


def test_an_edge_all_round_counts_no_corner_twice():
    edge = ThickenedEdge(width_m=0.3, depth_m=0.4)
    assert edges_m3(Rectangle(10, 8), edge) == pytest.approx(0.3 * (80 - 9.4 * 7.4))


def test_an_edge_round_an_inside_corner_is_dug_square():
    ell = Polygon(((0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)))
    inside = 64 - (9.4 * 3.4 + 3.4 * 9.4 - 3.4 * 3.4)
    assert edges_m3(ell, ThickenedEdge(width_m=0.3, depth_m=0.4)) == pytest.approx(0.3 * inside)


def test_an_edge_round_a_circle_is_a_ring():
    edge = ThickenedEdge(width_m=0.5, depth_m=0.3)
    assert edges_m3(Circle(6), edge) == pytest.approx(0.2 * math.pi * (9 - 2.5**2))


def test_an_edge_wider_than_the_slab_digs_all_of_it():
    edge = ThickenedEdge(width_m=9, depth_m=0.3)
    assert edges_m3(Rectangle(10, 8), edge) == pytest.approx(0.2 * 80)
    assert edges_m3(Circle(6), edge) == pytest.approx(0.2 * math.pi * 9)


@pytest.mark.parametrize(("taper_m", "mean_width_m"), [(0.0, 0.3), (0.2, 0.4)])
def test_an_edge_of_given_length_takes_only_that_and_half_its_taper(taper_m, mean_width_m):
    edge = ThickenedEdge(width_m=0.3, depth_m=0.4, length_m=10, taper_m=taper_m)
    assert edges_m3(PlainArea(80), edge) == pytest.approx(0.3 * mean_width_m * 10)


def test_a_taper_all_round_lies_inside_the_strip():
    edge = ThickenedEdge(width_m=0.3, depth_m=0.4, taper_m=0.2)
    strip, taper = 80 - 9.4 * 7.4, 9.4 * 7.4 - 9 * 7
    assert edges_m3(Rectangle(10, 8), edge) == pytest.approx(0.3 * (strip + taper / 2))


def test_an_edge_all_round_an_unknown_outline_needs_its_length():
    section = Section(PlainArea(80), UniformDepth(0.1), edges=(ThickenedEdge(width_m=0.3, depth_m=0.4),))
    assert refusal(section) == "edge_length_needed"


def test_an_edge_shallower_than_the_slab_is_refused_and_one_as_deep_adds_nothing():
    shallow = ThickenedEdge(width_m=0.3, depth_m=0.09)
    section = Section(Rectangle(8, 5), UniformDepth(0.1), edges=(shallow,))
    assert refusal(section) == "edge_shallower_than_slab"
    assert edges_m3(Rectangle(8, 5), ThickenedEdge(width_m=0.3, depth_m=0.1)) == pytest.approx(0)


def test_edges_that_cover_more_than_the_section_are_refused():
    long = ThickenedEdge(width_m=0.5, depth_m=0.4, length_m=90)
    assert refusal(Section(Rectangle(8, 5), UniformDepth(0.1), edges=(long,))) == "edges_too_large"


# --- openings ---------------------------------------------------------------------------------


def test_openings_come_off_the_area_and_the_volume():
    section = Section(Rectangle(10, 8), UniformDepth(0.1), openings=(Opening(Rectangle(1, 0.5), count=4),))
    quantity = order(section)
    assert quantity.area_m2 == pytest.approx(78)
    assert quantity.sections[0].openings_m3 == pytest.approx(0.2)
    assert quantity.net_m3 == pytest.approx(7.8)


@pytest.mark.parametrize("count", [80, 81])
def test_openings_that_leave_nothing_are_refused(count):
    openings = (Opening(PlainArea(1), count=count),)
    assert refusal(Section(Rectangle(10, 8), UniformDepth(0.1), openings=openings)) == "openings_too_large"


# --- the whole --------------------------------------------------------------------------------


def test_sections_add_up_and_their_depth_is_weighted_by_area():
    thin = Section(Rectangle(10, 6), UniformDepth(0.1), label="drive")
    thick = Section(Rectangle(5, 4), UniformDepth(0.2), label="apron")
    quantity = order(thin, thick)
    assert [section.label for section in quantity.sections] == ["drive", "apron"]
    assert quantity.area_m2 == pytest.approx(80)
    assert quantity.net_m3 == pytest.approx(10)
    assert quantity.depth_m == pytest.approx(0.125)
    assert quantity.thinnest_m == pytest.approx(0.1)


def test_less_than_a_litre_is_refused():
    assert refusal(Section(PlainArea(0.001), UniformDepth(0.1))) == "too_little"


@pytest.mark.parametrize("depth_m", [1.0, 1e300])
def test_a_slab_beyond_any_day_is_refused(depth_m):
    assert refusal(Section(PlainArea(50_000), UniformDepth(depth_m))) == "too_many_loads"


def test_low_bases_take_what_the_depth_allowance_allows():
    # forconstructionpros.com on ACI 117-10: 10,000 sf at 6 in is 185.2 yards; 3/8 in low adds 11.6.
    quantity = order(slab(100, 100, 6), allowance=DepthAllowance(3 / 8 * IN))
    assert quantity.net_m3 / YD3 == pytest.approx(185.2, abs=0.05)
    assert quantity.allowance_m3 / YD3 == pytest.approx(11.6, abs=0.05)


outlines = st.one_of(
    st.builds(Rectangle, st.floats(1, 25), st.floats(1, 25)),
    st.builds(Trapezoid, st.floats(1, 25), st.floats(0, 25), st.floats(1, 25)),
    st.builds(Circle, st.floats(1, 25)),
    st.builds(PlainArea, st.floats(1, 600)),
)
depths = st.one_of(
    st.builds(UniformDepth, st.floats(0.05, 0.3)),
    st.builds(FallingTop, st.floats(0.05, 0.3), st.floats(0, 0.1), st.floats(-360, 360)),
    st.builds(SpotDepths, st.lists(st.floats(0.05, 0.3), min_size=1, max_size=9).map(tuple)),
)
supplies = st.builds(
    Supply,
    truck_m3=st.floats(4, 12),
    order_step_m3=st.sampled_from([0.1, 0.25, 0.5, 1.0, 0.25 * YD3, 0.5 * YD3, YD3]),
    minimum_load_m3=st.floats(0, 5),
    payload_kg=st.none() | st.floats(8000, 30000),
    haul_min=st.just(20),
)


@given(st.lists(st.builds(Section, outlines, depths), min_size=1, max_size=2), st.floats(0, 15), supplies)
def test_the_order_covers_the_need_by_less_than_a_step_and_the_loads_carry_it(sections, percent, supply):
    quantity = order(*sections, allowance=PercentAllowance(percent), supply=supply)
    need_m3, step_m3 = quantity.net_m3 + quantity.allowance_m3, supply.order_step_m3
    assert need_m3 - 1e-5 * step_m3 <= quantity.order_m3 < need_m3 + step_m3
    assert sum(quantity.loads_m3) == pytest.approx(quantity.order_m3, rel=1e-12)
    assert 0 < min(quantity.loads_m3) <= max(quantity.loads_m3) <= quantity.load_limit_m3 * (1 + 1e-6)
