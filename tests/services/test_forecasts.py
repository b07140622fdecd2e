"""Weather documents that come in through a door."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import PourState, SiteForecast
from scheduling.roles import Role
from scheduling.services import booking, forecasts
from tests import factories

pytestmark = pytest.mark.django_db


def hourly_file(first: str = "2026-08-28 00:00", hours: int = 72, air_f: int = 72) -> str:
    start = datetime.fromisoformat(first)
    rows = (f"{start + timedelta(hours=n):%Y-%m-%d %H:%M},{air_f},50,8" for n in range(hours))
    return "\n".join(["time,air [F],humidity [%],wind [mph]", *rows])


def imported(site, text=None, **more):
    by = more.pop("by", None) or factories.user()
    return forecasts.import_forecast(site=site, text=text or hourly_file(), by=by, now=factories.NOW, **more)


@pytest.fixture(autouse=True)
def _company():
    factories.company()


def test_hours_without_an_offset_are_on_the_sites_clock():
    kept = imported(factories.site(time_zone="America/Chicago"))
    assert kept.starts_at == datetime(2026, 8, 28, 5, tzinfo=UTC)
    assert kept.ends_at == datetime(2026, 8, 31, 5, tzinfo=UTC)
    assert (kept.provider, kept.fetched_at) == ("hourly_file", factories.NOW)


def test_values_are_kept_in_the_engines_units():
    hour = imported(factories.site()).hours[0]
    assert hour["air_c"] == pytest.approx((72 - 32) / 1.8)
    assert hour["wind_10m_m_s"] == pytest.approx(8 * 0.44704)
    assert hour["humidity"] == 0.5


def test_the_caller_may_say_what_the_columns_are():
    text = "when,t\n2026-08-28 07:00,20\n2026-08-28 08:00,21"
    kept = imported(factories.site(), text, columns={"when": "time", "t": "air_c:degC"})
    assert [hour["air_c"] for hour in kept.hours] == [20.0, 21.0]


def test_a_coming_pour_is_planned_with_the_new_weather():
    pour = factories.pour()
    before = factories.plan(pour)
    kept = imported(pour.job.site)
    pour.refresh_from_db()
    assert before.forecast is None
    assert (pour.plan.forecast, pour.plan.number) == (kept, before.number + 1)
    assert pour.plan.result["weather_known"] is True


def test_the_version_of_a_pour_planned_afresh_stays():
    pour = factories.pour()
    factories.plan(pour)
    imported(pour.job.site)
    pour.refresh_from_db()
    assert pour.version == 1


@pytest.mark.parametrize(
    "columns",
    [
        {"starts_at": factories.NOW - timedelta(hours=1)},
        {"starts_at": factories.NOW + timedelta(days=9)},
        {"state": PourState.CANCELLED},
        {"state": PourState.PLACED},
    ],
    ids=["already started", "beyond the hours", "cancelled", "placed"],
)
def test_a_pour_the_weather_is_not_for_keeps_its_plan(columns):
    pour = factories.pour(**columns)
    factories.plan(pour)
    imported(pour.job.site, hourly_file("2026-08-27 00:00"))
    assert pour.plans.count() == 1


def test_a_pour_on_hold_is_planned_too():
    pour = factories.pour(state=PourState.ON_HOLD)
    factories.plan(pour)
    imported(pour.job.site)
    assert pour.plans.count() == 2


def test_pours_at_other_sites_are_left_alone():
    pour = factories.pour()
    factories.plan(pour)
    imported(factories.site())
    assert pour.plans.count() == 1


def test_one_pour_that_cannot_be_planned_does_not_hold_up_the_others(caplog):
    good = factories.pour()
    factories.plan(good)
    bad = factories.pour(job=good.job, concrete_c=60.0)
    kept = imported(good.job.site)
    assert SiteForecast.objects.get() == kept
    assert (good.plans.count(), bad.plans.count()) == (2, 0)
    assert f"Pour {bad.pk}" in caplog.text


def test_every_fault_of_a_document_is_told_and_nothing_is_kept():
    text = "time,air [F]\n2026-08-28 07:00,72\n2026-08-28 08:00,warm\n2026-08-28 09:00,hot"
    with pytest.raises(Refusal) as refused:
        imported(factories.site(), text)
    assert (refused.value.code, refused.value.field) == ("weather_unreadable", "text")
    assert [problem.split(":")[0] for problem in refused.value.facts["problems"]] == ["Line 3", "Line 4"]
    assert not SiteForecast.objects.exists()


def test_a_crew_lead_may_not_bring_in_weather():
    with pytest.raises(NotAllowed):
        imported(factories.site(), by=factories.user(Role.CREW_LEAD))


def test_a_cancelled_pour_is_not_planned_afresh():
    pour = factories.pour(state=PourState.CANCELLED)
    with pytest.raises(Refusal, match="cancelled"):
        booking.replan_pour(pour=pour, version=1, by=factories.user(), now=factories.NOW)


def test_overlapping_hours_from_a_door_are_refused():
    at = factories.STARTS_AT
    with pytest.raises(Refusal) as refused:
        forecasts.weather_hours([{"at": at}, {"at": at + timedelta(minutes=30)}], field="weather")
    assert refused.value.field == "weather"
