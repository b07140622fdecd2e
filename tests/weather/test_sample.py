"""The made-up forecasts of the demonstration are plausible and always the same."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.engine.evaporation import EvaporationHour, evaporation_day, evaporation_findings
from scheduling.engine.forecast import Forecast, sky_findings
from scheduling.engine.inputs import BadInput, Mix
from scheduling.engine.setting import Slab, set_times, slab_clock
from scheduling.engine.temperature import delivered_estimate_c, temperature_findings
from scheduling.weather.document import FIELDS
from scheduling.weather.sample import SampleKind, sample_hours

CHICAGO = ZoneInfo("America/Chicago")
START = datetime(2026, 5, 11, 6, tzinfo=CHICAGO)
MIX = Mix(name="4000 plain", strength_mpa=28, aggregate_mm=19)


def dried(forecast: Forecast) -> tuple[EvaporationHour, ...]:
    """Of a slab that is placed at eleven."""
    placed_at = START + timedelta(hours=5)
    clock = slab_clock(MIX, Slab(), forecast, [placed_at], [False])
    ends_at = placed_at + timedelta(hours=5)
    return evaporation_day(forecast, lambda at: clock.surface_c(0, at), placed_at, ends_at)


def codes(kind: SampleKind) -> set[str]:
    forecast = Forecast(sample_hours(kind, START, 72))
    concrete_c = delivered_estimate_c(forecast.at(START + timedelta(hours=2)).air_c)
    ends_at = START + timedelta(hours=10)
    findings = (
        *sky_findings(forecast, START, ends_at),
        *temperature_findings(concrete_c, forecast, START, 0.1),
        *evaporation_findings(dried(forecast), MIX),
    )
    return {finding.code for finding in findings}


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        (SampleKind.MILD, set()),
        (SampleKind.HOT_WINDY, {"evaporation_high"}),
        (SampleKind.COLD, {"cold_weather", "frost"}),
        (SampleKind.RAINY, {"rain", "thunder"}),
    ],
)
def test_each_kind_brings_the_warnings_it_is_for(kind, expected):
    assert codes(kind) - {"evaporation_watch"} == expected


@pytest.mark.parametrize("kind", list(SampleKind))
def test_a_slab_sets_under_every_kind(kind):
    assert set_times(MIX, Forecast(sample_hours(kind, START, 72)), START) is not None


@pytest.mark.parametrize("kind", list(SampleKind))
def test_every_value_is_one_weather_can_have(kind):
    for hour in sample_hours(kind, START, 24 * 14):
        for field, limits in FIELDS.items():
            value = getattr(hour, field)
            assert value is not None
            assert limits.held(value) == value
        assert hour.dew_point_c < hour.air_c


def test_afternoons_are_warm_and_nights_dark_by_the_local_clock():
    hours = sample_hours("mild", START, 24)
    warmest = max(hours, key=lambda hour: hour.air_c)
    assert warmest.at.astimezone(CHICAGO).hour == 15
    assert all(hour.sun_w_m2 == 0 for hour in hours if hour.at.astimezone(CHICAGO).hour in (23, 0, 3))
    assert max(hour.sun_w_m2 for hour in hours) > 400


def test_the_same_question_has_the_same_answer():
    assert sample_hours("rainy", START, 48) == sample_hours(SampleKind.RAINY, START, 48)


def test_hours_are_whole_in_utc_and_in_order():
    hours = sample_hours("cold", START + timedelta(minutes=25), 30)
    assert [hour.at for hour in hours] == [START.astimezone(UTC) + timedelta(hours=n) for n in range(30)]


def test_the_clock_change_skips_no_hour():
    hours = sample_hours("mild", datetime(2026, 3, 8, 0, tzinfo=CHICAGO), 23)
    assert (hours[-1].at - hours[0].at) == timedelta(hours=22)
    assert hours[-1].at.astimezone(CHICAGO).hour == 23


def test_a_kind_that_is_none_and_a_naive_start_are_refused():
    with pytest.raises(ValueError, match="balmy"):
        sample_hours("balmy", START, 3)
    with pytest.raises(BadInput):
        sample_hours("mild", datetime(2026, 5, 11, 6), 3)
