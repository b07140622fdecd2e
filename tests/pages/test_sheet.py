"""One pour on one sheet of paper: what must stand on it, for whom, and what it leaves room for."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.models import Company, Pour, Site
from scheduling.services import booking, ordering
from tests import factories
from tests.pages.conftest import FT, IN, THURSDAY, signed_in
from tests.pages.reading import html_of, text_of

pytestmark = [pytest.mark.django_db]

BIG = {"length_m": 100 * FT, "width_m": 46 * FT, "depth_m": 8 * IN}


def address(pour):
    return f"/pours/{pour.pk}/sheet/"


def test_where_when_and_whom_to_call_stand_on_it(page, pour, crew):
    text = text_of(page.get(address(pour)))
    for said in (
        pour.job.site.address,
        "Thursday, September 3",
        "Crew on site 6:00 am",
        "First truck 7:00 am",
        "32¼ yd³ of 4000-75-WR",
        f"Quarry Road plant {pour.plant.phone.as_national}",
        f"Ash: {crew.lead}",
        "Load 4 is held until you call",
    ):
        assert said in text


def test_where_trucks_back_it_names_the_spotter_or_leaves_a_line_for_the_name(page, pour):
    assert "Spotter" not in text_of(page.get(address(pour)))
    Site.objects.update(trucks_must_back=True)
    assert "Spotter for backing trucks, not at the chute: ____" in text_of(page.get(address(pour)))
    Pour.objects.update(spotter="Nils Brandt")
    assert "not at the chute: Nils Brandt" in text_of(page.get(address(pour)))


def test_every_load_has_a_row_with_room_to_write(page, pour):
    html = html_of(page.get(address(pour)))
    rows = html[html.index('class="truck-tables"') : html.index("A load is good for")]
    assert rows.count('<th scope="row">') == pour.plan.loads == 4
    assert rows.count("<td></td>") == 5 * 4
    # ASTM C94/C94M-21's 90 minutes where neither purchaser nor producer states another limit.
    assert "A load is good for 90 min" in text_of(page.get(address(pour)))


def test_what_is_left_is_reckoned_in_feet_and_inches_or_in_metres(page, pour):
    # 3 ft by 3 ft by 36 in is one cubic yard, and 3 * 3 * 36 is 324; 1 m by 1 m by 100 cm is one cubic metre.
    text = text_of(page.get(address(pour)))
    assert "ft × ft × in deep ÷ 324 = yd³" in text
    zone = ZoneInfo("America/Chicago")
    batched = datetime.fromisoformat(pour.plan.result["delivery"]["loads"][-1]["batch_at"])
    assert f"Call load 4 by {batched.astimezone(zone):%-I:%M} am" in text
    Company.objects.update(units="metric")
    assert "m × m × cm deep ÷ 100 = m³" in text_of(page.get(address(pour)))


# A homeowner two yards short found the plant closed: the last load is called before that, too.
def test_the_last_load_is_called_before_the_plant_closes(page, book):
    pour = book(starts_at=THURSDAY + timedelta(hours=7, minutes=30), sections=[WIDE], hold_last_load=True)
    loads = pour.plan.result["delivery"]["loads"]
    closes_at = datetime.fromisoformat(pour.plan.inputs["supply"]["closes_at"])
    assert datetime.fromisoformat(loads[-1]["batch_at"]) > closes_at
    assert f"Call load {len(loads)} by 4:00 pm" in text_of(page.get(address(pour)))


WIDE = {"length_m": 60 * FT, "width_m": 50 * FT, "depth_m": 8 * IN}


def test_what_stops_the_pour_comes_before_every_other_caution(page, book):
    pour = book(sections=[BIG], finishers=1)
    text = text_of(page.get(address(pour)))
    first = text[text.index("Before all") : text.index("Concrete", text.index("Before all"))]
    assert first.strip().startswith("Before all STOP, call the office: too few finishers.")
    assert "Wet concrete burns" in first


def test_twelve_loads_are_all_there_and_more_are_told_of(page, book):
    twelve = book(sections=[BIG], people=8)
    assert twelve.plan.loads == 12
    html = html_of(page.get(address(twelve)))
    assert html.count('<tr><th scope="row">12 <small>') == 1
    assert 'class="paper tight"' in html
    many = book(sections=[{**BIG, "length_m": 200 * FT}], people=8)
    text = text_of(page.get(address(many)))
    assert f"{many.plan.loads - 18} more loads: write them on the back." in text


def test_bays_and_cuts_are_drawn_and_every_bay_has_its_load(page, pour):
    html = html_of(page.get(address(pour)))
    assert html.count('class="bay') == len(pour.plan.result["bays"]["bays"])
    assert html.count('class="joint"') == len(pour.plan.result["sawing"]["layouts"][0]["joints"])
    text = text_of(page.get(address(pour)))
    assert "Filled by load 1: 1–" in text
    assert "cut 4 by 3 panels" in text


def test_a_held_pour_says_so_and_a_confirmed_order_its_number(page, pour, office):
    ordering.confirm(order=pour.orders.get(), ticket="Q-17", by=office, now=factories.NOW)
    booking.hold_pour(pour=pour, version=1, reason="Forms", by=office, now=factories.NOW)
    text = text_of(page.get(address(pour)))
    assert "on hold" in text
    assert "confirmed by the plant, number Q-17" in text


def test_long_directions_are_cut_short_and_say_where_the_rest_is(page, pour):
    pour.notes = "Mind the dog. " * 40
    pour.save()
    text = text_of(page.get(address(pour)))
    assert text.count("Mind the dog.") < 15
    assert "(more on the pour’s page)" in text


def test_without_a_plan_there_is_nothing_to_print_and_it_says_what_to_do(page, pour):
    pour.plan = None
    pour.save()
    assert "Have it planned" in text_of(page.get(address(pour)))


def test_a_lead_prints_the_own_crews_sheet_only(pour, crew):
    assert signed_in(crew.lead).get(address(pour)).status_code == 200
    other = factories.user(factories.Role.CREW_LEAD)
    assert signed_in(other).get(address(pour)).status_code == 404


def test_the_sheet_takes_as_many_queries_for_twelve_sections_as_for_one(page, pour, book):
    many = book(sections=[{"length_m": 4.0, "width_m": 3.0, "depth_m": 0.1}] * 12)
    counts = []
    for one in (pour, many):
        with CaptureQueriesContext(connection) as queries:
            assert page.get(address(one)).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 14
