"""How old a pour's forecast is, why no newer one comes, and what the last one changed, on the pages."""

from datetime import timedelta

import pytest

from scheduling.models import EventKind, ForecastWatch, PourState, SiteForecast
from scheduling.roles import Role
from scheduling.services.history import record
from tests import factories
from tests.factories import NOW
from tests.pages.conftest import signed_in
from tests.pages.reading import text_of

HOUR = timedelta(hours=1)


@pytest.fixture
def fetching(settings):
    settings.WEATHER_PROVIDER = "nws"


def fetched(pour, hours_ago, provider="nws"):
    SiteForecast.objects.update(fetched_at=NOW - hours_ago * HOUR, provider=provider)


def fails(pour, failures=1, **columns):
    defaults = {"failed_at": NOW - HOUR, "failure": "The weather service does not answer in time."}
    ForecastWatch.objects.create(
        site=pour.job.site, failures=failures, next_try_at=NOW + HOUR, **{**defaults, **columns}
    )


def shown(page, pour):
    return text_of(page.get(f"/pours/{pour.pk}/?all"))


def test_a_fresh_forecast_is_told_with_its_time_and_who_gave_it(page, pour):
    fetched(pour, 2)
    text = shown(page, pour)
    assert (
        "The plan rests on the forecast of Thu, Aug 27, 8:00 am, by the U.S. National Weather Service."
        in text
    )
    assert "hours old" not in text


@pytest.mark.parametrize(
    ("provider", "said"),
    [("open_meteo", "by Open-Meteo.com, CC BY 4.0"), ("hourly_file", "handed in"), ("sample", "made up")],
)
def test_who_gave_a_forecast_is_said(page, pour, provider, said):
    fetched(pour, 2, provider)
    assert said in shown(page, pour)


def test_a_forecast_over_six_hours_old_is_marked(page, pour):
    fetched(pour, 9)
    assert "mind The plan rests on the forecast of " in shown(page, pour)
    assert "It is 9 hours old: look at the sky" in shown(page, pour)


def test_a_forecast_over_a_day_old_is_called_too_old(page, pour):
    fetched(pour, 30)
    assert "It is 30 hours old: too old to rely on." in shown(page, pour)


def test_a_plan_without_a_forecast_says_so(page, pour):
    SiteForecast.objects.all().delete()
    assert "The plan rests on no forecast, but on a mild day." in shown(page, pour)


def test_why_no_newer_one_comes_is_told_with_its_time(page, pour, fetching):
    fails(pour, failures=3)
    said = (
        "No newer one came on Thu, Aug 27, 9:00 am, the 3rd time in a row: "
        "The weather service does not answer in time. Next try: Thu, Aug 27, 11:00 am."
    )
    assert said in shown(page, pour)


@pytest.mark.parametrize(
    ("number", "said"), [(1, "9:00 am: The weather"), (2, "2nd"), (4, "4th"), (11, "11th"), (22, "22nd")]
)
def test_how_often_is_counted(page, pour, fetching, number, said):
    fails(pour, failures=number)
    assert said in shown(page, pour)


def test_what_new_weather_changed_is_told_latest_first(page, pour):
    for n in range(4):
        at = NOW + n * HOUR
        record(pour, EventKind.WEATHER_CHANGED, by=None, now=at, plan=n + 2, reason=f"Trowel from {n + 1}pm.")
    text = shown(page, pour)
    panel = text[text.index("New weather changed the plan") : text.index("Reminders")]
    assert panel.index("Trowel from 4pm.") < panel.index("Trowel from 3pm.") < panel.index("Trowel from 2pm.")
    assert "Trowel from 1pm." not in panel


def test_the_office_fetches_a_newer_forecast_by_a_button(page, pour, fetching):
    assert "Fetch a newer one" in shown(page, pour)
    answer = page.post(f"/pours/{pour.pk}/weather/", follow=True)
    assert "Asked for." in text_of(answer)
    assert ForecastWatch.objects.get().next_try_at == NOW


def test_where_no_service_is_chosen_there_is_no_button_and_asking_is_refused(page, pour):
    assert "Fetch a newer one" not in shown(page, pour)
    answer = page.post(f"/pours/{pour.pk}/weather/", follow=True)
    assert "No weather service is chosen in the settings." in text_of(answer)
    assert not ForecastWatch.objects.exists()


def test_a_crew_lead_sees_the_age_but_not_the_trouble_nor_the_button(pour, crew, fetching):
    fetched(pour, 9)
    fails(pour)
    lead = signed_in(crew.lead)
    text = shown(lead, pour)
    assert "It is 9 hours old" in text
    assert "No newer one" not in text
    assert "Fetch a newer one" not in text
    assert lead.post(f"/pours/{pour.pk}/weather/").status_code == 403


def test_a_pour_of_another_crew_is_not_there_to_fetch_for(pour, fetching):
    stranger = signed_in(factories.user(Role.DISPATCHER))
    assert stranger.post("/pours/987654/weather/").status_code == 404
    assert stranger.get(f"/pours/{pour.pk}/weather/").status_code == 405


def test_a_pour_that_is_cancelled_needs_no_forecast(page, pour):
    type(pour).objects.update(state=PourState.CANCELLED)
    assert "The plan rests on" not in shown(page, pour)


def test_the_week_tells_of_sites_that_have_long_had_no_new_forecast(page, pour, fetching):
    fetched(pour, 5)
    fails(pour)
    assert "No new forecast comes for" not in text_of(page.get("/week/"))
    fetched(pour, 7)
    text = text_of(page.get("/week/"))
    assert f"No new forecast comes for {pour.job.site.name}. The weather service does not answer" in text
    lead = signed_in(pour.crew.lead)
    assert "No new forecast comes for" not in text_of(lead.get("/week/"))


def test_the_week_names_three_sites_in_trouble_and_counts_the_rest(page, office, fetching):
    for n in range(5):
        fails(factories.pour(site=factories.site(name=f"Site {n}")))
    assert "No new forecast comes for Site 0, Site 1, Site 2, 2 more." in text_of(page.get("/week/"))
