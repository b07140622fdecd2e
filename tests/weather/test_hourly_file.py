"""Hourly weather from files of separated values."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.hourly_file import parse, read

DATA = Path(__file__).parent.parent / "data"
START = datetime(2026, 5, 11, 11, tzinfo=UTC)
MPH = 0.44704
NEW_YORK = ZoneInfo("America/New_York")


def lines(*rows: str) -> str:
    return "\n".join(rows) + "\n"


def problems(text: str, **how) -> list[tuple[int | None, str]]:
    with pytest.raises(WeatherUnreadable) as caught:
        read(text, **how)
    return [tuple(problem) for problem in caught.value.problems]


# --- what is read ------------------------------------------------------------------------------


def test_a_us_file_is_read_by_the_units_in_its_header():
    hours = parse((DATA / "station_us.csv").read_text(encoding="utf-8"))
    assert [hour.at for hour in hours] == [START + timedelta(hours=n) for n in range(3)]
    assert [hour.air_c for hour in hours] == pytest.approx([15, 20, 25])
    assert hours[0].wind_10m_m_s == pytest.approx(10 * MPH)
    assert hours[1].rain_mm == pytest.approx(2.54)
    assert hours[0].humidity == pytest.approx(0.78)


def test_blank_and_na_cells_are_unknown_and_never_zero():
    hours = parse((DATA / "station_us.csv").read_text(encoding="utf-8"))
    assert (hours[0].gust_10m_m_s, hours[1].wind_10m_m_s) == (None, None)
    assert (hours[2].humidity, hours[2].dew_point_c, hours[2].rain_mm) == (None, None, None)


def test_columns_not_known_are_left_out_and_told():
    assert read((DATA / "station_us.csv").read_text(encoding="utf-8")).ignored == ("station",)


def test_a_byte_order_mark_semicolons_and_decimal_commas_are_read():
    text = (DATA / "station_si_semicolons.csv").read_text(encoding="utf-8")
    assert text.startswith("\ufeff")
    hours = parse(text)
    assert [hour.air_c for hour in hours] == [15.5, 18.25]
    assert [hour.wind_10m_m_s for hour in hours] == [2.5, 3.0]
    assert [hour.rain_mm for hour in hours] == [0.0, 0.4]


def test_times_of_a_column_that_names_its_zone_are_in_that_zone():
    hours = parse((DATA / "station_si_semicolons.csv").read_text(encoding="utf-8"), zone=NEW_YORK)
    assert hours[0].at == START
    text = lines("time [America/Chicago],air [C]", "2026-05-11 06:00,15")
    assert parse(text)[0].at == START


def test_tabs_part_cells_too():
    assert parse(lines("time\tair [C]", "2026-05-11T11:00Z\t15"))[0].air_c == 15


def test_rows_out_of_order_are_sorted():
    text = lines("time,air [C]", "2026-05-11T12:00Z,16", "", "2026-05-11T11:00Z,15")
    assert [hour.air_c for hour in parse(text)] == [15, 16]


def test_quarter_hours_are_averaged_and_their_rain_summed():
    text = lines(
        "time,air [C],wind gust [m/s],rain [mm]",
        "2026-05-11T11:00Z,15,5,0.2",
        "2026-05-11T11:15Z,16,9,0.0",
        "2026-05-11T11:30Z,,6,0.4",
        "2026-05-11T11:45Z,20,4,0.0",
        "2026-05-11T12:00Z,21,4,",
        "2026-05-11T12:30Z,23,4,1.0",
    )
    first, second = parse(text)
    assert (first.air_c, first.gust_10m_m_s) == (17.0, 9.0)
    assert first.rain_mm == pytest.approx(0.6)
    assert (second.air_c, second.rain_mm) == (22.0, None)


def test_an_hour_is_that_of_the_files_own_clock():
    text = lines("time,air [C]", "2026-05-11 06:00+05:30,15", "2026-05-11 06:30+05:30,17")
    (hour,) = parse(text)
    assert hour.at == datetime(2026, 5, 11, 0, 30, tzinfo=UTC)
    assert hour.air_c == 16.0


def test_the_nameless_first_column_of_a_saved_table_is_its_time():
    assert parse(lines(",air [C]", "2026-05-11 06:00:00-05:00,15"))[0].at == START


@pytest.mark.parametrize(
    ("header", "field"),
    [
        ("temp_air [C]", "air_c"),
        ("Dry Bulb (C)", "air_c"),
        ("temp_dew [C]", "dew_point_c"),
        ("dewp (C)", "dew_point_c"),
        ("relative_humidity [%]", "humidity"),
        ("humid [percent]", "humidity"),
        ("Wind_Speed [m/s]", "wind_10m_m_s"),
        ("wind_gust [m/s]", "gust_10m_m_s"),
        ("ghi [W/m2]", "sun_w_m2"),
        ("precip (mm)", "rain_mm"),
        ("chance of rain [%]", "rain_chance"),
        ("cloud cover [%]", "cloud"),
    ],
)
def test_headers_are_known_by_several_names(header, field):
    hour = parse(lines(f"time,{header}", "2026-05-11T11:00Z,1"))[0]
    assert getattr(hour, field) is not None


# --- units told by the caller ------------------------------------------------------------------

BARE = lines("when,temp_air,wind_speed,pressure", "2026-05-11T11:00Z,59,10,1012")


def test_a_file_without_units_is_read_by_what_the_caller_says():
    file = read(BARE, {"when": "time", "temp_air": "air_c:degF"})
    assert file.hours[0].air_c == pytest.approx(15.0)
    assert file.hours[0].wind_10m_m_s is None
    assert file.ignored == ("wind_speed", "pressure")


def test_what_the_caller_says_comes_before_the_header():
    text = lines("time,air [C]", "2026-05-11T11:00Z,59")
    assert parse(text, {"Air [C]": "air_c:degF"})[0].air_c == pytest.approx(15.0)


@pytest.mark.parametrize(
    ("columns", "word"),
    [
        ({"when": "time", "temp": "air_c:degC"}, "no column"),
        ({"when": "time", "temp_air": "air:degC"}, "cannot be read as"),
        ({"when": "time", "temp_air": "air_c"}, "no unit"),
        ({"when": "time", "temp_air": "air_c:mph"}, "can be in"),
        ({"when": "time", "temp_air": "air_c:degC", "pressure": "air_c:degC"}, "once more"),
        ({"temp_air": "air_c:degC"}, "tells the time"),
    ],
)
def test_what_the_caller_says_must_fit_the_file(columns, word):
    (problem,) = problems(BARE, columns=columns)
    assert word in problem[1]
    assert problem[0] == 1


# --- what is refused ---------------------------------------------------------------------------


def test_a_measured_column_without_a_unit_is_refused_by_name():
    told = problems(lines("time,temp_air,wind_speed", "2026-05-11T11:00Z,15,3"))
    assert [line for line, _ in told] == [1, 1]
    assert "'temp_air'" in told[0][1]
    assert "'wind_speed'" in told[1][1]


def test_an_unknown_unit_is_refused_with_those_known():
    ((line, sentence),) = problems(lines("time,wind [Bft]", "2026-05-11T11:00Z,3"))
    assert line == 1
    assert "mph" in sentence


def test_a_file_without_times_is_refused():
    assert "time" in problems(lines("month,day,hour,air [C]", "5,1,1,21"))[0][1]


@pytest.mark.parametrize("text", ["", "\n\n", "time,air [C]\n", "time,air [C]"])
def test_a_file_without_rows_is_refused(text):
    assert problems(text)


def test_a_file_of_no_weather_is_refused():
    assert "any weather" in problems(lines("time,site", "2026-05-11T11:00Z,x"))[0][1]


def test_every_faulty_row_is_told_and_none_is_taken():
    told = problems(
        lines(
            "time,air [C],humidity [%]",
            "2026-05-11T11:00Z,15,80",
            "2026-05-11T12:00Z,warm,800",
            "2026-05-11T13:00Z,15",
            "11/05/2026 14:00,15,80",
            "2026-05-11,15,80",
            "2026-05-11T15:00Z,98,80",
        )
    )
    assert [line for line, _ in told] == [3, 3, 4, 5, 6, 7]
    assert "unit" in told[-1][1]


def test_a_decimal_comma_beside_commas_is_no_number():
    assert problems(lines("time,air [C]", '2026-05-11T11:00Z,"15,5"'))[0][0] == 2


@pytest.mark.parametrize("cell", ["1_000", "٣", "0x10", "1.2.3", "inf", "--5", "1 5"])
def test_what_python_would_take_for_a_number_is_not_taken(cell):
    assert problems(lines("time,air [C]", f"2026-05-11T11:00Z,{cell}"))[0][0] == 2


def test_the_same_time_twice_is_refused_with_both_lines():
    ((line, sentence),) = problems(lines("time,air [C]", "2026-05-11T11:00Z,15", "2026-05-11 06:00-05:00,16"))
    assert line == 3
    assert "line 2" in sentence


def test_times_without_an_offset_need_a_zone():
    text = lines("time,air [C]", "2026-05-11 07:00,15")
    assert "time zone" in problems(text)[0][1]
    assert parse(text, zone=NEW_YORK)[0].at == START


def test_a_local_time_the_clocks_skip_is_refused():
    text = lines("time,air [C]", "2026-03-08 01:00,2", "2026-03-08 02:00,3", "2026-03-08 03:00,4")
    ((line, sentence),) = problems(text, zone=NEW_YORK)
    assert line == 3
    assert "skipped" in sentence


def test_a_local_time_the_clocks_show_twice_needs_its_offset():
    told = problems(lines("time,air [C]", "2026-11-01 01:00,9"), zone=NEW_YORK)
    assert "twice" in told[0][1]
    text = lines("time,air [C]", "2026-11-01 01:00-04:00,9", "2026-11-01 01:00-05:00,8")
    assert len(parse(text, zone=NEW_YORK)) == 2


def test_an_unknown_zone_in_the_header_is_refused():
    assert "zone" in problems(lines("time [Middle Earth],air [C]", "2026-05-11 06:00,15"))[0][1]


@pytest.mark.parametrize("text", ['time,air [C]\n2026-05-11T11:00Z,"15\n', "a\x00b,c\n1,2\n"])
def test_broken_files_are_refused(text):
    assert problems(text)
