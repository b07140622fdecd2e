"""The hourly forecast between its hours, at its edges and over the clock change."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.forecast import (
    Forecast,
    forecast_age_findings,
    humidity_from_dew_point,
    sky_findings,
    wind_at_slab,
)
from scheduling.engine.inputs import BadInput, Severity, WeatherHour

START = datetime(2026, 7, 14, 12, tzinfo=UTC)


def hour(n: float, **weather) -> WeatherHour:
    return WeatherHour(at=START + timedelta(hours=n), **weather)


def after(hours: float) -> datetime:
    return START + timedelta(hours=hours)


@pytest.mark.parametrize(("roughness_m", "share"), [(0.01, 0.57), (0.03, 0.48), (0.1, 0.35)])
def test_wind_at_the_slab_follows_the_log_law(roughness_m, share):
    # Ratios of the neutral log profile, 0.5 m against 10 m.
    assert wind_at_slab(10.0, roughness_m=roughness_m) == pytest.approx(10 * share, abs=0.05)


def test_wind_at_forecast_height_is_the_forecast():
    assert wind_at_slab(7.0, height_m=10.0) == 7.0


@pytest.mark.parametrize(
    ("wind", "height_m", "roughness_m"), [(-1, 0.5, 0.03), (5, 0.02, 0.03), (5, 11, 0.03), (5, 0.5, 0)]
)
def test_wind_that_has_no_profile_is_refused(wind, height_m, roughness_m):
    with pytest.raises(BadInput):
        wind_at_slab(wind, height_m, roughness_m)


@pytest.mark.parametrize(
    ("air_f", "dew_f", "humidity"),
    [
        (70, 67, 0.90),
        (70, 60, 0.70),
        (70, 50, 0.50),
        (70, 37, 0.30),
        (50, 41, 0.70),
        (60, 50, 0.70),
        (80, 70, 0.70),
        (90, 79, 0.70),
    ],
)
def test_humidity_from_dew_point_agrees_with_the_published_pairs(air_f, dew_f, humidity):
    # Dew points printed in the drying table of Lerch (1957), to whole °F, from memory.
    found = humidity_from_dew_point((air_f - 32) / 1.8, (dew_f - 32) / 1.8)
    assert found == pytest.approx(humidity, abs=0.02)  # a whole °F of dew point


def test_a_dew_point_at_or_above_the_air_is_full_humidity():
    assert humidity_from_dew_point(12.0, 12.0) == 1.0
    assert humidity_from_dew_point(12.0, 12.4) == 1.0


def test_between_two_hours_the_air_runs_straight_and_the_rain_holds():
    forecast = Forecast((hour(0, air_c=20, rain_mm=0.0, rain_chance=0.1), hour(1, air_c=24, rain_mm=3.0)))
    weather = forecast.at(after(0.25))
    assert weather.air_c == pytest.approx(21.0)
    assert (weather.rain_mm, weather.rain_chance) == (0.0, 0.1)
    assert forecast.at(after(1)).rain_mm == 3.0


def test_humidity_comes_from_the_dew_point_only_where_it_is_not_given():
    forecast = Forecast((hour(0, air_c=20, dew_point_c=10), hour(1, air_c=20, dew_point_c=10, humidity=0.9)))
    assert forecast.at(after(0)).humidity == pytest.approx(0.525, abs=0.01)
    assert forecast.at(after(1)).humidity == 0.9


def test_a_dew_point_without_air_tells_no_humidity():
    assert Forecast((hour(0, dew_point_c=10),)).at(after(0)).humidity is None


def test_outside_the_forecast_everything_is_unknown():
    forecast = Forecast((hour(0, air_c=20), hour(1, air_c=21)))
    assert forecast.at(after(-0.01)).air_c is None
    assert forecast.at(after(2)).air_c is None
    assert Forecast(()).at(after(0)).air_c is None


def test_the_last_hour_holds_to_its_end():
    assert Forecast((hour(0, air_c=20), hour(1, air_c=26))).at(after(1.9)).air_c == 26


def test_an_unknown_hour_stays_unknown_and_does_not_spoil_the_one_before():
    forecast = Forecast((hour(0, wind_10m_m_s=4), hour(1), hour(2, wind_10m_m_s=8)))
    assert forecast.at(after(0.5)).wind_10m_m_s == 4
    assert forecast.at(after(1.5)).wind_10m_m_s is None
    assert forecast.at(after(2.0)).wind_10m_m_s == 8


def test_not_a_number_counts_as_unknown():
    assert Forecast((hour(0, air_c=float("nan"), wind_10m_m_s=float("inf")),)).at(after(0)).air_c is None


def test_hours_given_in_any_order_are_sorted():
    hours = (hour(2, air_c=3), hour(0, air_c=1), hour(1, air_c=2))
    assert [item.air_c for item in Forecast(hours).hours] == [1, 2, 3]


def test_the_same_hour_twice_is_refused_even_in_two_zones():
    twin = WeatherHour(at=START.astimezone(ZoneInfo("America/Chicago")), air_c=21)
    with pytest.raises(BadInput) as caught:
        Forecast((hour(0, air_c=20), twin))
    assert caught.value.code == "overlapping_hours"


def test_hours_half_an_hour_apart_are_refused():
    with pytest.raises(BadInput):
        Forecast((hour(0), hour(0.5)))


def test_a_naive_moment_is_refused():
    with pytest.raises(BadInput) as caught:
        Forecast((hour(0),)).at(datetime(2026, 7, 14, 12))
    assert caught.value.code == "naive_time"


def test_covering_means_every_moment_has_its_hour():
    forecast = Forecast((hour(0), hour(1), hour(3)))
    assert forecast.covers(after(0), after(2))
    assert forecast.covers(after(0.5), after(1.5))
    assert not forecast.covers(after(0), after(2.5))
    assert not forecast.covers(after(-1), after(1))
    assert not forecast.covers(after(3), after(5))
    assert not Forecast(()).covers(after(0), after(1))


def test_hours_between_are_those_that_overlap_half_open():
    forecast = Forecast(tuple(hour(n, air_c=n) for n in range(5)))
    assert [h.air_c for h in forecast.hours_between(after(1), after(3))] == [1, 2]
    assert [h.air_c for h in forecast.hours_between(after(1.5), after(3.1))] == [1, 2, 3]


def test_the_day_the_clocks_go_forward_has_23_hours():
    zone = ZoneInfo("America/New_York")
    midnight, next_midnight = datetime(2026, 3, 8, tzinfo=zone), datetime(2026, 3, 9, tzinfo=zone)
    first = midnight.astimezone(UTC)
    forecast = Forecast(tuple(WeatherHour(at=first + timedelta(hours=n), air_c=n) for n in range(23)))
    assert forecast.covers(midnight, next_midnight)
    assert forecast.at(datetime(2026, 3, 8, 7, tzinfo=zone)).air_c == 6


@given(
    air=st.lists(st.none() | st.floats(-20, 40), min_size=1, max_size=12),
    offsets=st.lists(st.floats(-2, 15), min_size=1, max_size=8),
)
def test_a_series_says_the_same_as_single_moments(air, offsets):
    forecast = Forecast(tuple(hour(n, air_c=value) for n, value in enumerate(air)))
    moments = [after(offset) for offset in offsets]
    series = forecast.series("air_c", np.array([moment.timestamp() for moment in moments]))
    singles = [forecast.at(moment).air_c for moment in moments]
    assert [None if np.isnan(value) else value for value in series] == singles


@given(air=st.lists(st.floats(-20, 40), min_size=2, max_size=12), offset=st.floats(0, 11))
def test_a_reading_never_leaves_the_range_of_its_two_hours(air, offset):
    forecast = Forecast(tuple(hour(n, air_c=value) for n, value in enumerate(air)))
    reading = forecast.at(after(offset)).air_c
    if offset < len(air):
        pair = air[int(offset) : int(offset) + 2]
        assert min(pair) - 1e-9 <= reading <= max(pair) + 1e-9
    else:
        assert reading is None


def findings_of(*hours: WeatherHour, until: float = 6):
    return sky_findings(Forecast(hours), after(0), after(until))


def test_likely_rain_before_the_slab_is_hard_is_told_with_its_span():
    (finding,) = findings_of(
        *(
            hour(n, rain_chance=chance, rain_mm=mm)
            for n, (chance, mm) in enumerate([(0.1, 0), (0.4, 0), (0.7, 2.5)])
        ),
        *(hour(n, rain_chance=0.0, rain_mm=0.0) for n in range(3, 6)),
    )
    assert (finding.severity, finding.code) == (Severity.CAUTION, "rain")
    assert (finding.facts["first_at"], finding.facts["last_at"]) == (after(1), after(3))
    assert (finding.facts["highest_chance"], finding.facts["total_mm"]) == (0.7, 2.5)


def test_an_amount_of_rain_counts_without_a_chance():
    (finding,) = findings_of(*(hour(n, rain_mm=0.3) for n in range(6)))
    assert finding.code == "rain"
    assert finding.facts["highest_chance"] is None


def test_rain_after_the_slab_is_hard_is_let_be():
    dry = [hour(n, rain_chance=0.1) for n in range(6)]
    assert findings_of(*dry, hour(6, rain_chance=0.9)) == ()


def test_thunder_is_told_beside_rain():
    codes = [f.code for f in findings_of(*(hour(n, rain_chance=0.5, thunder_chance=0.25) for n in range(6)))]
    assert codes == ["rain", "thunder"]


def test_a_forecast_that_ends_too_soon_is_told():
    (finding,) = findings_of(*(hour(n, rain_chance=0.0) for n in range(4)))
    assert finding.code == "weather_unknown"
    assert (finding.facts["missing"], finding.facts["from_at"]) == ("rain", after(4))


def test_hours_that_do_not_tell_rain_are_told():
    (finding,) = findings_of(*(hour(n, air_c=20) for n in range(6)))
    assert finding.facts["from_at"] == after(0)


# --- how old it is -----------------------------------------------------------------------------


def test_a_forecast_is_marked_over_six_hours_and_not_at_six():
    # Our choice of limit.
    assert forecast_age_findings(None) == forecast_age_findings(0.0) == forecast_age_findings(6.0) == ()
    (finding,) = forecast_age_findings(6.1)
    assert (finding.severity, finding.code, finding.facts) == (Severity.NOTE, "forecast_old", {"age_h": 6.1})
