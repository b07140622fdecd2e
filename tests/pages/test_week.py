from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.models import Company, Crew
from scheduling.services import booking, ordering, planning
from tests import factories
from tests.pages.conftest import THURSDAY
from tests.pages.reading import html_of, text_of

WEEK = "/week/?day=2026-09-03"


def test_a_pour_stands_on_its_day_with_time_job_amount_and_order(page, pour):
    text = text_of(page.get(WEEK))
    assert f"7:00 am {pour.job.name}" in text
    # 52' x 38' x 5 in is 30.49 yd3; with 5 % and in quarter yards 32.25 (worked by hand).
    assert "32¼ yd³" in text
    assert "to call in" in text
    assert "Thu, Sep 3" in text


def test_the_strip_says_the_whole_day_in_words(page, pour):
    html = html_of(page.get(WEEK))
    assert 'aria-label="on site 6:00–7:00 am; placing 7:00–' in html
    for word in ("waiting for the slab", "finishing", "cutting joints"):
        assert word in html


def test_the_order_state_follows_the_order(page, pour, office):
    ordering.call_in(order=pour.orders.get(), taken_by="Ruth", by=office, now=factories.NOW)
    assert "called in" in text_of(page.get(WEEK))
    ordering.confirm(order=pour.orders.get(), ticket="", by=office, now=factories.NOW)
    assert "confirmed" in text_of(page.get(WEEK))


def test_a_clash_shows_on_both_pours_and_at_the_top_with_what_is_missing_and_a_cure(page, pour, clashing):
    response = page.get(WEEK)
    text = text_of(response)
    # Five place from six to half past eight and five more from eight on: ten, and the crew has five.
    assert "10 needed, the crew has 5 people" in text
    assert html_of(response).count('<p class="clash">') >= 2
    assert html_of(response).count("card clashing") == 2
    assert f"Start {clashing.job.name} at " in text
    assert f'href="/pours/{clashing.pk}/?start=2026-09-0' in html_of(response)


def test_an_accepted_clash_is_told_apart_from_one_to_settle(page, pour, clashing):
    assert "Booked twice, and accepted" in text_of(page.get(WEEK))
    booking.replan_pour(pour=clashing, version=clashing.version, by=clashing.booked_by, now=factories.NOW)
    clashing.accepted_clashes.all().delete()
    pour.accepted_clashes.all().delete()
    assert "to settle" in text_of(page.get(WEEK))


def test_a_cancelled_pour_is_gone_and_a_held_one_says_so(page, pour, book, office):
    held = book(starts_at=THURSDAY + timedelta(days=1))
    booking.hold_pour(pour=held, version=1, reason="Forms", by=office, now=factories.NOW)
    booking.cancel_pour(pour=pour, version=1, reason="Rain", by=office, now=factories.NOW)
    text = text_of(page.get(WEEK))
    assert "on hold" in text
    assert pour.job.name not in text


def test_the_site_is_on_its_own_clock(page, book):
    east = book(job=factories.job(site=factories.site(time_zone="America/New_York")))
    assert f"8:00 am {east.job.name}" in text_of(page.get(WEEK))


def test_weather_is_said_where_it_is_known_and_left_out_where_not(page, pour):
    assert "Air 68 °F" in text_of(page.get(WEEK))
    pour.job.site.forecasts.all().delete()
    planning.plan_pour(pour=pour, by=None, now=factories.NOW)
    assert "Air " not in text_of(page.get(WEEK))


def test_a_metric_company_reads_metres_and_a_clock_of_24_hours(page, pour):
    Company.objects.update(units="metric")
    text = text_of(page.get(WEEK))
    assert "07:00" in text
    assert "m³" in text
    assert "yd" not in text


def test_weeks_lead_to_each_other(page, office):
    html = html_of(page.get("/week/?day=2026-09-03"))
    assert "?day=2026-08-24" in html
    assert "?day=2026-09-07" in html


def test_without_a_day_it_is_this_week(page, office):
    assert "Week of August 24" in text_of(page.get("/"))


@pytest.mark.parametrize("day", ["tomorrow", "2026-13-01", "9999-12-31", "0001-01-01", "2026-09-03T07:00"])
def test_a_day_that_is_none_is_not_there(page, office, day):
    assert page.get("/week/", {"day": day}).status_code == 404


def test_an_empty_week_says_what_to_do_next(page, crew):
    text = text_of(page.get("/"))
    assert "Nothing is booked this week" in text
    assert "Book a pour" in text


def test_an_empty_company_is_led_to_its_records(page, office):
    assert not Crew.objects.exists()
    assert "Company records" in text_of(page.get("/"))


def fill_week(first_crew, mix, count):
    """So many pours over five days for thirty crews; the first of them is booked twice a day."""
    crews = [first_crew, *(factories.crew(people=5) for _ in range(29))]
    job = factories.job()
    factories.forecast(job.site, factories.mild_hours(factories.NOW, hours=24 * 14))
    for n in range(count):
        starts_at = THURSDAY + timedelta(days=n // 30 - 3, hours=n % 3)
        pour = factories.pour(job=job, crew=crews[max(0, n % 30 - 1)], mix=mix, starts_at=starts_at)
        planning.plan_pour(pour=pour, by=None, now=factories.NOW)


@pytest.mark.parametrize("count", [10, pytest.param(100, marks=pytest.mark.slow)])
def test_the_week_takes_the_same_few_queries_however_full_it_is_and_stays_light(page, crew, mix, count):
    fill_week(crew, mix, count)
    with CaptureQueriesContext(connection) as queries:
        response = page.get(WEEK)
    assert f"{count} pours" in text_of(response)
    assert "to settle" in text_of(response)
    assert len(queries) == 13
    assert len(response.content) < 200_000


def test_today_is_marked(page, book):
    book(starts_at=factories.NOW + timedelta(hours=2))
    assert 'class="day today"' in html_of(page.get("/"))
    assert "day today" not in html_of(page.get(WEEK))
