"""Where the control joints go."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.inputs import BadInput, Circle, PlainArea, Polygon, Rectangle, SawType, Trapezoid
from scheduling.engine.joints import SHORTEST_JOINT_M, cut_depth_m, joint_layout, widest_spacing_m

FOOT_M = 0.3048
INCH_M = 0.0254
ELL = Polygon(((0, 0), (10, 0), (10, 4), (4, 4), (4, 9), (0, 9)))


def layout_of(outline, inches=5, saw=SawType.CONVENTIONAL, spacing_m=None):
    return joint_layout(outline, inches * INCH_M, saw, spacing_m)


@pytest.mark.parametrize(("inches", "least_ft", "most_ft"), [(4, 8, 12), (5, 10, 15), (6, 12, 18)])
def test_joints_are_as_far_apart_as_the_trade_has_them(inches, least_ft, most_ft):
    # 24 to 36 thicknesses (ACI FAQ 915): 4 in 8-12 ft, 5 in 10-15 ft, 6 in 12-18 ft
    spacing_ft = layout_of(Rectangle(120 * FOOT_M, 90 * FOOT_M), inches).spacing_m / FOOT_M
    assert least_ft <= spacing_ft <= most_ft
    assert widest_spacing_m(inches * INCH_M) <= most_ft * FOOT_M + 1e-9


@pytest.mark.parametrize("inches", [7, 8, 12])
def test_no_thickness_lets_joints_be_more_than_fifteen_feet_apart(inches):
    # CSA A23.1-94: at most 5 m; common US practice 15 ft
    assert layout_of(Rectangle(60.0, 40.0), inches).spacing_m <= 15 * FOOT_M < 5


def test_a_five_inch_slab_52_by_38_feet_is_cut_in_twelve_near_squares():
    layout = layout_of(Rectangle(52 * FOOT_M, 38 * FOOT_M))
    assert (layout.panels_long, layout.panels_wide) == (4, 3)  # 13 ft x 12 ft 8 in
    assert layout.spacing_m == pytest.approx(13 * FOOT_M)
    assert layout.length_m == pytest.approx((3 * 38 + 2 * 52) * FOOT_M)
    assert len(layout.joints) == 5


def sides_of(outline, layout):
    return outline.length_m / layout.panels_long, outline.width_m / layout.panels_wide


@given(
    length_m=st.floats(1, 120),
    width_m=st.floats(1, 60),
    inches=st.floats(3, 12),
    spacing_m=st.none() | st.floats(1, 6),
)
def test_every_panel_of_a_rectangle_is_near_square_and_no_wider_than_allowed(
    length_m, width_m, inches, spacing_m
):
    outline = Rectangle(length_m, width_m)
    layout = layout_of(outline, inches, spacing_m=spacing_m)
    sides = sides_of(outline, layout)
    assert max(sides) <= 1.5 * min(sides) * (1 + 1e-6)
    assert max(sides) == pytest.approx(layout.spacing_m)
    assert layout.spacing_m <= (spacing_m or widest_spacing_m(inches * INCH_M)) * (1 + 1e-6)
    cuts = (layout.panels_long - 1) * width_m + (layout.panels_wide - 1) * length_m
    assert layout.length_m == pytest.approx(cuts)


def test_a_narrow_walk_is_cut_no_longer_than_one_and_a_half_widths():
    layout = layout_of(Rectangle(40 * FOOT_M, 4 * FOOT_M), inches=4)
    assert layout.panels_wide == 1
    assert layout.spacing_m <= 6 * FOOT_M


def test_a_small_pad_needs_no_joint():
    layout = layout_of(Rectangle(3.0, 3.0))
    assert (layout.joints, layout.length_m) == ((), 0.0)


def test_a_spacing_asked_for_is_kept():
    layout = layout_of(Rectangle(12.0, 12.0), spacing_m=3.0)
    assert (layout.panels_long, layout.panels_wide, layout.spacing_m) == (4, 4, pytest.approx(3.0))


def test_a_plain_area_is_laid_out_as_a_square():
    assert layout_of(PlainArea(144.0)) == layout_of(Rectangle(12.0, 12.0))


def test_an_inward_corner_gets_a_joint_both_ways_and_none_runs_along_an_edge():
    layout = layout_of(ELL, inches=4)
    ends = {
        (round(x, 6), round(y, 6)) for j in layout.joints for x, y in ((j.x1_m, j.y1_m), (j.x2_m, j.y2_m))
    }
    assert (4.0, 4.0) in ends
    upright = [j for j in layout.joints if j.x1_m == j.x2_m == 4.0]
    assert [(j.y1_m, j.y2_m) for j in upright] == [(0.0, 4.0)]


def test_joints_of_a_trapezoid_stop_at_its_slanting_side():
    layout = layout_of(Trapezoid(side_a_m=10, side_b_m=6, height_m=8), inches=4)
    for joint in layout.joints:
        for x, y in ((joint.x1_m, joint.y1_m), (joint.x2_m, joint.y2_m)):
            assert 0 <= y <= 8
            assert 0 <= x <= 10 - 4 * y / 8 + 1e-9


def test_joints_of_a_circle_are_its_chords():
    layout = layout_of(Circle(diameter_m=12.0))
    assert len(layout.joints) == 4
    for joint in layout.joints:
        off_m = abs((joint.x1_m if joint.x1_m == joint.x2_m else joint.y1_m) - 6)
        assert joint.length_m == pytest.approx(2 * math.sqrt(36 - off_m**2), rel=1e-3)


def turned(points, degrees):
    sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    return tuple((x * cosine - y * sine, x * sine + y * cosine) for x, y in points)


@given(st.floats(-180, 180), st.floats(4, 40), st.floats(4, 30))
def test_a_rectangle_drawn_askew_is_cut_like_one_drawn_straight(degrees, length_m, width_m):
    box = ((0, 0), (length_m, 0), (length_m, width_m), (0, width_m))
    askew, straight = layout_of(Polygon(turned(box, degrees))), layout_of(Rectangle(length_m, width_m))
    assert askew.length_m == pytest.approx(straight.length_m, rel=1e-3, abs=1e-3)
    panels = {askew.panels_long, askew.panels_wide}
    assert panels == {straight.panels_long, straight.panels_wide}


def test_every_inward_corner_has_a_joint_also_where_it_is_close_to_an_edge():
    # ACI 302.1R: a joint from each re-entrant corner, where cracks start (from memory)
    narrow = Polygon(((0, 0), (10, 0), (10, 1.2), (1.1, 1.2), (1.1, 9), (0, 9)))
    layout = layout_of(narrow, inches=4)
    ends = {
        (round(x, 6), round(y, 6)) for j in layout.joints for x, y in ((j.x1_m, j.y1_m), (j.x2_m, j.y2_m))
    }
    assert (1.1, 1.2) in ends


@given(st.floats(0.5, 9.5), st.floats(0.5, 8.5), st.floats(3, 8), st.floats(-45, 45))
def test_the_inward_corner_of_any_ell_starts_a_joint(x, y, inches, degrees):
    ell = ((0, 0), (10, 0), (10, y), (x, y), (x, 9), (0, 9))
    layout = layout_of(Polygon(turned(ell, degrees)), inches)
    ((corner_x, corner_y),) = turned([(x, y)], degrees)
    starts = [(j.x1_m, j.y1_m) for j in layout.joints] + [(j.x2_m, j.y2_m) for j in layout.joints]
    assert min(math.dist((corner_x, corner_y), start) for start in starts) < 1e-3


corners = st.lists(st.floats(0.5, 20), min_size=3, max_size=9)


@given(corners, st.floats(3, 8))
def test_joints_of_any_outline_lie_inside_it_and_are_worth_cutting(radii, inches):
    turn = 2 * math.pi / len(radii)
    star = tuple((r * math.cos(turn * i), r * math.sin(turn * i)) for i, r in enumerate(radii))
    layout = layout_of(Polygon(star), inches)
    reach_m = max(radii)
    for joint in layout.joints:
        assert joint.length_m >= SHORTEST_JOINT_M
        assert math.hypot(joint.x1_m, joint.y1_m) <= reach_m + 1e-9
        assert math.hypot(joint.x2_m, joint.y2_m) <= reach_m + 1e-9
    assert layout.length_m == pytest.approx(sum(joint.length_m for joint in layout.joints))


def test_a_ragged_outline_with_many_corners_still_comes_to_an_end():
    teeth = [(i * 0.7, 6.0 + (i % 2) * 2.4) for i in range(40)]
    layout = layout_of(Polygon((*reversed(teeth), (0.0, 0.0), (39 * 0.7, 0.0))), inches=4)
    xs = sorted({joint.x1_m for joint in layout.joints if joint.x1_m == joint.x2_m})
    assert max(b - a for a, b in pairwise(xs)) <= 12 * FOOT_M


@pytest.mark.parametrize(
    ("inches", "saw", "depth_in"),
    [
        (4, SawType.CONVENTIONAL, 1.0),
        (6, SawType.CONVENTIONAL, 1.5),
        (3, SawType.CONVENTIONAL, 1.0),
        (4, SawType.EARLY_ENTRY, 1.0),
        (9, SawType.EARLY_ENTRY, 1.0),
        (12, SawType.EARLY_ENTRY, 3.0),
    ],
)
def test_the_cut_is_a_quarter_deep_or_an_inch(inches, saw, depth_in):
    # ACI 302.1R: a quarter of the thickness, at least 1 in; early entry 1 in up to 9 in (from memory)
    assert cut_depth_m(inches * INCH_M, saw) == pytest.approx(depth_in * INCH_M)
    assert layout_of(Rectangle(10, 10), inches, saw).depth_m == cut_depth_m(inches * INCH_M, saw)


def test_a_slip_of_the_pen_is_not_laid_out():
    with pytest.raises(BadInput) as caught:
        layout_of(Rectangle(50_000, 1.0))
    assert caught.value.code == "too_many_joints"


def test_a_slab_without_thickness_has_no_layout():
    with pytest.raises(BadInput):
        joint_layout(Rectangle(10, 10), 0.0, SawType.CONVENTIONAL)
