"""Plans of pours that nobody books."""

from datetime import time, timedelta

import pytest
from django.apps import apps

from tests import factories

pytestmark = pytest.mark.django_db

MIX = {"strength": "4000 psi", "aggregate": "3/4 in", "admixtures": ["water_reducer"]}
PLANT = {"truck": "10 yd3", "order_step": "0.25 yd3", "usual_haul": "25 min"}
PLACE = {"latitude": 38.88, "longitude": -94.82, "time_zone": "America/Chicago"}


def hours(first: str = "2026-08-28T00:00", count: int = 48, **columns) -> list[dict]:
    """So many hours alike, on the site's clock."""
    start = factories.STARTS_AT - timedelta(hours=7)
    defaults = {"air_temperature": "72 F", "humidity": "50 %", "wind": {"value": 8, "unit": "mph"}}
    return [{"at": (start + timedelta(hours=n)).isoformat(), **defaults, **columns} for n in range(count)]


@pytest.fixture
def asked(slab) -> dict:
    return {
        "starts_at": "2026-08-28T07:00",
        "sections": [slab],
        "mix": MIX,
        "plant": PLANT,
        "site": PLACE,
        "method": "chute",
        "crew_size": 5,
        "weather": hours(),
    }


def row_counts() -> dict[str, int]:
    return {model.__name__: model.objects.count() for model in apps.get_models() if hasattr(model, "objects")}


def test_a_preview_says_what_a_booking_would(office, asked):
    answer = office.post("pour-previews/", asked)
    assert answer.status_code == 200, answer.json()
    plan = answer.json()
    assert plan["concrete"]["order"] == {"value": 32.25, "unit": "yd3"}
    assert plan["weather_known"] is True
    assert plan["starts_at"] == "2026-08-28T07:00:00-05:00"
    assert {finding["code"] for finding in plan["findings"]} >= {"hold_last_load", "limiting_stage"}


def test_a_preview_keeps_nothing(office, asked):
    before = row_counts()
    assert office.post("pour-previews/", asked).status_code == 200
    assert row_counts() == before


def test_kept_rows_serve_by_their_ids(office, slab):
    mix = factories.mix()
    site = factories.site()
    factories.forecast(site)
    asked = {"starts_at": "2026-08-28T07:00", "sections": [slab], "mix": mix.pk, "site": site.pk}
    plan = office.post("pour-previews/", asked).json()
    assert plan["weather_known"] is True
    assert plan["concrete"]["order"]["value"] == 32.25


def test_weather_given_comes_before_the_sites_forecast(office, asked):
    site = factories.site()
    factories.forecast(site)
    cold = hours(air_temperature="40 F")
    plan = office.post("pour-previews/", {**asked, "site": site.pk, "weather": cold}).json()
    assert {hour["air_temperature"]["value"] for hour in plan["weather"]} == {40.0}


def test_no_hours_at_all_is_no_weather(office, asked):
    plan = office.post("pour-previews/", {**asked, "weather": []}).json()
    assert plan["weather_known"] is False


def test_wind_that_is_left_out_is_unknown_and_not_calm(office, asked):
    """Without wind the evaporation cannot be computed (ACI 305R's nomograph needs all four)."""
    calm = office.post("pour-previews/", {**asked, "weather": hours(wind="0 mph")}).json()
    unknown = office.post("pour-previews/", {**asked, "weather": hours(wind=None)}).json()
    assert all(hour["evaporation"]["value"] > 0 for hour in calm["weather"])
    assert {hour["evaporation"] for hour in unknown["weather"]} == {None}


def test_a_place_decides_what_is_warned_of(office, asked):
    plan = office.post("pour-previews/", {**asked, "site": {**PLACE, "power_lines": True}}).json()
    assert "power_lines" in {finding["code"] for finding in plan["findings"]}


