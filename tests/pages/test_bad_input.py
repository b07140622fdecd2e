"""What cannot be is marked beside its field with what to change, and nothing typed is lost."""

import pytest

from scheduling.models import Job, Pour
from tests.pages.reading import fields_of, html_of, text_of
from tests.pages.test_booking import ADDRESS, job, walk  # noqa: F401 (fixtures)

# Of every field what it cannot be, and what is said about it beside the box.
WRONG = [
    ("people", "0", "from 1 to 60"),
    ("people", "61", "from 1 to 60"),
    ("people", "four", "from 1 to 60"),
    ("finishers", "0", "from 1 to 60"),
    ("power_trowels", "-1", "from 0 to 60"),
    ("trucks", "0", "from 1 to 200"),
    ("reach_m", "-5 ft", "must not be negative"),
    ("reach_m", "4000 ft", "at most"),
    ("haul_min", "-5", "from 0 to 600"),
    ("haul_min", "700", "from 0 to 600"),
    ("age_limit_min", "0", "from 1 to 600"),
    ("call_lead_min", "-10", "from 0 to 600"),
    ("concrete_c", "140 F", "32 °F to 113 °F"),
    ("joint_spacing_m", "2 in", "Give something from"),
    ("allowance_value", "80", "at most 50"),
    ("allowance_value", "-3", "must not be negative"),
    ("s0-length_m", "0", "more than nothing"),
    ("s0-length_m", "-52'", "must not be negative"),
    ("s0-width_m", "wide", "could not be read"),
    ("s0-depth_m", "0 in", "more than nothing"),
    ("s0-fall_m", "-2 in", "must not be negative"),
]


@pytest.mark.parametrize(("name", "text", "said"), WRONG)
@pytest.mark.parametrize("button", ["show", "book"])
def test_what_cannot_be_is_marked_beside_it_and_everything_typed_stays(
    page,
    walk,  # noqa: F811
    name,
    text,
    said,
    button,
):
    typed = {**walk, name: text}
    answer = page.post(ADDRESS, {**typed, button: "1"})
    assert answer.status_code == 400
    html = html_of(answer)
    assert said in html[html.index(f'name="{name}"') :][:700]
    kept = fields_of(answer)
    assert {field: kept[field] for field in typed} == typed
    assert not Pour.objects.exists()


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        # over 400 loads of 10 yd3
        ({"s0-length_m": "350'", "s0-width_m": "380'", "s0-depth_m": "10 in"}, "split it into several"),
        ({"s0-length_m": "3000'", "s0-width_m": "1000'", "s0-depth_m": "2 in"}, "check its sizes"),
    ],
)
@pytest.mark.parametrize("button", ["show", "book"])
def test_a_slab_past_any_pour_is_refused_with_what_to_change(page, walk, sizes, said, button):  # noqa: F811
    typed = {**walk, "s0-fall_m": "", "s0-depth_kind": "uniform", **sizes}
    answer = page.post(ADDRESS, {**typed, button: "1"})
    assert answer.status_code == 400
    assert said in text_of(answer)
    assert {field: fields_of(answer)[field] for field in typed} == typed
    assert not Pour.objects.exists()
    assert Job.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"reach_m": "100 ft"}, "a line pump"),
        ({"haul_min": "100"}, "find a nearer plant"),
        ({"method": "barrow", "carry_m": "190'", "people": "3"}, "order loads of about"),
        ({"trucks_front": "on"}, "find a second place for the truck to stand"),
    ],
)
def test_what_should_not_be_done_that_way_is_shown_with_a_cure(page, walk, given, said):  # noqa: F811
    answer = page.post(ADDRESS, {**walk, **given, "show": "1"})
    assert answer.status_code == 200
    assert said in text_of(answer)
