"""What happened to a pour: who changed what, from what to what, in plain words."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Company, EventKind
from scheduling.pages.history import happenings, section_words
from scheduling.pages.wording import Words
from scheduling.services import booking
from tests import factories
from tests.pages.conftest import FT, IN, THURSDAY, WALK
from tests.pages.reading import text_of

pytestmark = [pytest.mark.django_db]


@pytest.fixture
def change(pour, office):
    """Changes the pour as its reader knows it."""

    def _change(**said):
        pour.refresh_from_db()
        version, now = pour.version, factories.NOW + timedelta(minutes=pour.version)
        return booking.change_pour(
            pour=pour, version=version, by=office, now=now, accept_clashes=True, **said
        )

    return _change


def told(page, pour):
    text = text_of(page.get(f"/pours/{pour.pk}/?all"))
    return text[text.index("What happened (") : text.index("Plans made (")]


def test_a_crew_and_people_are_told_from_what_to_what(page, pour, change):
    change(crew=factories.crew(name="Birch", people=7), people=6)
    said = told(page, pour)
    assert "Crew from Ash to Birch" in said
    assert "People placing from 5 to 6" in said
    assert "Maren Tollgard" in said


def test_a_move_tells_both_times_on_the_sites_clock(page, pour, change):
    change(starts_at=THURSDAY + timedelta(hours=25, minutes=30))
    assert "Start from Thu, Sep 3, 7:00 am to Fri, Sep 4, 8:30 am" in told(page, pour)


def test_lengths_are_told_as_the_company_measures(page, pour, change):
    wider = {**WALK, "width_m": 40 * FT, "depth_m": 6 * IN}
    change(sections=[wider])
    was, became = "52' 0\" by 38' 0\", 5 in deep, falling 2 in", "52' 0\" by 40' 0\", 6 in deep, falling 2 in"
    assert f"Section 1 from {was} to {became}" in told(page, pour)
    Company.objects.update(units="metric")
    assert "to 15.85 m by 12.19 m, 152 mm deep" in told(page, pour)


def test_a_section_added_and_one_taken_out_are_told(page, pour, change):
    porch = {"label": "porch", "length_m": 10 * FT, "width_m": 6 * FT, "depth_m": 4 * IN}
    change(sections=[WALK, porch])
    assert "Porch added, 10' 0\" by 6' 0\", 4 in deep" in told(page, pour)
    change(sections=[WALK])
    assert "Porch taken out, 10' 0\" by 6' 0\"" in told(page, pour)


def test_what_nobody_said_before_is_told_as_not_said(page, pour, change):
    change(reach_m=3.6576, hold_last_load=False)
    said = told(page, pour)
    assert "Reach from not said to 12' 0\"" in said
    assert "Last load held from yes to no" in said


def test_what_came_of_one_step_stands_together_the_latest_first(page, pour, change):
    change(people=4)
    events = list(pour.events.select_related("by"))
    rows = happenings(events, ZoneInfo("America/Chicago"), Words.of(Company.objects.first()))
    assert [row.what[0] for row in rows] == ["changed", "booked"]
    assert rows[0].what[1:] == ("planned, plan 2", "order revised, order 2")
    assert rows[0].by == "Maren Tollgard"


def test_an_event_from_before_both_were_kept_tells_what_it_was_about(page, pour):
    facts = {"fields": ["crew", "people"], "starts_at": THURSDAY.isoformat()}
    pour.events.create(kind=EventKind.CHANGED, at=factories.NOW + timedelta(hours=1), by=None, facts=facts)
    said = told(page, pour)
    assert "People placing changed" in said
    assert "by itself" in said


@pytest.mark.parametrize(
    ("section", "said"),
    [
        ({"shape": "circle", "diameter_m": 22 * FT, "depth_m": 6 * IN}, "22' 0\", 6 in deep"),
        ({"shape": "polygon"}, "polygon"),
        ({"shape": "area", "area_m2": 100 * FT**2, "depth_m": 4 * IN}, "100 ft², 4 in deep"),
    ],
)
def test_a_section_is_told_by_its_sizes(section, said):
    assert section_words(section, Words.of(None)) == said
