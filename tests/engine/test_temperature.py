"""The concrete's temperature as it comes and in the slab, and the limits of heat and cold."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Severity, WeatherHour
from scheduling.engine.temperature import (
    delivered_estimate_c,
    least_placed_c,
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


@pytest.mark.parametrize(
    ("air_f", "concrete_f"), [(50, 62), (70, 75), (90, 88), (20, 60), (46, 60), (101, 95), (120, 95)]
)
def test_the_estimate_as_delivered_follows_the_air_between_its_bounds(air_f, concrete_f):
    # The line from 50 to 90 °F: our choice. 60 °F: ACI 306R, as mixed. 95 °F: ACI 305.1-14.
    assert delivered_estimate_c(c(air_f)) == pytest.approx(c(concrete_f), abs=0.1)


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
