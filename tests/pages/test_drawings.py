import math
from itertools import pairwise

import pytest

from scheduling.pages.drawings import corners, day_chart, layout_drawing

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


def hour(air=20.0, concrete=22.0, rate=0.5):
    return {"air_c": air, "concrete_c": concrete, "rate_kg_m2_h": rate}


def chart(hours, limit=None):
    return day_chart(hours, [f"{n} am" for n in range(len(hours))], limit, "{:.0f} C".format, "{:.2f}".format)


def test_bars_are_as_high_as_the_rates_and_the_limit_line_lies_at_its_rate():
    drawn = chart([hour(rate=0.5), hour(rate=1.0)], limit=2.0)
    low, high = drawn.bars
    assert high.height == pytest.approx(2 * low.height, rel=0.01)
    assert drawn.lower_base - drawn.limit.y == pytest.approx(2 * high.height, rel=0.01)


def test_what_is_not_known_is_not_drawn():
    drawn = chart([hour(), hour(air=None, rate=None), hour()])
    assert len(drawn.bars) == 2
    assert drawn.air.count("M") == 2
    assert drawn.concrete.count("M") == 1


def test_a_day_without_any_weather_is_no_chart_that_falls_over():
    blank = hour(air=None, concrete=None, rate=None)
    drawn = chart([blank, blank])
    assert (drawn.bars, drawn.ends, drawn.peak) == ((), (), None)


def test_labels_of_lines_that_end_together_are_apart():
    upper, lower = sorted(mark.y for mark in chart([hour(), hour(air=21.9)]).ends)
    assert lower - upper >= 14


def test_one_hour_is_too_little_to_draw():
    assert chart([hour()]) is None


def test_a_long_day_names_only_as_many_hours_as_have_room():
    marks = chart([hour()] * 20).hours
    assert all(after.x - mark.x >= 50 for mark, after in pairwise(marks))
