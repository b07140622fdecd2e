from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.pages.brief import loads_words
from scheduling.pages.clock import clock_time, from_to, lasting, same_clock
from scheduling.pages.wording import Words, about, raised

CHICAGO, NEW_YORK = ZoneInfo("America/Chicago"), ZoneInfo("America/New_York")
YD3 = 0.764554857984
US, METRIC = Words("us", CHICAGO), Words("metric", CHICAGO)


def at(hour, minute=0):
    return datetime(2026, 9, 3, hour + 5, minute, tzinfo=UTC)  # on the clock in Chicago


@pytest.mark.parametrize(
    ("moment", "us", "metric"),
    [
        (at(0), "midnight", "00:00"),
        (at(7, 5), "7:05 am", "07:05"),
        (at(12), "noon", "12:00"),
        (at(13), "1:00 pm", "13:00"),
    ],
)
def test_a_time_is_said_as_the_company_says_it(moment, us, metric):
    assert clock_time(moment, CHICAGO, "us") == us
    assert clock_time(moment, CHICAGO, "metric") == metric


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        (at(7), at(8, 12), "7:00–8:12 am"),
        (at(11), at(13), "11:00 am–1:00 pm"),
        (at(11), at(12), "11:00 am–noon"),
        (at(18), at(18) + timedelta(hours=12), "6:00 pm – 6:00 am Fri"),
    ],
)
def test_a_stretch_says_the_half_of_the_day_once(start, end, said):
    assert from_to(start, end, CHICAGO, "us") == said


def test_a_plants_clock_may_be_called_otherwise_and_show_the_same():
    # Arizona keeps mountain standard time all year: in winter as Denver, in summer not (IANA database).
    phoenix, denver = ZoneInfo("America/Phoenix"), ZoneInfo("America/Denver")
    assert same_clock(phoenix, denver, datetime(2026, 1, 9, tzinfo=UTC))
    assert not same_clock(phoenix, denver, at(7))


@pytest.mark.parametrize(
    ("volume_yd3", "said"),
    [
        (32.25, "32¼ yd³"),
        (10, "10 yd³"),
        (0.5, "½ yd³"),
        (9.75, "9¾ yd³"),
        (30.49, "30.49 yd³"),
        (1200.5, "1,200½ yd³"),
    ],
)
def test_an_order_is_said_in_quarters(volume_yd3, said):
    assert US.ordered(volume_yd3 * YD3) == said


def test_metric_orders_keep_their_decimals():
    assert METRIC.ordered(24.25) == "24.25 m³"


@pytest.mark.parametrize(
    ("loads_yd3", "said"),
    [
        ([10, 10, 10, 2.25], "3 loads of 10 yd³ and one of 2¼ yd³"),
        ([9], "1 load of 9 yd³"),
        ([10, 10], "2 loads of 10 yd³"),
        ([10, 9, 3], "1 load of 10 yd³, one of 9 yd³ and one of 3 yd³"),
    ],
)
def test_loads_alike_are_counted_together(loads_yd3, said):
    assert loads_words([load * YD3 for load in loads_yd3], US) == said


def test_units_are_raised_and_other_digits_are_not():
    assert (
        raised("0.2 lb/ft2/h over 1,976 ft2, 4 in3, load 2 of 3 m3")
        == "0.2 lb/ft²/h over 1,976 ft², 4 in³, load 2 of 3 m³"
    )


def test_what_rests_on_a_forecast_is_said_to_five_minutes():
    assert about(at(9, 12)) == at(9, 10)
    assert about(at(9, 13)) == at(9, 15)


def test_a_length_of_time_leaves_out_what_is_nought():
    assert [lasting(timedelta(minutes=m)) for m in (0, 45, 60, 75)] == [
        "0 min",
        "45 min",
        "1 h",
        "1 h 15 min",
    ]
