"""The picture of a pour's day, as it is drawn for a desk and for a phone."""

import re
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Units
from scheduling.pages.daychart import DESK, PHONE, Telling, day_pictures
from tests.pages.reading import html_of, text_of

START = datetime(2026, 9, 3, 11, tzinfo=UTC)  # six in the morning in Kansas City
TELLING = Telling("{:.0f} C".format, "{:.2f}".format, ZoneInfo("America/Chicago"), Units.US)


def at(hours):
    return (START + timedelta(hours=hours)).isoformat()


def sky(hours=12, **fields):
    usual = {"air_c": 20.0, "rain_chance": 0.0, "rain_mm": 0.0, "thunder_chance": 0.0, "gust_m_s": 3.0}
    return [{"at": at(n), **usual, **fields} for n in range(hours)]


def slab(*rates, concrete_c=22.0):
    return [{"at": at(n + 1), "concrete_c": concrete_c, "rate_kg_m2_h": rate} for n, rate in enumerate(rates)]


def plan(hours=None, weather=None, nights=()):
    return {
        "sky": {"hours": sky() if hours is None else hours, "nights": nights, "drying_limit_kg_m2_h": 1.0},
        "weather": slab(0.5, 0.5) if weather is None else weather,
        "starts_at": at(1),
        "placed_at": at(3),
        "delivery": {
            "loads": [
                {"number": 1, "arrives_at": at(1), "ends_at": at(2)},
                {"number": 2, "arrives_at": at(1.5), "ends_at": at(3)},
            ]
        },
        "finishing": {
            "passes": [
                {"kind": "power_float", "opens_at": at(4), "closes_at": at(6)},
                {"kind": "trowel", "opens_at": at(5), "closes_at": at(7)},
                {"kind": "trowel", "opens_at": at(6), "closes_at": at(8)},
            ]
        },
        "sawing": {"starts_at": at(9), "opens_at": at(9), "last_call_at": at(11.5)},
    }


def drawn(result, telling=TELLING):
    desk, phone = day_pictures(result, telling)
    return desk, phone


def boxes(picture, kind):
    return [box for box in picture.boxes if box.kind == kind]


def words(picture, kind):
    return [label.words for label in picture.labels if label.kind == kind]


def test_a_plan_from_before_the_sky_was_kept_has_no_picture():
    assert day_pictures({"weather": []}, TELLING) == ()


@pytest.mark.parametrize(("place", "sheet"), [(0, DESK), (1, PHONE)])
def test_everything_lies_on_one_clock(place, sheet):
    picture = drawn(plan())[place]
    an_hour = (sheet.width - sheet.right - sheet.left) / 12
    bands = {box.kind: box for box in picture.boxes if box.kind.startswith("band")}
    assert bands["band place"].x == pytest.approx(sheet.left + an_hour, abs=0.1)
    assert bands["band place"].width == pytest.approx(2 * an_hour, abs=0.2)
    assert bands["band cut"].x == pytest.approx(sheet.left + 9 * an_hour, abs=0.1)
    first, second = boxes(picture, "truck")
    assert first.x == pytest.approx(sheet.left + an_hour, abs=0.1)
    assert second.x == pytest.approx(sheet.left + 2 * an_hour, abs=0.1)  # its turn, not its arrival


def test_trucks_too_close_for_their_numbers_are_told_in_words_beside_them():
    desk, phone = drawn(plan(hours=sky(31)))
    assert words(phone, "truck-word") == ["2, 7:00–7:30 am"]
    assert words(desk, "truck-word") == ["1", "2"]


@pytest.mark.parametrize("place", [0, 1])
def test_nothing_is_drawn_outside_the_picture_and_no_two_hours_names_touch(place):
    picture = drawn(plan(hours=sky(31)))[place]
    assert min(box.x for box in picture.boxes) >= 0
    assert max(box.x + box.width for box in picture.boxes) <= picture.width
    assert all(0 <= label.y <= picture.height for label in picture.labels)
    hours = [label.x for label in picture.labels if label.kind == "hour"]
    assert all(later - earlier >= 40 for earlier, later in pairwise(hours))


def test_there_is_a_tick_every_hour_named_by_the_sites_clock():
    desk, _ = drawn(plan())
    assert (desk.ticks.count("M"), desk.grid.count("M")) == (13, 13)
    assert words(desk, "hour") == ["6 am", "7 am", "8 am", "9 am", "10 am", "11 am", "noon", "1 pm", "2 pm",
                                   "3 pm", "4 pm", "5 pm", "6 pm"]  # fmt: skip
    metric = Telling(TELLING.temperature, TELLING.drying, ZoneInfo("Europe/Oslo"), Units.METRIC)
    assert words(drawn(plan(), metric)[0], "hour")[0] == "13"


