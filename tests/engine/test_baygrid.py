"""Bays and the order they are placed in."""

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.baygrid import LONGEST_BAY_M, MOST_BAYS, TruckStand, bay_cells
from scheduling.engine.inputs import BadInput, Circle, PlainArea, Polygon, Rectangle, Side, Trapezoid
from scheduling.engine.surface import drawn_outline

FT = 0.3048
BOARD_M = 14 * FT
CHUTE_M = 12 * FT  # down the chute of a rear-discharge truck: a US ready-mix supplier
PUMP_M = math.inf
SLAB = Rectangle(52 * FT, 38 * FT)
ELL = Polygon(((0, 0), (16, 0), (16, 6), (7, 6), (7, 13), (0, 13)))
COMB = Polygon(
    ((0, 0), (15, 0), (15, 9), (11, 9), (11, 4), (8, 4), (8, 9), (3, 9), (3, 2), (2, 2), (2, 9), (0, 9))
)


def cells_of(outline, stand=None, reach_m=PUMP_M, board_m=BOARD_M):
    return bay_cells(outline, board_m, stand or TruckStand(), reach_m)[0]


def outlines():
    side = st.floats(0.5, 60)
    return st.one_of(
        st.builds(Rectangle, side, side),
        st.builds(Trapezoid, side, st.floats(0, 60), side),
        st.builds(Circle, side),
        st.builds(PlainArea, st.floats(0.5, 3000)),
        st.floats(0.3, 3).map(lambda k: Polygon(tuple((k * x, k * y) for x, y in ELL.corners_m))),
        st.floats(0.3, 3).map(lambda k: Polygon(tuple((k * x, k * y) for x, y in COMB.corners_m))),
    )


def stands():
    point = st.tuples(st.floats(-5, 40), st.floats(-5, 40))
    return st.builds(TruckStand, st.sampled_from(Side), st.lists(point, max_size=4).map(tuple))


def away_m(side, x, y, bounds):
    """How far a place lies from the side the trucks come from."""
    west, south, east, north = bounds
    return {Side.FRONT: y - south, Side.BACK: north - y, Side.LEFT: x - west, Side.RIGHT: east - x}[side]


# --- cutting ----------------------------------------------------------------------------------


def test_a_slab_52_by_38_feet_under_a_14_foot_board_makes_four_strips_of_13_feet():
    cells, grid = bay_cells(SLAB, BOARD_M, TruckStand(), PUMP_M)
    assert grid.x_m == pytest.approx([n * 13 * FT for n in range(5)])
    assert grid.y_m == pytest.approx([n * 38 / 3 * FT for n in range(4)])  # 18 ft is the longest pull
    assert [cell.strip for cell in cells] == [1] * 3 + [2] * 3 + [3] * 3 + [4] * 3
    assert {round(cell.width_m / FT, 6) for cell in cells} == {13}


def test_bays_are_no_longer_than_the_chute_reaches():
    cells = cells_of(SLAB, reach_m=CHUTE_M)
    assert len(cells) == 16
    assert {round(cell.length_m / FT, 6) for cell in cells} == {9.5}


@given(
    outline=outlines(),
    stand=stands(),
    board_m=st.floats(1, 8),
    reach_m=st.sampled_from([2.0, CHUTE_M, PUMP_M]),
)
def test_bays_cover_the_section_once_and_none_is_wider_than_the_board(outline, stand, board_m, reach_m):
    cells = cells_of(outline, stand, reach_m, board_m)
    polygon = drawn_outline(outline)
    assert math.fsum(cell.area_m2 for cell in cells) == pytest.approx(polygon.area, rel=1e-9)
    pieces = [shapely.Polygon(cell.corners_m) for cell in cells]
    assert shapely.union_all(pieces).area == pytest.approx(polygon.area, rel=1e-6)
    assert max(cell.width_m for cell in cells) <= board_m + 1e-6


