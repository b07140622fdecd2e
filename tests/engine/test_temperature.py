"""The concrete's temperature as it comes and in the slab, and the limits of heat and cold."""

import math
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.forecast import Forecast, wind_at_slab
from scheduling.engine.inputs import BadInput, Severity, WeatherHour
from scheduling.engine.temperature import (
    convection_w_m2_k,
    delivered_estimate_c,
    least_placed_c,
    slab_temperature,
    temperature_findings,
)

START = datetime(2026, 1, 14, 13, tzinfo=UTC)
THICKNESS_M = 0.1


def c(temp_f: float) -> float:
    return (temp_f - 32) / 1.8


def flat(hours: int = 60, **weather) -> Forecast:
    return Forecast(tuple(WeatherHour(at=START + timedelta(hours=n), **weather) for n in range(hours)))


def airs(*values: float | None) -> Forecast:
    return Forecast(tuple(WeatherHour(at=START + timedelta(hours=n), air_c=v) for n, v in enumerate(values)))


def codes(concrete_c: float | None, forecast: Forecast, thickness_m: float = THICKNESS_M) -> list[str]:
    return [finding.code for finding in temperature_findings(concrete_c, forecast, START, thickness_m)]


@pytest.mark.parametrize(("wind", "h"), [(0, 5.6), (2, 13.6), (5, 25.6), (10, 43.4)])
def test_convection_has_the_published_values(wind, h):
    # Bentz (2000), NISTIR 6551, from memory.
    assert convection_w_m2_k(wind) == pytest.approx(h, abs=0.05)


def test_the_two_pieces_of_convection_meet_within_two_percent():
    assert convection_w_m2_k(5.0) == pytest.approx(convection_w_m2_k(5.0001), rel=0.02)


def test_a_negative_wind_is_refused():
    with pytest.raises(BadInput):
        convection_w_m2_k(-0.1)


@pytest.mark.parametrize(("air_c", "concrete_c"), [(20, 23), (-10, 13), (10, 13), (31, 34), (40, 35)])
def test_the_estimate_as_delivered_follows_the_air_between_its_bounds(air_c, concrete_c):
    # 3 K over the air: common practice, no source. 55 °F: ACI 306R-16. 95 °F: ACI 305.1-14.
    assert delivered_estimate_c(air_c) == concrete_c


def test_in_steady_weather_the_slab_follows_the_exact_exponential():
    h = convection_w_m2_k(wind_at_slab(4.0))
    for at, temp_c in slab_temperature(
        25.0, flat(air_c=5.0, wind_10m_m_s=4.0), START, THICKNESS_M, START + timedelta(hours=8.1)
    ):
        exact = 5.0 + 20.0 * math.exp(-h * (at - START).total_seconds() / (2.4e6 * THICKNESS_M))
        assert temp_c == pytest.approx(exact, abs=1e-9)


def test_under_steadily_warming_air_the_slab_lags_as_the_exact_solution_says():
    # dT/dt = k (a + b t - T) has T = a + b t - b/k + (T0 - a + b/k) exp(-k t).
    forecast = Forecast(
        tuple(
            WeatherHour(at=START + timedelta(hours=n), air_c=10 + 2 * n, wind_10m_m_s=4.0) for n in range(10)
        )
    )
    k, b = convection_w_m2_k(wind_at_slab(4.0)) / (2.4e6 * THICKNESS_M), 2 / 3600
    at, temp_c = slab_temperature(15.0, forecast, START, THICKNESS_M, START + timedelta(hours=8))[-1]
    t = (at - START).total_seconds()
    exact = 10 + b * t - b / k + (15 - 10 + b / k) * math.exp(-k * t)
    assert temp_c == pytest.approx(exact, abs=0.01)


def test_the_course_begins_at_placing_and_ends_at_the_moment_asked():
    course = slab_temperature(
        20.0, flat(air_c=10, wind_10m_m_s=2), START, THICKNESS_M, START + timedelta(minutes=40)
    )
    assert [(at - START) / timedelta(minutes=1) for at, _ in course] == [0, 15, 30, 40]
    assert course[0][1] == 20.0


def test_no_time_at_all_gives_the_delivered_temperature():
    assert slab_temperature(20.0, flat(air_c=10), START, THICKNESS_M, START) == ((START, 20.0),)


