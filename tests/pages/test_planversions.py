"""Two plans of a pour side by side: differences in words, and why the newer one was made."""

from datetime import timedelta

import pytest

from scheduling.services import booking, planning
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import fields_of, html_of, text_of

pytestmark = [pytest.mark.django_db]

LATER = factories.NOW + timedelta(hours=1)


@pytest.fixture
def moved(pour, office):
    """The pour with a second plan, an hour later and with six people."""
    starts_at = THURSDAY + timedelta(hours=1)
    return booking.change_pour(
        pour=pour, version=1, by=office, now=LATER, accept_clashes=True, starts_at=starts_at, people=4
    )


def address(pour, rest=""):
    return f"/pours/{pour.pk}/plans/{rest}"


def test_differences_are_said_in_words_and_marked(page, moved):
    response = page.get(address(moved))
    text = text_of(response)
    assert "First truck Thu, Sep 3, 7:00 am Thu, Sep 3, 8:00 am 1 h later" in text
    assert "People placing 5 4 1 less" in text
    assert "To order 32¼ yd³ 32¼ yd³ the same" in text
    html = html_of(response)
    assert html.count('<tr class="differs">') == html.count("<b>") - html.count("<b>Plan")


def test_why_the_newer_plan_was_made_is_told(page, moved):
    text = text_of(page.get(address(moved)))
    assert "booked" in text
    assert (
        "changed: people placing from 5 to 4; start from Thu, Sep 3, 7:00 am to Thu, Sep 3, 8:00 am" in text
    )


def test_a_plan_made_by_the_clock_is_told_as_newer_weather_and_by_hand_as_such(page, moved, office):
    planning.plan_pour(pour=moved, by=None, now=LATER + timedelta(hours=1))
    assert "newer weather" in text_of(page.get(address(moved)))
    moved.refresh_from_db()
    booking.replan_pour(pour=moved, version=2, by=office, now=LATER + timedelta(hours=2))
    assert "planned again by hand" in text_of(page.get(address(moved)))


def test_cautions_that_come_and_go_are_told_apart(page, moved):
    site = moved.job.site
    hot = factories.mild_hours(factories.NOW, hours=24 * 14, air_c=37.0, humidity=0.15, wind_10m_m_s=9.0)
    factories.forecast(site, hot, fetched_at=LATER + timedelta(minutes=1))
    planning.plan_pour(pour=moved, by=None, now=LATER + timedelta(hours=1))
    text = text_of(page.get(address(moved, "?old=2&new=3")))
    come = text[text.index("New in plan 3") : text.index("No longer in plan 3")]
    assert "dries" in come
    turned = text_of(page.get(address(moved, "?old=3&new=2")))
    assert "No caution that plan 3 had not." in turned
    assert "dries" in turned[turned.index("No longer in plan 2") :]


def test_any_two_can_be_chosen_and_the_last_two_stand_there_first(page, moved):
    planning.plan_pour(pour=moved, by=None, now=LATER + timedelta(hours=1))
    fields = fields_of(page.get(address(moved)))
    assert (fields["old"], fields["new"]) == ("2", "3")
    fields = fields_of(page.get(address(moved, "?old=1&new=2")))
    assert (fields["old"], fields["new"]) == ("1", "2")


def test_two_alike_say_so(page, moved):
    assert "Both plans say the same." in text_of(page.get(address(moved, "?old=2&new=2")))


@pytest.mark.parametrize("rest", ["?old=9", "?new=x", "?old=-1", "?new=²"])
def test_a_plan_that_is_none_is_not_there(page, moved, rest):
    assert page.get(address(moved, rest)).status_code == 404


def test_a_pour_without_plans_has_none_to_compare(page, office):
    assert page.get(address(factories.pour())).status_code == 404


def test_a_lead_compares_the_own_crews_plans_alone(moved, crew):
    assert signed_in(crew.lead).get(address(moved)).status_code == 200
    other = factories.user(factories.Role.CREW_LEAD)
    assert signed_in(other).get(address(moved)).status_code == 404