@pytest.mark.parametrize("outline", [Circle(40 * FT), ELL, COMB, Trapezoid(15, 6, 9)])
def test_no_strip_leaves_a_sliver_beside_a_bay_it_could_go_with(outline):
    cells = cells_of(outline)
    usual_m2 = BOARD_M * LONGEST_BAY_M
    for small in (cell for cell in cells if cell.area_m2 < 0.1 * usual_m2):
        piece = shapely.Polygon(small.corners_m)
        mates = [
            shapely.Polygon(cell.corners_m) for cell in cells if cell.strip == small.strip and cell != small
        ]
        assert all(piece.intersection(mate).length < 1e-6 for mate in mates)


def test_a_walk_no_wider_than_the_board_is_cut_along_its_length():
    cells = cells_of(Rectangle(100 * FT, 4 * FT), reach_m=CHUTE_M)
    assert len(cells) == 6
    assert all(cell.width_m == pytest.approx(4 * FT) for cell in cells)
    assert all(cell.length_m == pytest.approx(100 / 6 * FT) for cell in cells)
    assert all(cell.needed_m == pytest.approx(4 * FT) for cell in cells)


# --- the order --------------------------------------------------------------------------------


@given(outline=outlines(), stand=stands(), board_m=st.floats(1, 8))
def test_no_bay_is_placed_before_one_behind_it_in_its_strip(outline, stand, board_m):
    bounds = drawn_outline(outline).bounds
    cells = cells_of(outline, stand, PUMP_M, board_m)
    near = [min(away_m(stand.side, x, y, bounds) for x, y in cell.corners_m) for cell in cells]
    for (first, first_m), (second, second_m) in pairwise(zip(cells, near, strict=True)):
        assert second.strip in (first.strip, first.strip + 1)
        if second.strip == first.strip:
            assert second_m <= first_m + 1e-9


@pytest.mark.parametrize(
    ("side", "first", "last"),
    [
        (Side.FRONT, (0, 38), (52, 0)),
        (Side.BACK, (0, 0), (52, 38)),
        (Side.LEFT, (52, 0), (0, 38)),
        (Side.RIGHT, (0, 0), (52, 38)),
    ],
)
def test_the_far_end_comes_first_and_the_trucks_own_side_last(side, first, last):
    cells = cells_of(SLAB, TruckStand(side))
    for cell, corner in ((cells[0], first), (cells[-1], last)):
        assert any(math.dist(at, [c * FT for c in corner]) < 1e-6 for at in cell.corners_m)


def test_a_truck_in_one_corner_is_worked_towards_from_the_other():
    cells = cells_of(SLAB, TruckStand(points_m=((-1.0, -1.0),)))
    starts = [min(x for x, _ in cell.corners_m) for cell in cells]
    assert starts == sorted(starts, reverse=True)


def test_a_truck_before_the_middle_is_worked_towards_from_both_ends():
    cells = cells_of(SLAB, TruckStand(points_m=((30 * FT, -2.0),)))
    starts = {cell.strip: round(min(x for x, _ in cell.corners_m) / FT) for cell in cells}
    assert starts == {1: 0, 2: 13, 3: 39, 4: 26}


# --- what trucks reach ------------------------------------------------------------------------


def test_from_the_front_a_bay_needs_its_far_edge():
    needed = [cell.needed_m / FT for cell in cells_of(SLAB, reach_m=CHUTE_M)][:4]
    assert needed == pytest.approx([38, 28.5, 19, 9.5])


def test_from_one_spot_a_bay_needs_its_farthest_corner():
    (cell,) = cells_of(Rectangle(3.0, 4.0), TruckStand(points_m=((0.0, -1.0),)))
    assert cell.needed_m == pytest.approx(math.hypot(3, 5))


def test_a_truck_on_the_base_stands_against_the_bay_and_draws_back():
    # 13 ft strips of 9.5 ft bays: from the middle of the near edge hypot(6.5, 9.5) = 11.51 ft
    lanes = TruckStand(points_m=tuple(((6.5 + 13 * n) * FT, 30 * FT) for n in range(4)))
    cells = cells_of(SLAB, lanes, CHUTE_M)
    assert [cell.needed_m / FT for cell in cells] == pytest.approx([math.hypot(6.5, 9.5)] * 16)


