"""What the forecast means for people and booms."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.crewweather import (
    BOOM_GUST_M_S,
    boom_wind_findings,
    crew_weather,
    crew_weather_findings,
)
from scheduling.engine.forecast import Forecast
from scheduling.engine.heat import Work, wbgt_abm_c, wbgt_bernard1999_c
from scheduling.engine.inputs import BadInput, Place, Severity, WeatherHour

NOON = datetime(2026, 6, 21, 18, tzinfo=UTC)  # about noon at 90° west
SIX_H = timedelta(hours=6)
OPEN, ROOF = Place(), Place(indoors=True)
PRAIRIE = Place(latitude=35.0, longitude=-90.0)


def c(fahrenheit):
    return (fahrenheit - 32) / 1.8


def forecast(*airs_c, **fields):
    told = {"humidity": 0.5, "wind_10m_m_s": 3.0, "sun_w_m2": 800.0} | fields
    return Forecast(
        tuple(
            WeatherHour(at=NOON + timedelta(hours=n), air_c=air_c, **told) for n, air_c in enumerate(airs_c)
        )
    )


def found(weather, place=OPEN):
    return {f.code: f for f in crew_weather_findings(weather, NOON, NOON + SIX_H, place)}


def boom(*gusts_m_s, **fields):
    hours = (
        WeatherHour(at=NOON + timedelta(hours=n), gust_10m_m_s=gust, **fields)
        for n, gust in enumerate(gusts_m_s)
    )
    return Forecast(tuple(hours))


# --- what people feel -------------------------------------------------------------------------


def test_a_sunny_afternoon_is_felt_as_the_estimate_with_the_wind_where_people_stand():
    felt = crew_weather(forecast(32.0), NOON, OPEN)
    at_ten_m, at_people = (wbgt_bernard1999_c(32.0, 0.5, wind, 800.0) for wind in (3.0, 1.5))
    assert at_ten_m < felt.wbgt_c < at_people


def test_under_a_roof_there_is_neither_sun_nor_wind():
    assert crew_weather(forecast(32.0), NOON, ROOF).wbgt_c == wbgt_bernard1999_c(32.0, 0.5, 0.0, 0.0)
    assert crew_weather(forecast(-5.0, wind_10m_m_s=9.0), NOON, ROOF).chill_c == -5.0
    assert crew_weather(forecast(-5.0, wind_10m_m_s=9.0), NOON, OPEN).chill_c < -12


def test_where_only_the_cloud_is_told_the_suns_height_makes_up_for_it():
    cloudless, overcast = (forecast(32.0, sun_w_m2=None, cloud=cloud) for cloud in (0.0, 1.0))
    clear, dull = (crew_weather(weather, NOON, PRAIRIE).wbgt_c for weather in (cloudless, overcast))
    assert clear == pytest.approx(crew_weather(forecast(32.0, sun_w_m2=860.0), NOON, OPEN).wbgt_c, abs=0.2)
    assert dull < clear - 3
    night = crew_weather(
        Forecast((WeatherHour(at=NOON + 2 * SIX_H, air_c=32.0, humidity=0.5),)), NOON + 2 * SIX_H, PRAIRIE
    )
    assert night.wbgt_c < dull


def test_where_nothing_tells_the_sun_it_is_taken_as_fair():
    # The Australian Bureau of Meteorology's approximation
    assert crew_weather(forecast(32.0, sun_w_m2=None), NOON, OPEN).wbgt_c == wbgt_abm_c(32.0, 0.5)


def test_what_the_forecast_does_not_tell_is_unknown_and_slows_nobody():
    dry = crew_weather(forecast(38.0, humidity=None), NOON, OPEN)
    assert (dry.wbgt_c, dry.heat_index_c, dry.capacity()) == (None, None, 1.0)
    assert crew_weather(forecast(-20.0, wind_10m_m_s=None), NOON, OPEN).chill_c is None
    beyond = crew_weather(forecast(38.0), NOON + SIX_H, OPEN)
    assert (beyond.wbgt_c, beyond.chill_c, beyond.capacity()) == (None, None, 1.0)


def test_a_mild_day_leaves_people_all_their_work_and_a_sweltering_one_a_quarter_of_heavy_work():
    assert crew_weather(forecast(20.0), NOON, OPEN).capacity() == 1.0
    swelter = crew_weather(forecast(38.0), NOON, OPEN)
    assert swelter.wbgt_c > 31.2
    assert swelter.capacity() == 0.25
    assert crew_weather(forecast(33.0), NOON, OPEN).capacity(Work.LIGHT) > crew_weather(
        forecast(33.0), NOON, OPEN
    ).capacity(Work.HEAVY)


def test_bitter_cold_leaves_less_of_it():
    assert 0.6 <= crew_weather(forecast(-15.0, wind_10m_m_s=8.0), NOON, OPEN).capacity() < 0.8


# --- what is said -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("air_f", "severity"), [(79, None), (82, Severity.NOTE), (92, Severity.CAUTION), (118, Severity.STOP)]
)
def test_heat_is_told_of_from_eighty_and_stops_a_pour_only_at_its_worst(air_f, severity):
    # Heat index at 40 %: 79, 82, 94 and over 125 °F. OSHA proposed 80 and 90 °F in 2024 (from memory); the
    # weather service has extreme danger from 125.
    told = found(forecast(*[c(air_f)] * 6, humidity=0.4)).get("heat_illness")
    assert (told.severity if told else None) == severity


def test_heat_illness_tells_when_how_hot_and_what_new_people_may_do():
    facts = found(forecast(25.0, c(88), c(94), c(96), c(90), 25.0))["heat_illness"].facts
    assert facts["peak_at"] == NOON + timedelta(hours=3)
    assert (facts["first_at"], facts["last_at"]) == (NOON + timedelta(hours=1), NOON + timedelta(hours=5))
    # NIOSH 2014: 20 % of the usual exposure on the first day.
    assert facts["new_people_fraction"] == 0.2
    # OSHA's proposal of 2024 (from memory)
    assert (facts["rest_min"], facts["rest_every_h"]) == (15, 2)
    assert facts["local_rules_govern"] is True


def test_people_slowed_by_heat_are_told_of_at_the_worst_hour():
    slowed = found(forecast(24.0, 28.0, 32.0, 30.0, 24.0, 24.0))["heat_slows_people"]
    assert slowed.facts["worst_at"] == NOON + timedelta(hours=2)
    assert slowed.facts["left_percent"] == pytest.approx(
        100 * crew_weather(forecast(24.0, 28.0, 32.0), NOON + timedelta(hours=2), OPEN).capacity()
    )
    assert "heat_slows_people" not in found(forecast(*[20.0] * 6))


def test_people_slowed_by_cold_are_told_of_and_not_under_a_roof():
    cold = forecast(*[-8.0] * 6, wind_10m_m_s=8.0)
    assert found(cold)["cold_slows_people"].facts["left_percent"] < 90
    assert "cold_slows_people" not in found(forecast(*[-1.0] * 6, wind_10m_m_s=8.0), ROOF)


def test_without_a_forecast_nothing_is_said():
    assert found(Forecast(())) == {}


# --- the boom ---------------------------------------------------------------------------------


def told_of_boom(weather, hours=3, **limit):
    return {f.code: f for f in boom_wind_findings(weather, NOON, NOON + timedelta(hours=hours), **limit)}


def test_gusts_over_the_makers_limit_stop_a_boom():
    stop = told_of_boom(boom(8.0, 14.0, 13.5))["boom_wind"]
    assert stop.severity is Severity.STOP
    assert stop.facts["gust_m_s"] == 14.0
    assert stop.facts["peak_at"] == NOON + timedelta(hours=1)
    assert (stop.facts["first_at"], stop.facts["last_at"]) == (
        NOON + timedelta(hours=1),
        NOON + timedelta(hours=3),
    )


def test_gusts_at_the_limit_are_only_watched_as_are_those_over_twenty_miles_an_hour():
    # ASCC safety round table: 20 to 22 mph as a starting point; each maker has its own limit.
    assert told_of_boom(boom(BOOM_GUST_M_S))["boom_wind"].severity is Severity.CAUTION
    assert told_of_boom(boom(9.0, 9.0, 9.0))["boom_wind"].severity is Severity.CAUTION
    assert told_of_boom(boom(8.9, 8.9, 8.9)) == {}


def test_a_boom_with_a_lower_limit_stops_earlier():
    assert told_of_boom(boom(8.0, 8.0, 8.0), limit_m_s=7.0)["boom_wind"].severity is Severity.STOP
    with pytest.raises(BadInput):
        told_of_boom(boom(8.0), limit_m_s=0.0)


def test_a_mean_wind_alone_never_stops_a_boom_but_is_warned_of():
    warned = told_of_boom(boom(None, None, None, wind_10m_m_s=10.0))["boom_wind"]
    assert warned.severity is Severity.CAUTION
    assert warned.facts["over_limit"] is True
    assert warned.facts["gust_told"] is False


def test_wind_that_is_not_told_is_unknown():
    unknown = told_of_boom(boom(5.0, None, 5.0))["weather_unknown"]
    assert unknown.facts == {"missing": "wind", "from_at": NOON + timedelta(hours=1)}
