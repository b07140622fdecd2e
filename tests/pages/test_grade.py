from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Units
from scheduling.pages.grade import MOST_PADS, drop, grade_tables
from scheduling.pages.wording import Words
from tests import factories
from tests.pages.conftest import FT, IN, WALK
from tests.pages.reading import html_of, text_of

US, METRIC = (Words(units, ZoneInfo("UTC")) for units in (Units.US, Units.METRIC))
SLAB = {"shape": "rectangle", "length_m": 6.0, "width_m": 4.0}


def pad(x_m, y_m, height_m):
    return {"x_m": x_m, "y_m": y_m, "height_m": height_m, "rod_m": None}


def sheet(points):
    heights = [point["height_m"] for point in points]
    return {
        "points": points,
        "highest_m": max(heights),
        "lowest_m": min(heights),
        "fall_percent": 1.0,
    }


def plane(xs, ys):
    """Falling a centimetre a metre towards the back."""
    return sheet([pad(x, y, -0.01 * y) for y in ys for x in xs])


def tables(grades, sections=(SLAB,), words=US):
    return list(grade_tables({"grades": grades}, list(sections), words))


@pytest.mark.parametrize(
    ("lower_m", "feet_inches", "feet", "millimetres"),
    [
        (0.0, "0' 0\"", "0.000 ft", "0 mm"),
        (1.5 * IN, "0' 1 1/2\"", "0.125 ft", "38 mm"),
        (13.0625 * IN, "1' 1 1/16\"", "1.089 ft", "332 mm"),
    ],
)
def test_a_drop_is_said_three_ways_the_companys_own_first(lower_m, feet_inches, feet, millimetres):
    us, metric = drop(lower_m, US), drop(lower_m, METRIC)
    assert (us.first, *us.others) == (feet_inches, feet, millimetres)
    assert (metric.first, *metric.others) == (millimetres, feet_inches, feet)


def test_drops_count_from_the_high_edge_wherever_the_benchmark_is():
    grade = sheet([pad(0, 0, 1.25), pad(6, 0, 1.25), pad(0, 4, 1.20), pad(6, 4, 1.20)])
    (table,) = tables([grade], words=METRIC)
    assert [[one.first for one in row.drops] for row in table.rows] == [["50 mm"] * 2, ["0 mm"] * 2]


def test_a_grid_lies_as_it_is_drawn_the_back_on_top():
    (table,) = tables([plane((0, 3, 6), (0, 2, 4))], words=METRIC)
    assert table.columns == ("0 m", "3 m", "6 m")
    assert [row.up for row in table.rows] == ["4 m", "2 m", "0 m"]
    assert [row.drops[0].first for row in table.rows] == ["40 mm", "20 mm", "0 mm"]
    assert table.only_some == ""


def test_pads_that_make_no_grid_are_a_list():
    section = {"shape": "polygon", "corners_m": [[100, 200], [106, 200], [100, 204]]}
    grade = sheet([pad(100, 200, 0), pad(106, 200, 0), pad(100, 204, -0.04)])
    (table,) = tables([grade], [section], METRIC)
    assert table.columns == ()
    listed = [(row.up, row.along, row.drops[0].first) for row in table.rows]
    assert listed == [("4 m", "0 m", "40 mm"), ("0 m", "0 m", "0 mm"), ("0 m", "6 m", "0 mm")]


def test_too_many_pads_are_thinned_and_it_says_so():
    lines = [n * 0.5 for n in range(31)]
    (table,) = tables([plane(lines, lines)])
    shown = sum(len(row.drops) for row in table.rows)
    assert shown <= MOST_PADS < len(lines) ** 2
    assert table.rows[0].up == US.length(15.0)
    assert table.rows[-1].up == US.length(0.0)
    assert table.only_some == "One in 2 lines of pads is shown."


def test_level_sections_have_no_table_and_sloped_ones_keep_their_names():
    sections = [{**SLAB, "label": ""}, {**SLAB, "label": "ramp"}]
    (table,) = tables([None, plane((0, 6), (0, 4))], sections)
    assert table.title == "ramp"
    level = sheet([pad(0, 0, 0.0), pad(6, 0, 0.0)])
    assert tables([level]) == []
    assert list(grade_tables({}, sections, US)) == []


def test_the_walk_says_the_fall_of_its_drawing(page, pour):
    # WALK: falls 2 in over its 38 ft of width.
    text = text_of(page.get(f"/pours/{pour.pk}/"))
    card = text[text.index("Grade sheet") : text.index("Heat and drying")]
    assert "Falls 2 in altogether, 0.44%." in card
    assert "0' 2\" 0.167 ft 51 mm" in card
    assert "raise the receiver on the rod" in card


def test_a_metric_company_reads_millimetres_first(page, pour):
    factories.company(units=Units.METRIC)
    text = text_of(page.get(f"/pours/{pour.pk}/"))
    assert "51 mm 0' 2\" 0.167 ft" in text


def test_a_level_slab_has_no_grade_sheet(page, book):
    level = book(sections=[{**WALK, "depth_kind": "uniform", "fall_m": 0.0, "width_m": 30 * FT}])
    assert 'id="grade"' not in html_of(page.get(f"/pours/{level.pk}/"))
