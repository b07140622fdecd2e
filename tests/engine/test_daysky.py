"""The sky over one pour."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from scheduling.engine.daysky import day_sky
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Mix, Place, WeatherHour

PHOENIX = Place(latitude=33.4484, longitude=-112.0740)
START = datetime(2025, 6, 21, 11, 40, tzinfo=UTC)  # 4:40 in the morning there
MINUTE = timedelta(minutes=1)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def forecast(hours=30):
    first = START.replace(minute=0)
    return Forecast(
        tuple(
            WeatherHour(at=first + timedelta(hours=n), air_c=20.0 + n, rain_chance=n / 100)
            for n in range(hours)
        )
    )


def test_every_hour_that_holds_some_of_the_day_is_kept():
    sky = day_sky(forecast(), PHOENIX, MIX, START, START + timedelta(hours=2))
    assert [hour.at.hour for hour in sky.hours] == [11, 12, 13]
    assert [(hour.air_c, hour.rain_chance) for hour in sky.hours] == [(20.0, 0.0), (21.0, 0.01), (22.0, 0.02)]


def test_what_the_forecast_does_not_tell_is_not_known():
    *_, last = day_sky(forecast(2), PHOENIX, MIX, START, START + timedelta(hours=4)).hours
    assert (last.air_c, last.rain_chance, last.gust_m_s) == (None, None, None)


def test_night_ends_at_sunrise_and_begins_at_sunset():
    # Phoenix, 21 June 2025: 05:19:17 and 19:41:10 (astral, NOAA's zenith of 90.833°)
    morning, evening = day_sky(forecast(), PHOENIX, MIX, START, START + timedelta(hours=20)).nights
    assert morning.opens_at == START.replace(minute=0)
    assert abs(morning.closes_at - datetime(2025, 6, 21, 12, 19, 17, tzinfo=UTC)) < MINUTE
    assert abs(evening.opens_at - datetime(2025, 6, 22, 2, 41, 10, tzinfo=UTC)) < MINUTE
    assert evening.closes_at == START.replace(minute=0) + timedelta(hours=21)


def test_by_day_there_is_no_night():
    assert (
        day_sky(forecast(), PHOENIX, MIX, START + timedelta(hours=3), START + timedelta(hours=5)).nights == ()
    )


def test_where_the_site_is_not_known_neither_is_the_night():
    assert day_sky(forecast(), Place(), MIX, START, START + timedelta(hours=20)).nights == ()


def test_the_limit_of_drying_is_the_mixs():
    # ACI 305R; Silica Fume Association
    fume = replace(MIX, silica_fume=True)
    limits = [day_sky(forecast(), PHOENIX, mix, START, START).drying_limit_kg_m2_h for mix in (MIX, fume)]
    assert limits == [1.0, 0.5]
