"""The top as a plane."""

import math

import pytest

from scheduling.engine.inputs import (
    BadInput,
    Circle,
    FallingBase,
    FallingTop,
    PlainArea,
    Polygon,
    Rectangle,
    Section,
    SpotDepths,
    UniformDepth,
)
from scheduling.engine.surface import drawn_outline, surface_of

PAD = Rectangle(12.0, 8.0)


@pytest.mark.parametrize(
    ("towards_deg", "high", "low"),
    [(90, (6, 0), (6, 8)), (0, (0, 4), (12, 4)), (180, (12, 4), (0, 4)), (270, (6, 8), (6, 0))],
)
def test_the_top_falls_from_one_side_to_the_other(towards_deg, high, low):
    surface = surface_of(Section(PAD, FallingBase(0.1, 0.06, towards_deg)))
    assert surface.drop_m(*high) == pytest.approx(0)
    assert surface.drop_m(*low) == pytest.approx(0.06)
    assert surface.depth_m(*high) == surface.depth_m(*low) == 0.1


def test_a_fall_over_the_corner_runs_over_the_whole_diagonal():
    surface = surface_of(Section(Rectangle(6.0, 6.0), FallingTop(0.1, 0.04, 45.0)))
    assert surface.run_m == pytest.approx(6 * math.sqrt(2))
    assert surface.drop_m(0, 6) == pytest.approx(0.02)  # the other corners lie half way down
    assert surface.depth_m(0, 0) == pytest.approx(0.14)  # thickest at the high corner: the base is flat
    assert surface.depth_m(6, 6) == pytest.approx(0.1)


@pytest.mark.parametrize("depth", [UniformDepth(0.12), SpotDepths((0.11, 0.13))])
def test_without_a_fall_the_top_is_level(depth):
    surface = surface_of(Section(PAD, depth))
    assert surface.drop_m(3, 7) == 0
    assert surface.depth_m(3, 7) == pytest.approx(0.12)


def test_an_area_without_an_outline_is_drawn_as_a_square():
    assert drawn_outline(PlainArea(49.0)).bounds == (0, 0, 7, 7)
    with pytest.raises(BadInput) as caught:
        drawn_outline(PlainArea(1e6))
    assert caught.value.field == "area_m2"


def test_a_polygon_away_from_its_origin_falls_over_its_own_extent():
    away = Polygon(((10, 5), (16, 5), (16, 9), (10, 9)))
    surface = surface_of(Section(away, FallingBase(0.1, 0.03, 0.0)))
    assert surface.drop_m(10, 5) == pytest.approx(0)
    assert surface.drop_m(13, 9) == pytest.approx(0.015)


def test_a_direction_that_is_no_number_is_refused():
    with pytest.raises(BadInput) as caught:
        surface_of(Section(Circle(4.0), FallingTop(0.1, 0.05, math.nan)))
    assert caught.value.field == "towards_deg"
