"""Forecast documents in Open-Meteo's shape."""

import copy
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.open_meteo import parse

DOCUMENT = json.loads((Path(__file__).parent.parent / "data/open_meteo.json").read_text(encoding="utf-8"))
START = datetime(2026, 5, 11, 11, tzinfo=UTC)


def changed(*, hourly=(), units=(), **top) -> dict:
    document = copy.deepcopy(DOCUMENT) | top
    document["hourly"] |= dict(hourly)
    document["hourly_units"] |= dict(units)
    return document


def test_local_times_are_carried_by_the_documents_offset():
    assert [hour.at for hour in parse(DOCUMENT)] == [START + timedelta(hours=n) for n in range(4)]


def test_values_at_the_time_stand_at_their_hour():
    hours = parse(DOCUMENT)
    assert [hour.air_c for hour in hours] == [15.0, 18.2, 21.0, None]
    assert [hour.wind_10m_m_s for hour in hours] == pytest.approx([2.0, 3.0, 4.0, 5.0])
    assert [hour.cloud for hour in hours] == pytest.approx([0.1, 0.2, 0.55, 0.9])
    assert hours[0].humidity == pytest.approx(0.8)
    assert hours[3].humidity is None


def test_sums_and_means_of_the_hour_before_stand_at_that_hour():
    # The service states rain, its chance, gusts and sun for the hour that ends at the time given.
    hours = parse(DOCUMENT)
    assert [hour.rain_mm for hour in hours] == [0.0, 0.4, 1.2, None]
    assert [hour.rain_chance for hour in hours] == pytest.approx([0.1, 0.35, 0.6, None])
    assert [hour.sun_w_m2 for hour in hours] == [120.0, 260.0, 240.0, None]
    assert hours[0].gust_10m_m_s == pytest.approx(5.0)


def test_units_are_read_from_the_document():
    document = changed(
        hourly={"temperature_2m": [59, 68, 77, 86], "wind_speed_10m": [10, 10, 10, 10]},
        units={"temperature_2m": "°F", "wind_speed_10m": "mp/h"},
    )
    hours = parse(document)
    assert [hour.air_c for hour in hours] == pytest.approx([15, 20, 25, 30])
    assert hours[0].wind_10m_m_s == pytest.approx(4.4704)


def test_a_column_in_an_unknown_or_missing_unit_is_unknown():
    assert parse(changed(units={"wind_speed_10m": "Bft"}))[0].wind_10m_m_s is None
    document = copy.deepcopy(DOCUMENT)
    del document["hourly_units"]["wind_speed_10m"]
    assert parse(document)[0].wind_10m_m_s is None
    assert parse(document)[0].air_c == 15.0


def test_older_spellings_are_read():
    document = copy.deepcopy(DOCUMENT)
    for block in ("hourly", "hourly_units"):
        document[block]["relativehumidity_2m"] = document[block].pop("relative_humidity_2m")
        document[block]["windspeed_10m"] = document[block].pop("wind_speed_10m")
    assert parse(document) == parse(DOCUMENT)


def test_posix_times_are_utc_already():
    seconds = [int((START + timedelta(hours=n)).timestamp()) for n in range(4)]
    assert parse(changed(hourly={"time": seconds}, units={"time": "unixtime"})) == parse(DOCUMENT)


def test_an_error_answer_is_told_with_its_reason():
    with pytest.raises(WeatherUnreadable, match="Latitude must be"):
        parse({"error": True, "reason": "Latitude must be in range"})


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"hourly": []},
        {"hourly": {"time": None}},
        changed(hourly={"time": []}),
        changed(utc_offset_seconds=None),
        changed(utc_offset_seconds="-18000"),
        changed(utc_offset_seconds=1e300),
        changed(hourly={"time": ["2026-05-11T06:00"] * 4}),
        changed(hourly={"time": ["2026-05-11T06:00Z", "x", None, 7]}),
        changed(
            hourly={"time": ["0001-01-01T00:00", "0001-01-01T01:00", "0001-01-01T02:00", "0001-01-01T03:00"]}
        ),
        changed(hourly={"temperature_2m": [15.0]}),
        changed(hourly={"temperature_2m": 15.0}),
        changed(hourly={"time": [1e18] * 4}, units={"time": "unixtime"}),
    ],
)
def test_a_document_that_does_not_hold_together_is_refused(document):
    with pytest.raises(WeatherUnreadable):
        parse(document)
