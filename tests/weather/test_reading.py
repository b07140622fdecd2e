"""A document of unknown kind is told apart by what it holds."""

from contextlib import suppress
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.forecast import Forecast
from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.reading import read_document

DATA = Path(__file__).parent.parent / "data"


@pytest.mark.parametrize(
    ("name", "provider", "count"),
    [
        ("nws_hourly.json", "nws_hourly", 4),
        ("nws_grid.json", "nws_grid", 33),
        ("open_meteo.json", "open_meteo", 4),
        ("station_us.csv", "hourly_file", 3),
        ("station_si_semicolons.csv", "hourly_file", 2),
    ],
)
def test_each_kind_is_known_and_makes_a_forecast(name, provider, count):
    document = read_document((DATA / name).read_text(encoding="utf-8"))
    assert (document.provider, len(document.hours)) == (provider, count)
    assert Forecast(document.hours).at(document.hours[0].at).at == document.hours[0].at


def test_columns_zone_and_what_is_left_out_pass_through():
    text = "time,t,x\n2026-05-11 07:00,15,1\n"
    document = read_document(text, {"t": "air_c:degC"}, ZoneInfo("America/New_York"))
    assert (document.hours[0].air_c, document.hours[0].at.hour, document.ignored) == (15.0, 11, ("x",))


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "empty"),
        ("\ufeff \n", "empty"),
        ('{"properties": ', "JSON"),
        ("[1, 2]", "list"),
        ("[" * 100_000, "JSON"),
        ("{}", "properties"),
        ('{"properties": {"gridId": "XXX"}}', "no hours"),
        ('{"properties": {"forecastHourly": "https://example.org/hourly"}}', "where the forecast is"),
        ('{"error": true, "reason": "No such place"}', "No such place"),
        ('{"status": 500, "title": "Unexpected Problem"}', "Unexpected Problem"),
        ("hello", "column names"),
    ],
)
def test_what_is_no_forecast_is_refused_in_a_sentence(text, word):
    with pytest.raises(WeatherUnreadable, match=word):
        read_document(text)


def test_numbers_json_does_not_have_are_unknown():
    text = (DATA / "open_meteo.json").read_text(encoding="utf-8").replace("15.0", "NaN")
    assert read_document(text).hours[0].air_c is None


@given(st.text(max_size=200) | st.text(alphabet='{}[],:;"\n 2026-05T1Zaircm[]', max_size=200))
def test_no_text_does_worse_than_be_refused(text):
    with suppress(WeatherUnreadable):
        assert read_document(text).hours
