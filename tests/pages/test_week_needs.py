"""The list of what needs somebody, the day's weather, and what an empty week says."""

from datetime import timedelta

import time_machine

from scheduling.models import MessageState, PaperKind, Pour, Site
from scheduling.services import ordering, papers, planning
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import html_of, text_of

WEEK = "/week/?day=2026-09-03"


def needs(page, address=WEEK):
    html = html_of(page.get(address))
    return html.split('id="needs"')[1].split("</section>")[0] if 'id="needs"' in html else ""


def test_an_order_to_call_in_leads_to_its_pour_with_the_time_to_call_by(page, pour):
    said = needs(page)
    assert '<span class="count">1</span> order to call in' in said
    assert f'href="/pours/{pour.pk}/#order"' in said
    assert "by Wed, Sep 2" in said


def test_texts_and_replies_lead_to_where_they_are_settled(page, pour):
    lead = pour.crew.lead
    factories.message(lead, state=MessageState.FAILED, due_at=factories.NOW - timedelta(hours=1))
    factories.reply(lead, body="gate is locked")
    said = needs(page)
    assert "text not through" in said
    assert 'href="/messages/due/#lost"' in said
    assert "reply to read" in said
    assert "“gate is locked”" in said
    assert said.index("not through") < said.index("to read") < said.index("to call in")


def test_a_pour_without_a_crew_leads_to_the_form_that_gives_it_one(page, pour):
    Pour.objects.update(crew=None)
    assert f"move={pour.pk}#move" in needs(page)


def test_what_keeps_concrete_from_coming_is_grave_from_the_day_before(page, pour, office):
    Site.objects.update(trucks_must_back=True)
    papers.ask(pour=pour, kind=PaperKind.INSPECTION, by=office, now=factories.NOW)
    said = needs(page)
    assert "pour with an inspection to pass" in said
    assert f'href="/pours/{pour.pk}/#papers"' in said
    assert "pour where trucks back and nobody guides them" in said
    assert f'href="/pours/{pour.pk}/#spotter"' in said
    assert 'class="mark stop"' not in said
    with time_machine.travel(THURSDAY - timedelta(hours=12)):
        assert needs(page).count('class="mark stop"') == 3  # and the order's time to call is past


def test_it_looks_past_the_week_that_is_shown(page, book):
    book(starts_at=factories.NOW + timedelta(days=1))
    assert "order to call in" in needs(page, "/week/?day=2026-10-01")


def test_where_all_is_settled_the_page_says_so(page, pour, office):
    ordering.confirm(order=pour.orders.get(), ticket="", by=office, now=factories.NOW)
    text = text_of(page.get(WEEK))
    assert "Nobody is booked twice. No order, text or plan waits for you." in text


def test_a_lead_is_shown_no_list(pour, crew):
    assert needs(signed_in(crew.lead)) == ""


def test_many_of_a_kind_are_counted_and_the_first_named(page, book):
    for n in range(6):
        book(starts_at=THURSDAY + timedelta(days=n % 3, hours=n))
    said = needs(page)
    assert '<span class="count">6</span> orders to call in' in said
    assert "and 2 more" in said


def test_an_empty_week_leads_to_where_there_is_something(page, pour):
    html = html_of(page.get("/"))
    assert "The next pour is on Thursday, September 3" in html
    assert 'href="/week/?day=2026-09-03"' in html
    assert "The last pour was on Thursday, September 3" in html_of(page.get("/week/?day=2026-11-05"))


def test_weather_is_drawn_and_said_by_its_hours(page, book):
    job = factories.job()
    hours = [
        *factories.mild_hours(THURSDAY - timedelta(hours=24), hours=26),
        *factories.mild_hours(
            THURSDAY + timedelta(hours=2), hours=3, rain_chance=0.6, rain_mm=2.0, thunder_chance=0.3
        ),
        *factories.mild_hours(THURSDAY + timedelta(hours=5), hours=72, gust_10m_m_s=12.0),
    ]
    factories.forecast(job.site, tuple(hours))
    book(job=job)
    html = html_of(page.get(WEEK))
    assert "rain 60%, 9:00 am–noon" in html
    assert "thunder, 9:00 am–noon" in html
    # 12 m/s are 26.8 mph (1 m/s = 2.23694 mph).
    assert "gusts 27 mph" in html
    assert html.count('<rect class="rain"') == 3
    # Olathe, 3 September 2026: sunrise 6:52, sunset 19:49 by the NOAA solar calculator, from memory.
    assert "dark until 6:5" in html


def test_a_day_without_a_forecast_says_so(page, pour):
    pour.job.site.forecasts.all().delete()
    planning.plan_pour(pour=pour, by=None, now=factories.NOW)
    assert "No forecast reaches this day yet." in text_of(page.get(WEEK))