def test_without_a_place_the_offices_clock_holds(office, company, asked):
    company.time_zone = "America/Denver"
    company.save()
    del asked["site"]
    assert office.post("pour-previews/", asked).json()["starts_at"] == "2026-08-28T07:00:00-06:00"
    given = {**asked, "site": {"latitude": 39.7}}
    assert office.post("pour-previews/", given).json()["starts_at"] == "2026-08-28T07:00:00-06:00"


def test_the_companys_allowance_holds_where_none_is_given(office, company, asked):
    company.allowance_percent = 10
    company.save()
    assert office.post("pour-previews/", asked).json()["concrete"]["order"]["value"] == 33.75


def test_a_crews_own_rate_counts(office, asked):
    slow = factories.crew(rate_factor=0.5)
    plan = office.post("pour-previews/", {**asked, "crew": slow.pk}).json()
    usual = office.post("pour-previews/", asked).json()
    half = usual["placing"]["rate"]["value"] / 2
    # Slower people may be better placed otherwise along the line.
    assert plan["placing"]["rate"]["value"] == pytest.approx(half, rel=0.05)


def test_a_past_day_may_be_previewed(office, asked):
    assert office.post("pour-previews/", {**asked, "starts_at": "2026-05-04T07:00"}).status_code == 200


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"mix": None}, "mix"),
        ({"mix": 987654}, "mix"),
        ({"mix": "4000 psi"}, "mix"),
        ({"mix": {"strength": "4000 psi"}}, "mix.aggregate"),
        ({"mix": {**MIX, "code": "x"}}, "mix.code"),
        ({"plant": {"truck": 10}}, "plant.truck"),
        ({"site": {"time_zone": "Mars"}}, "site.time_zone"),
        ({"site": []}, "site"),
        ({"weather": [{"air_temperature": "72 F"}]}, "weather[0].at"),
        ({"weather": [{"at": "2026-08-28T07:00", "wind": 8}]}, "weather[0].wind"),
        ({"weather": [{"at": "2026-11-01T01:30"}]}, "weather[0].at"),
        ({"weather": [{"at": "2026-08-28T07:00"}, {"at": "2026-08-28T07:30"}]}, "weather"),
        ({"sections": []}, "sections"),
        ({"job": 1}, "job"),
    ],
)
def test_what_no_plan_can_be_made_from_is_told_with_its_field(office, asked, change, field):
    answer = office.post("pour-previews/", {**asked, **change})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["field"] == field


def test_metric_in_metric_out(office, asked):
    """8 m3 trucks emptied at the plant's pace; 120 m3 net is 120 m2 at 1 m."""
    section = {"length": "12 m", "width": "10 m", "depth": {"value": 200, "unit": "mm"}}
    metric = {**asked, "sections": [section], "plant": {"truck": "8 m3", "order_step": "0.25 m3"}}
    plan = office.post("pour-previews/?units=metric", metric).json()
    assert plan["concrete"]["net"] == {"value": 24.0, "unit": "m3"}
    assert plan["concrete"]["depth"] == {"value": 200.0, "unit": "mm"}
    assert plan["concrete"]["order"]["value"] == 25.25


def test_a_preview_says_what_it_would_run_into(office):
    pour = factories.pour(crew=factories.crew(people=5))
    factories.plan(pour)
    factories.site_hours(pour.job.site, opens_at=time(9), closes_at=time(23, 59))
    asked = {
        "site": pour.job.site_id,
        "mix": pour.mix_id,
        "crew": pour.crew_id,
        "starts_at": "2026-08-28T07:00",
        "sections": [{"shape": "rectangle", "length": "40 ft", "width": "30 ft", "depth": "4 in"}],
    }
    clashes = office.post("pour-previews/", asked).json()["clashes"]
    assert {"two_placings", "outside_permit"} <= {one["code"] for one in clashes}
    assert all(None in {pour["id"] for pour in one["pours"]} for one in clashes)
    elsewhere = {**asked, "crew": factories.crew(people=5).pk, "starts_at": "2026-08-28T10:00"}
    assert office.post("pour-previews/", elsewhere).json()["clashes"] == []