def test_from_unknown_wind_on_the_slab_is_unknown():
    hours = [
        WeatherHour(at=START, air_c=10, wind_10m_m_s=3),
        WeatherHour(at=START + timedelta(hours=1), air_c=10),
    ]
    course = slab_temperature(20.0, Forecast(tuple(hours)), START, THICKNESS_M, START + timedelta(hours=2))
    assert [temp_c is None for _, temp_c in course] == [False] * 5 + [True] * 4


def test_an_end_before_placing_is_refused():
    with pytest.raises(BadInput):
        slab_temperature(20.0, flat(), START, THICKNESS_M, START - timedelta(minutes=1))


@given(
    delivered_c=st.floats(5, 35),
    air_c=st.floats(-20, 40),
    wind=st.floats(0, 20),
    thickness_m=st.floats(0.05, 0.5),
)
def test_the_slab_goes_towards_the_air_and_never_past_it(delivered_c, air_c, wind, thickness_m):
    forecast = flat(8, air_c=air_c, wind_10m_m_s=wind)
    course = slab_temperature(delivered_c, forecast, START, thickness_m, START + timedelta(hours=6))
    gaps = [abs(temp_c - air_c) for _, temp_c in course]
    assert all(later <= earlier + 1e-9 for earlier, later in pairwise(gaps))
    assert min(delivered_c, air_c) - 1e-9 <= course[-1][1] <= max(delivered_c, air_c) + 1e-9


@pytest.mark.parametrize(
    ("inches", "least_f"), [(4, 55), (11.9, 55), (12, 50), (35.9, 50), (36, 45), (72, 40), (80, 40)]
)
def test_the_least_temperature_as_placed_falls_with_thickness(inches, least_f):
    # ACI 306R-16.
    assert least_placed_c(inches * 0.0254) == pytest.approx(c(least_f))


def test_concrete_of_exactly_95_f_passes_and_of_96_f_is_hot():
    # ACI 305.1-14.
    warm = flat(air_c=30)
    assert codes(c(95), warm) == []
    assert codes(c(96), warm) == ["hot_concrete"]


def test_concrete_of_exactly_55_f_passes_in_a_thin_slab_and_of_54_f_is_cold():
    # ACI 306R-16.
    cool = flat(air_c=10)
    assert codes(c(55), cool) == []
    assert codes(c(54), cool) == ["cold_concrete"]
    assert codes(c(54), cool, thickness_m=0.5) == []


def test_our_own_estimate_is_never_cold_or_hot():
    assert codes(delivered_estimate_c(-15), flat(air_c=20)) == []
    assert codes(delivered_estimate_c(45), flat(air_c=20)) == []


def test_concrete_of_unknown_temperature_is_not_judged():
    assert codes(None, flat(air_c=20)) == []


def test_air_of_exactly_40_f_is_not_cold_weather_and_39_f_is():
    # ACI 306R-16.
    assert codes(20, flat(air_c=c(40))) == []
    assert codes(20, flat(air_c=c(39))) == ["cold_weather"]


def test_air_at_freezing_is_frost_besides():
    values = [6.0] * 20 + [3.0, 0.0, -2.0, 1.0] + [6.0] * 30
    cold, frost = temperature_findings(20, airs(*values), START, THICKNESS_M)
    assert (cold.code, frost.code) == ("cold_weather", "frost")
    assert cold.severity == frost.severity == Severity.CAUTION
    assert cold.facts["first_at"] == START + timedelta(hours=20)
    assert frost.facts["first_at"] == START + timedelta(hours=21)
    assert frost.facts["coldest_c"] == -2.0
    assert frost.facts["coldest_at"] == START + timedelta(hours=22)
    assert (round(cold.facts["limit_c"], 1), frost.facts["limit_c"]) == (4.4, 0.0)


def test_cold_after_two_days_is_let_be():
    assert codes(20, airs(*[6.0] * 48, -5.0, -5.0)) == []


def test_a_forecast_that_does_not_tell_the_air_for_two_days_is_told():
    (finding,) = temperature_findings(20, airs(*[12.0] * 30), START, THICKNESS_M)
    assert finding.code == "weather_unknown"
    assert (finding.facts["missing"], finding.facts["from_at"]) == ("air", START + timedelta(hours=30))


def test_without_any_forecast_only_the_unknown_is_told():
    assert codes(20, Forecast(())) == ["weather_unknown"]
