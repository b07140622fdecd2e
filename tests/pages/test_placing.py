"""What the office says of the placing beyond the method, from the form to the pour's page."""

import re

import pytest

from scheduling.models import Pour
from scheduling.pages.placing import stands_words
from tests.pages.conftest import FT, IN
from tests.pages.reading import fields_of, html_of, text_of
from tests.pages.test_booking import ADDRESS, job, typed, walk  # noqa: F401 (fixtures)

YD3 = 0.9144**3


def rate_of(answer) -> float:
    """The yards an hour that the shown plan says are placed."""
    return float(re.search(r"Together they place ([\d.]+) yd³/h", text_of(answer))[1])


def test_a_barrow_wheeled_far_and_uphill_places_slower(page, walk):  # noqa: F811
    near = rate_of(page.post(ADDRESS, {**walk, "method": "barrow", "carry_m": "40'", "show": "1"}))
    far = rate_of(page.post(ADDRESS, {**walk, "method": "barrow", "carry_m": "150'", "show": "1"}))
    climbing = {"carry_m": "150'", "rise_m": "15'"}
    uphill = rate_of(page.post(ADDRESS, {**walk, "method": "barrow", **climbing, "show": "1"}))
    assert near > far > uphill


def test_what_was_said_is_kept_and_stands_on_the_pours_page(page, walk):  # noqa: F811
    said = {
        "method": "barrow",
        "screed": "vibrating",
        "carry_m": "60 ft",
        "rise_m": "2'",
        "barrow_m3": "6 ft3",
        "carts": "3",
        "slump_mm": "5",
        "slope": "1/4 in per ft",
        "fibres": "on",
        "trucks_left": "on",
        "trucks_right": "on",
    }
    answer = page.post(ADDRESS, {**walk, **said, "book": "1"}, follow=True)
    pour = Pour.objects.get()
    assert pour.screed == "vibrating"
    assert pour.carry_m == pytest.approx(60 * FT)
    assert pour.barrow_m3 == pytest.approx(6 * FT**3)
    assert pour.slump_mm == pytest.approx(5 * 25.4)
    assert pour.slope == pytest.approx(0.25 / 12)
    assert pour.truck_sides == ["left", "right"]
    text = text_of(answer)
    for words in (
        "Wheeled 60' 0\" one way, climbing 2' 0\"",
        "Slump 5 in",
        "Top slopes 1/4 in per ft",
        "A vibrating screed",
        "Trucks can stand Left, right",
    ):
        assert words in text


def test_a_pumps_line_and_moves_are_counted_in_the_plan(page, walk):  # noqa: F811
    pump = {**walk, "method": "line_pump", "show": "1"}
    plain = text_of(page.post(ADDRESS, pump))
    moved = text_of(page.post(ADDRESS, {**pump, "line_m": "300 ft", "hose_moves": "4", "pump_moves": "1"}))
    assert "5 moves in the pour stop placing" in moved
    assert "5 moves" not in plain
    assert rate_of(page.post(ADDRESS, {**pump, "line_m": "300 ft"})) < rate_of(page.post(ADDRESS, pump))


def test_left_alone_the_booking_says_nothing_of_it(page, walk):  # noqa: F811
    page.post(ADDRESS, {**walk, "book": "1"})
    pour = Pour.objects.get()
    unsaid = ("carry_m", "rise_m", "barrow_m3", "carts", "line_m", "hose_moves", "slump_mm", "slope")
    assert all(getattr(pour, name) is None for name in unsaid)
    assert (pour.screed, pour.truck_sides, pour.fibres) == ("hand", [], False)


def test_the_details_are_folded_until_something_is_said_in_them(page, walk):  # noqa: F811
    closed = html_of(page.post(ADDRESS, {**walk, "show": "1"}))
    assert "<details><summary>More about the placing" in closed
    opened = html_of(page.post(ADDRESS, {**walk, "carts": "2", "show": "1"}))
    assert "<details open><summary>More about the placing" in opened


def test_trucks_at_the_front_alone_leave_the_far_bays_out_of_reach(page, walk):  # noqa: F811
    front = text_of(page.post(ADDRESS, {**walk, "trucks_front": "on", "show": "1"}))
    assert "with trucks where you said, concrete gets to" in front
    base = {**walk, "trucks_front": "on", "trucks_on_base": "on", "show": "1"}
    assert "with trucks where you said" not in text_of(page.post(ADDRESS, base))


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("carry_m", "-5 ft", "negative"),
        ("carry_m", "2 mi", "units: ft"),
        ("carry_m", "5000 ft", "at most"),
        ("barrow_m3", "40 ft3", "yd3"),
        ("slope", "1/4", "1/4 in per ft"),
        ("slope", "80 %", "at most"),
        ("slump_mm", "20 in", "at most"),
        ("carts", "0", "from 1 to 60"),
        ("hose_moves", "-1", "from 0 to 100"),
        ("pump_moves", "many", "from 0 to 20"),
    ],
)
def test_what_cannot_be_is_marked_where_it_stands_and_kept(page, walk, name, text, said):  # noqa: F811
    answer = page.post(ADDRESS, {**walk, name: text, "book": "1"})
    assert answer.status_code == 400
    html = html_of(answer)
    assert said in html[html.index(f'name="{name}"') :][:700]
    assert fields_of(answer)[name] == text
    assert not Pour.objects.exists()


def test_half_an_inch_of_slump_typed_without_a_unit_is_in_inches(page, walk):  # noqa: F811
    page.post(ADDRESS, {**walk, "slump_mm": "3 1/2", "book": "1"})
    assert Pour.objects.get().slump_mm == pytest.approx(3.5 * IN * 1000)


@pytest.mark.parametrize(
    ("sides", "on_base", "said"),
    [
        ([], False, "Trucks are taken to stand along the bottom edge of the drawing."),
        (["front"], False, "Trucks can stand along the bottom edge of the drawing."),
        (["left", "back"], False, "Trucks can stand along the left and top edges of the drawing."),
        (["right"], True, "Trucks can stand along the right edge of the drawing and on the base."),
        ([], True, "Trucks can stand on the base."),
    ],
)
def test_the_drawing_of_the_bays_says_where_trucks_stand(sides, on_base, said):
    assert stands_words(Pour(truck_sides=sides, trucks_on_base=on_base)) == said


def test_the_pours_page_says_it_beside_the_bays(page, book):
    text = text_of(page.get(f"/pours/{book(truck_sides=['left', 'right']).pk}/"))
    assert "Trucks can stand along the left and right edges of the drawing." in text
