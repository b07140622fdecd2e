"""The U.S. weather service's documents: hourly periods and grid layers."""

import copy
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.nws import interval_of, parse_grid, parse_hourly

DATA = Path(__file__).parent.parent / "data"
HOURLY = json.loads((DATA / "nws_hourly.json").read_text(encoding="utf-8"))
GRID = json.loads((DATA / "nws_grid.json").read_text(encoding="utf-8"))
START = datetime(2026, 5, 11, 11, tzinfo=UTC)
MPH = 0.44704


def after(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def grid_with(**layers) -> dict:
    return {"properties": layers}


def layer(*values: tuple[str, object], uom: str = "wmoUnit:mm") -> dict:
    return {"uom": uom, "values": [{"validTime": when, "value": value} for when, value in values]}


# --- hourly periods ----------------------------------------------------------------------------


def test_periods_become_hours_in_utc():
    assert [hour.at for hour in parse_hourly(HOURLY)] == [after(n) for n in range(4)]


def test_the_older_temperature_number_and_the_newer_quantity_are_both_read():
    assert [round(hour.air_c, 6) for hour in parse_hourly(HOURLY)] == [15.0, 20.0, 25.0, 26.0]


def test_wind_words_and_quantities_are_both_read_and_breezy_is_unknown():
    winds = [hour.wind_10m_m_s for hour in parse_hourly(HOURLY)]
    assert winds[0] == pytest.approx(10 * MPH)
    assert winds[1] == 0.0
    assert winds[2] is None
    assert winds[3] == pytest.approx(15 * MPH, rel=1e-4)


def test_a_range_as_a_quantity_is_read_at_its_upper_end():
    document = copy.deepcopy(HOURLY)
    document["properties"]["periods"][3]["windSpeed"] |= {"value": None, "minValue": 18, "maxValue": 36}
    assert parse_hourly(document)[3].wind_10m_m_s == pytest.approx(10.0)


def test_nulls_stay_unknown():
    hours = parse_hourly(HOURLY)
    assert hours[1].rain_chance is None
    assert hours[2].humidity is None
    assert hours[0].gust_10m_m_s is None
    assert hours[1].gust_10m_m_s == pytest.approx(20 * MPH)


def test_what_the_document_does_not_tell_is_unknown():
    hour = parse_hourly(HOURLY)[0]
    assert (hour.sun_w_m2, hour.cloud, hour.rain_mm, hour.thunder_chance) == (None, None, None, None)


def test_words_of_wind_are_no_humidity():
    document = copy.deepcopy(HOURLY)
    document["properties"]["periods"][0]["relativeHumidity"] = "1 mph"
    assert parse_hourly(document)[0].humidity is None


def test_a_twelve_hour_forecast_is_refused():
    document = copy.deepcopy(HOURLY)
    document["properties"]["periods"][0]["endTime"] = "2026-05-11T18:00:00-05:00"
    with pytest.raises(WeatherUnreadable, match="hourly"):
        parse_hourly(document)


def test_the_same_hour_twice_is_refused():
    document = copy.deepcopy(HOURLY)
    document["properties"]["periods"].append(document["properties"]["periods"][0])
    with pytest.raises(WeatherUnreadable, match="overlaps"):
        parse_hourly(document)


@pytest.mark.parametrize("properties", [{}, {"periods": None}, {"periods": [3]}, {"periods": []}])
def test_a_document_without_periods_is_refused(properties):
    with pytest.raises(WeatherUnreadable):
        parse_hourly({"properties": properties})


def test_an_error_answer_is_told_as_one():
    answer = {"type": "about:blank", "title": "Forecast Grid Expired", "status": 503, "detail": "…"}
    for parse in (parse_hourly, parse_grid):
        with pytest.raises(WeatherUnreadable, match="Forecast Grid Expired"):
            parse(answer)


# --- grid layers -------------------------------------------------------------------------------


def by_hour() -> dict:
    return {hour.at: hour for hour in parse_grid(GRID)}


def test_an_interval_is_spread_over_each_hour_it_covers():
    hours = by_hour()
    assert [hours[after(n)].air_c for n in range(6)] == [15.0, 20.0, 20.0, None, 24.5, 24.5]
    assert [hours[after(n)].humidity for n in range(7)] == [0.6] * 6 + [None]


def test_a_day_and_six_hours_is_thirty_hours():
    assert sum(hour.dew_point_c == 11.0 for hour in parse_grid(GRID)) == 30


def test_rain_of_an_interval_is_shared_over_its_hours():
    hours = by_hour()
    assert [hours[after(n)].rain_mm for n in range(-3, 3)] == [pytest.approx(1.0)] * 6
    assert [hours[after(n)].rain_mm for n in range(3, 6)] == [pytest.approx(0.5)] * 3


def test_rain_of_an_interval_between_hours_is_shared_by_length():
    rain = layer(("2026-05-11T11:30:00+00:00/PT1H", 4.0))
    assert [hour.rain_mm for hour in parse_grid(grid_with(quantitativePrecipitation=rain))] == [2.0, 2.0]


def test_wind_is_carried_from_km_h_and_null_wind_is_unknown():
    hours = by_hour()
    assert [hours[after(n)].wind_10m_m_s for n in range(2, 4)] == [pytest.approx(5.0), None]


def test_an_unknown_unit_drops_its_layer_only(caplog):
    hours = by_hour()
    assert all(hour.gust_10m_m_s is None for hour in hours.values())
    assert "furlong" in caplog.text
    assert hours[after(0)].cloud == 0.75


def test_thunder_comes_from_the_weather_words_where_there_is_no_number():
    hours = by_hour()
    assert [hours[after(n)].thunder_chance for n in (2, 3, 6)] == [0.0, 0.4, None]


def test_a_number_of_thunder_comes_before_the_words():
    document = copy.deepcopy(GRID)
    document["properties"]["probabilityOfThunder"] = layer(
        ("2026-05-11T14:00:00+00:00/PT1H", 12), uom="percent"
    )
    hours = {hour.at: hour for hour in parse_grid(document)}
    assert [hours[after(n)].thunder_chance for n in (3, 4)] == [0.12, 0.4]


def test_thunder_of_unknown_coverage_is_unknown():
    kind = [{"coverage": "now_and_then", "weather": "thunderstorms"}]
    document = grid_with(weather=layer(("2026-05-11T11:00:00+00:00/PT1H", kind)))
    document["properties"]["temperature"] = layer(("2026-05-11T11:00:00+00:00/PT1H", 20), uom="unit:degC")
    assert parse_grid(document)[0].thunder_chance is None


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("2019-07-04T18:00:00+00:00/PT3H", 3),
        ("2019-07-04T18:00:00+00:00/P1DT6H", 30),
        ("2019-07-04T18:00:00+00:00/P7D", 168),
        ("2019-07-04T18:00:00+00:00/PT90M", 1.5),
    ],
)
def test_intervals_are_read_in_days_hours_and_minutes(text, hours):
    start, end = interval_of(text)
    assert start == datetime(2019, 7, 4, 18, tzinfo=UTC)
    assert end - start == timedelta(hours=hours)


@pytest.mark.parametrize(
    "text",
    [
        "2019-07-04T18:00:00+00:00",
        "2019-07-04T18:00:00/PT3H",
        "2019-07-04T18:00:00+00:00/PT",
        "2019-07-04T18:00:00+00:00/P",
        "2019-07-04T18:00:00+00:00/P1M",
        "2019-07-04T18:00:00+00:00/PT0H",
        "2019-07-04T18:00:00+00:00/P999D",
        "2019-07-04T18:00:00+00:00/PT-3H",
        "/PT3H",
        None,
        17,
    ],
)
def test_what_is_no_interval_is_refused(text):
    with pytest.raises(WeatherUnreadable):
        interval_of(text)


def test_a_grid_without_layers_is_refused():
    with pytest.raises(WeatherUnreadable):
        parse_grid(grid_with(gridId="XXX"))
