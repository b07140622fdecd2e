"""What the office says of ingredients, base and shade, from the form to the plan."""

import re

import pytest

from scheduling.models import Pour, SlabSection
from tests.pages.reading import fields_of, html_of, text_of
from tests.pages.test_booking import ADDRESS, job, typed, walk  # noqa: F401 (fixtures)

STOP = "No concrete goes on frozen ground"


def test_they_stand_tucked_away_and_empty(page):
    ready = fields_of(page.get(ADDRESS))
    for name in ("water_c", "aggregate_c", "ice_kg_m3", "base_c"):
        assert ready[name] == ""
    assert "base_frozen" not in ready
    assert "s0-shaded" not in ready
    folded = re.findall(r"<details>.*?</details>", html_of(page.get(ADDRESS)), re.DOTALL)
    for name in ("water_c", "ice_kg_m3", "base_c", "base_frozen", "s0-shaded"):
        assert any(f'name="{name}"' in part for part in folded), name


def test_what_is_said_is_kept(page, walk, mix):  # noqa: F811
    mix.cement_kg_m3, mix.water_kg_m3, mix.aggregate_kg_m3 = 335.0, 123.0, 1839.0
    mix.save()
    said = {
        "water_c": "80",
        "aggregate_c": "80 F",
        "ice_kg_m3": "30 lb/yd3",
        "base_c": "50",
        "blankets": "on",
        "s0-shaded": "on",
    }
    answer = page.post(ADDRESS, {**walk, **said, "book": "1"}, follow=True)
    pour = Pour.objects.get()
    assert (pour.water_c, pour.aggregate_c) == (pytest.approx(26.667, abs=0.001),) * 2
    assert (pour.base_c, pour.base_frozen, pour.blankets) == (pytest.approx(10.0), False, True)
    assert pour.ice_kg_m3 == pytest.approx(30 * 0.45359237 / 0.764554858)
    assert SlabSection.objects.get().shaded is True
    assert STOP not in text_of(answer)


@pytest.mark.parametrize("said", [{"base_c": "30"}, {"base_c": "-1 C"}, {"base_frozen": "on"}])
def test_a_frozen_base_stops_the_pour_on_the_page(page, walk, said):  # noqa: F811
    # ACI 306R: never on frozen ground, whatever the air
    shown = page.post(ADDRESS, {**walk, **said, "show": "1"})
    assert STOP in text_of(shown)
    assert re.search(r"<details open><summary>More about the work", html_of(shown))


def test_a_base_nobody_can_have_read_is_marked_in_its_field(page, walk):  # noqa: F811
    shown = page.post(ADDRESS, {**walk, "base_c": "300", "show": "1"})
    assert "Nothing is booked yet" in text_of(shown)
    assert re.search(r"<details open><summary>More about the work", html_of(shown))