def test_a_truck_never_stands_on_placed_concrete():
    # One lane in the first of four strips, drawn from both ends towards it: its own strip comes last,
    # so every other strip is served from the whole lane, and its own only from what is not yet placed.
    one = TruckStand(points_m=((6.5 * FT, 37 * FT),))
    cells = cells_of(SLAB, one, PUMP_M)
    own = [cell for cell in cells if cell.strip == 4]
    assert [min(x for x, _ in cell.corners_m) for cell in own] == [0, 0, 0]
    assert own[0].needed_m / FT == pytest.approx(math.hypot(6.5, 38 / 3))
    others = [cell for cell in cells if cell.strip == 3]
    assert others[-1].needed_m / FT == pytest.approx(19.5)  # straight across: the lane is free


def test_a_lane_over_a_strip_already_placed_is_left_at_the_side():
    # Two strips of 10 ft: the lane of the left one is astride both, so the first placed closes it.
    stand = TruckStand(points_m=((10 * FT, 30 * FT), (19 * FT, 30 * FT)))
    cells = cells_of(Rectangle(20 * FT, 36 * FT), stand, PUMP_M, 10 * FT)
    last = [cell for cell in cells if cell.strip == 2]
    in_right_lane = math.hypot(9, 18)
    assert last[0].needed_m / FT == pytest.approx(in_right_lane)


# --- what cannot be ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("strike_width_m", {"board_m": 0}),
        ("reach_m", {"reach_m": 0}),
        ("reach_m", {"reach_m": math.nan}),
        ("outline", {"outline": Rectangle(100_000, 1)}),
    ],
)
def test_what_cannot_be_cut_is_refused_by_name(field, change):
    asked = {"outline": SLAB, "reach_m": PUMP_M, "board_m": BOARD_M} | change
    if field == "outline":
        asked["board_m"] = 0.5
    with pytest.raises(BadInput) as caught:
        cells_of(**asked)
    assert caught.value.field == field


def test_a_slab_past_counting_names_the_outline():
    with pytest.raises(BadInput, match=str(MOST_BAYS)):
        cells_of(Rectangle(300, 300), board_m=0.5)


def test_a_place_for_a_truck_must_be_two_numbers():
    with pytest.raises(BadInput) as caught:
        TruckStand(points_m=((0.0, math.inf),))
    assert caught.value.field == "points_m"


# --- several sides, and the base ---------------------------------------------------------------


def test_between_two_sides_the_middle_is_the_farthest():
    # 38 ft between front and back: nothing lies more than 19 ft from a truck
    cells = cells_of(SLAB, TruckStand(Side.FRONT, also=(Side.BACK,)), CHUTE_M)
    assert max(cell.needed_m for cell in cells) == pytest.approx(19 * FT)


def test_from_a_corner_the_nearer_of_two_sides_counts():
    cells = cells_of(SLAB, TruckStand(Side.FRONT, also=(Side.LEFT,)), CHUTE_M)
    assert max(cell.needed_m for cell in cells) == pytest.approx(38 * FT)  # at the far right corner
    assert min(cell.needed_m for cell in cells) <= 13 * FT  # the strip along the left


@given(outlines(), st.sampled_from(Side), st.lists(st.sampled_from(Side), max_size=3).map(tuple))
def test_one_more_side_never_takes_a_bay_out_of_reach(outline, side, also):
    alone = {cell.corners_m: cell.needed_m for cell in cells_of(outline, TruckStand(side))}
    more = {cell.corners_m: cell.needed_m for cell in cells_of(outline, TruckStand(side, also=also))}
    assert alone.keys() == more.keys()
    assert all(more[corners] <= alone[corners] + 1e-9 for corners in alone)


def test_a_truck_on_the_base_needs_no_more_than_half_a_strip():
    cells = cells_of(SLAB, TruckStand(on_base=True), CHUTE_M)
    assert max(cell.needed_m for cell in cells) == pytest.approx(min(13, 38 / 4) / 2 * FT)
