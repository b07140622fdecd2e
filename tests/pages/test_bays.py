import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Plan, Units
from scheduling.pages.bays import MOST_DRAWN, MOST_IN_THE_OPEN, MOST_ROWS, bays_words, loads_said
from scheduling.pages.wording import Words
from tests.pages.conftest import FT
from tests.pages.reading import html_of, text_of

ZONE = ZoneInfo("America/Chicago")
WORDS = Words(Units.US, ZONE)
START = datetime(2026, 9, 3, 12, 0, tzinfo=UTC)


def bay(number, **said):
    """A bay of 10 by 10 ft, one beside the other."""
    left = 10 * FT * (number - 1)
    start = START + timedelta(minutes=5 * (number - 1))
    side = 10 * FT
    return {
        "number": number,
        "section": 1,
        "strip": number,
        "corners_m": [[left, 0], [left + side, 0], [left + side, side], [left, side]],
        "width_m": side,
        "length_m": side,
        "volume_m3": 1.5,
        "strike_off_min": 3.0,
        "loads": [1],
        "starts_at": start.isoformat(),
        "ends_at": (start + timedelta(minutes=5)).isoformat(),
        **said,
    }


def plan(bays, loads=1):
    load = {"m3": 7.6, "starts_at": START.isoformat(), "ends_at": (START + timedelta(hours=1)).isoformat()}
    return {
        "bays": {"bays": bays, "strike_width_m": 14 * FT},
        "delivery": {"loads": [{**load, "number": n} for n in range(1, loads + 1)]},
    }


def told(bays, loads=1, sections=None):
    slab = {"shape": "rectangle", "length_m": 10 * FT * len(bays), "width_m": 10 * FT}
    return bays_words(plan(bays, loads), sections or [slab], ZONE, WORDS)


def corners_of(path):
    return [tuple(map(float, point.split())) for point in path.strip("MZ").split("L")]


def test_each_bay_says_its_size_loads_and_times():
    first, second = told([bay(1), bay(2, loads=[1, 2])], loads=2).rows
    assert (first.number, first.size, first.strike_off) == ("1", "10' 0\" by 10' 0\"", "3 min")
    assert (first.loads, first.when) == ("1", "7:00–7:05 am")
    assert second.loads == "1, 2"


def test_bays_are_drawn_to_scale_with_their_numbers_inside():
    (drawing,) = told([bay(n) for n in range(1, 5)]).drawings
    assert [shape.number for shape in drawing.bays] == [1, 2, 3, 4]
    widths = set()
    for shape in drawing.bays:
        xs, ys = zip(*corners_of(shape.path), strict=True)
        widths.add(round(max(xs) - min(xs)))
        assert min(xs) < shape.x < max(xs)
        assert min(ys) < shape.y < max(ys)
        assert max(xs) - min(xs) == pytest.approx(max(ys) - min(ys), abs=0.2)
    assert len(widths) == 1


def test_a_number_stands_within_a_bay_whose_corners_are_not_a_box():
    triangle = bay(1, corners_m=[[0, 0], [6, 0], [0, 3]])
    section = {"shape": "polygon", "corners_m": triangle["corners_m"]}
    ((shape,),) = (drawing.bays for drawing in told([triangle], sections=[section]).drawings)
    left, bottom = corners_of(shape.path)[0]
    right, top = corners_of(shape.path)[1][0], corners_of(shape.path)[2][1]
    assert (shape.x - left) / (right - left) + (bottom - shape.y) / (bottom - top) < 1


def test_bays_of_another_truck_are_shaded_otherwise():
    (drawing,) = told([bay(1), bay(2, loads=[2])], loads=2).drawings
    assert [shape.is_odd for shape in drawing.bays] == [True, False]


def test_a_load_is_left_out_of_a_bay_too_small_for_it():
    (few,), (many,) = (told([bay(n) for n in range(1, count)]).drawings for count in (4, 30))
    assert all(shape.load == "load 1" for shape in few.bays)
    assert all(shape.load == "" for shape in many.bays)


def test_a_long_table_is_folded_away_and_a_very_long_one_has_a_row_a_load():
    open_one, folded = (told([bay(n) for n in range(1, count + 1)]) for count in (MOST_IN_THE_OPEN, 41))
    assert (open_one.is_folded, folded.is_folded) == (False, True)
    count = MOST_ROWS + 1
    bays = [bay(n, loads=[1] if n < 100 else [1, 2] if n == 100 else [2]) for n in range(1, count + 1)]
    by_load = told(bays, loads=2)
    assert [(row.loads, row.number) for row in by_load.rows] == [("1", "1–100"), ("2", f"100–{count}")]
    assert by_load.drawings
    minutes = sum(int(row.strike_off.split()[0]) for row in by_load.rows)
    assert minutes == pytest.approx(3 * count, abs=1)


def test_bays_past_what_can_be_read_are_not_drawn():
    assert told([bay(n) for n in range(1, MOST_DRAWN + 2)]).drawings == ()


def test_a_plan_kept_before_there_were_bays_shows_none():
    assert bays_words({}, [{"shape": "area", "area_m2": 9.0}], ZONE, WORDS) is None


def test_bays_without_times_show_none():
    (row,) = told([bay(1, starts_at=None, ends_at=None)]).rows
    assert row.when == ""


@pytest.mark.parametrize(
    ("loads", "said"), [([2], "load 2"), ([2, 3], "loads 2, 3"), ([2, 3, 4], "loads 2–4")]
)
def test_loads_are_said_shortly(loads, said):
    assert loads_said(loads, "load ") == said


def test_the_pour_page_shows_every_bay_once_drawn_and_once_in_the_table(page, pour):
    html = html_of(page.get(f"/pours/{pour.pk}/"))
    card = html[html.index('id="bays"') : html.index('id="grade"')]
    count = len(pour.plan.result["bays"]["bays"])
    assert card.count('<path class="bay') == count
    assert card.count('<tr><th scope="row">') == count
    assert re.findall(r'font-size="[\d.]+">(\d+)</text>', card) == [str(n + 1) for n in range(count)]


def test_sections_are_drawn_each_and_named(page, book):
    slab = {"shape": "rectangle", "width_m": 3.0, "depth_kind": "uniform", "depth_m": 0.1}
    two = book(sections=[{**slab, "length_m": 3.0, "label": "patio"}, {**slab, "length_m": 8.0}])
    answer = page.get(f"/pours/{two.pk}/")
    assert html_of(answer).count('<svg class="bay-map"') == 2
    assert "Bays of patio" in html_of(answer)
    assert "Bays of Section 2" in html_of(answer)
    assert "Bays" in text_of(answer)


def test_a_plan_of_an_older_engine_still_has_a_page(page, pour):
    older = {name: part for name, part in pour.plan.result.items() if name not in ("bays", "grades")}
    Plan.objects.update(result=older)
    html = html_of(page.get(f"/pours/{pour.pk}/"))
    assert 'id="trucks"' in html
    assert 'id="bays"' not in html
    assert 'id="grade"' not in html


def test_a_very_large_slab_keeps_the_page_light(page, book):
    hall = {"length_m": 90.0, "width_m": 60.0, "depth_kind": "falling_top", "depth_m": 0.2, "fall_m": 0.05}
    answer = page.get(f"/pours/{book(sections=[hall]).pk}/")
    assert "Which load fills which bays" in text_of(answer)
    assert len(answer.content) < 200_000
