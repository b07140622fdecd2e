import math

import pytest

from scheduling.pages.drawings import corners, layout_drawing

LAYOUT = {
    "panels_long": 2,
    "panels_wide": 1,
    "spacing_m": 3.0,
    "joints": [{"x1_m": 3, "y1_m": 0, "x2_m": 3, "y2_m": 4}],
}


def area_of(points):
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2


@pytest.mark.parametrize(
    ("section", "area_m2"),
    [
        ({"shape": "rectangle", "length_m": 6.0, "width_m": 4.0}, 24),
        ({"shape": "trapezoid", "length_m": 6.0, "side_b_m": 4.0, "width_m": 4.0}, 20),
        ({"shape": "circle", "diameter_m": 6.0}, math.pi * 9),
        ({"shape": "polygon", "corners_m": [[0, 0], [4, 0], [0, 3]]}, 6),
        ({"shape": "area", "area_m2": 25.0}, 25),
    ],
)
def test_every_shape_is_drawn_with_its_own_area(section, area_m2):
    assert area_of(corners(section)) == pytest.approx(area_m2, rel=0.005)


def test_a_joint_lies_where_it_is_cut_and_y_runs_up_as_on_a_drawing():
    section = {"shape": "polygon", "corners_m": [[0, 0], [6, 0], [6, 4], [0, 4]]}
    drawing = layout_drawing(section, LAYOUT, "Slab", lambda m: f"{m:g} m")
    (joint,) = drawing.joints
    assert joint.x1 == joint.x2 == pytest.approx(drawing.frame.middle_x, abs=0.2)
    assert joint.y1 > joint.y2
    assert drawing.said == "Slab, 6 m by 4 m: 2 by 1 panels, none over 3 m"