def test_bars_are_as_high_as_the_rates_and_the_limit_lies_at_its_rate():
    desk, _ = drawn(plan(weather=slab(0.25, 0.5)))
    low, high = boxes(desk, "dry")
    assert high.height == pytest.approx(2 * low.height, rel=0.02)
    (limit,) = (rule for rule in desk.rules if rule.kind == "limit")
    assert high.y + high.height - limit.y1 == pytest.approx(2 * high.height, rel=0.02)
    assert words(desk, "limit-word") == ["limit 1.00"]


def test_what_dries_too_fast_has_another_pattern_not_only_another_colour():
    desk, _ = drawn(plan(weather=slab(0.99, 1.0)))
    (over,) = boxes(desk, "over")
    assert over.fill == "too-dry"
    assert [box.fill for box in boxes(desk, "dry")] == [""]


def test_every_kind_of_work_has_its_own_pattern_and_its_name():
    desk, _ = drawn(plan())
    fills = [box.fill for box in desk.boxes if box.kind.startswith("band")]
    assert fills == ["wet-concrete", "floated", "trowelled", "trowelled", "sawn"]
    assert words(desk, "row") == ["trucks", "place", "float", "trowel 1", "trowel 2", "cut"]


def test_rain_is_drawn_by_its_chance_and_a_dry_day_says_so():
    wet = sky()
    wet[3] = {**wet[3], "rain_chance": 0.8, "thunder_chance": 0.4}
    desk, _ = drawn(plan(hours=wet))
    (bar,) = boxes(desk, "rain")
    assert bar.height == pytest.approx(0.8 * (DESK.rain - 2), abs=0.1)
    assert "80%" in words(desk, "scale")
    assert len(words(desk, "thunder")) == 1
    assert "dry" in words(drawn(plan())[0], "scale")


def test_what_is_not_known_is_not_drawn():
    gap = sky()
    gap[5] = {**gap[5], "air_c": None}
    desk, _ = drawn(plan(hours=gap, weather=[]))
    air, concrete = desk.paths
    assert (air.d.count("M"), concrete.d) == (2, "")
    assert words(desk, "unknown") == ["no forecast for it yet"]


def test_without_any_forecast_trucks_and_work_are_drawn_all_the_same():
    desk, _ = drawn(plan(hours=sky(air_c=None, rain_chance=None), weather=[]))
    assert len(words(desk, "unknown")) == 3
    assert len(boxes(desk, "truck")) == 2


def test_very_many_trucks_are_drawn_as_one():
    many = plan()
    load = many["delivery"]["loads"][0]
    many["delivery"]["loads"] = [{**load, "number": n} for n in range(1, 100)]
    desk, _ = drawn(many)
    assert len(boxes(desk, "truck")) == 1
    assert "99 trucks" in desk.said


def test_night_is_shaded():
    desk, _ = drawn(
        plan(nights=[{"opens_at": at(0), "closes_at": at(0.5)}, {"opens_at": at(10), "closes_at": at(12)}])
    )
    early, late = desk.nights
    assert late.x + late.width == pytest.approx(DESK.width - DESK.right, abs=0.2)
    assert early.x == DESK.left
    assert words(desk, "night-word") == ["night"]


def test_who_does_not_see_it_is_told_it():
    desk, phone = drawn(plan())
    assert desk.said == phone.said
    assert "chance of rain at most 0%; 2 trucks; place Thu 7:00 am to Thu 9:00 am; float" in desk.said


def test_the_page_carries_both_with_titles_and_every_pattern_they_use(page, pour):
    html = html_of(page.get(f"/pours/{pour.pk}/"))
    pictures = re.findall(r'<svg class="day-picture.*?</svg>', html, flags=re.S)
    assert [re.search(r"for-(\w+)", picture)[1] for picture in pictures] == ["desk", "phone"]
    for picture in pictures:
        assert re.search(r"<title[^>]*>The day of this pour, hour by hour</title><desc[^>]*>air ", picture)
    used = set(re.findall(r"url\(#([\w-]+)\)", "".join(pictures)))
    assert used
    assert used <= set(re.findall(r'<pattern id="([\w-]+)"', html))
    assert "Rain" in text_of(page.get(f"/pours/{pour.pk}/"))
