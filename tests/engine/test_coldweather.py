"""What cold asks of a pour."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.engine.coldweather import (
    batched_for_c,
    cold_weather_findings,
    is_cold_spell_1988,
    least_mixed_c,
    protection_days,
)
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Admixture, BadInput, Mix, Place, Severity, WeatherHour

START = datetime(2026, 1, 14, 13, tzinfo=UTC)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)
INCH = 0.0254


def c(temp_f: float) -> float:
    return (temp_f - 32) / 1.8


def forecast(airs, first=START - timedelta(hours=24), **weather):
    return Forecast(
        tuple(WeatherHour(at=first + timedelta(hours=n), air_c=air, **weather) for n, air in enumerate(airs))
    )


def found(airs, place=None, mix=MIX, thickness_m=4 * INCH, haul_min=30.0, **weather):
    findings = cold_weather_findings(
        forecast(airs, **weather),
        START,
        START + timedelta(hours=2),
        thickness_m,
        mix,
        place or Place(),
        haul_min,
    )
    return {finding.code: finding for finding in findings}


MILD = [c(60)] * 120


# --- the definition of 1988 -------------------------------------------------------------------


def day(mean_f: float, hours_over_50: int = 0) -> list[float]:
    """A day of that mean, so many hours of it at 51 °F."""
    cold = (24 * mean_f - 51 * hours_over_50) / (24 - hours_over_50)
    return [c(51)] * hours_over_50 + [c(cold)] * (24 - hours_over_50)


@pytest.mark.parametrize(
    ("days", "is_cold"),
    [
        # ACI 306R-88: mean under 40 °F for more than three days, not over 50 °F for over half of any 24 h
        ([day(39), day(38), day(39)], False),
        ([day(39), day(38), day(39), day(38, hours_over_50=11)], True),
        ([day(39), day(38), day(39), day(38, hours_over_50=13)], False),
        ([day(39), day(38), day(40.5), day(38)], False),
        ([day(60), day(39), day(38), day(39), day(38)], True),
    ],
)
def test_more_than_three_cold_days_running_are_cold_weather(days, is_cold):
    assert is_cold_spell_1988([air_c for one in days for air_c in one]) is is_cold


def test_the_older_definition_is_told_only_where_it_is_met():
    assert "cold_spell" in found(day(35) * 5)
    assert "cold_spell" not in found([*MILD[:24], *day(35), *day(35), *day(60), *day(60)])


# --- the concrete -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inches", "air_f", "least_f"),
    [
        (5, 31, 60),
        (5, 30, 65),
        (5, 1, 65),
        (5, -1, 70),
        (12, 31, 55),
        (12, 20, 60),
        (40, -5, 60),
        (80, 20, 50),
    ],
)
def test_the_least_temperature_as_mixed(inches, air_f, least_f):
    # ACI 306R, table of recommended temperatures (from memory)
    assert least_mixed_c(inches * INCH, c(air_f)) == pytest.approx(c(least_f))


@pytest.mark.parametrize(
    ("placed_f", "air_f", "hours", "batched_f"), [(50, 20, 1, 57.5), (55, 10, 1.5, 71.9)]
)
def test_what_is_lost_in_the_drum_is_batched_warmer(placed_f, air_f, hours, batched_f):
    # ACI 306R-88 after Petersons (1966): 7.5 °F in an hour at 20 °F; 16.9 °F in 90 min at 10 °F
    assert batched_for_c(c(placed_f), c(air_f), hours) == pytest.approx(c(batched_f), abs=0.03)


def test_warm_air_needs_no_warmer_concrete():
    assert batched_for_c(13.0, 25.0, 1.0) == 13.0


def test_a_thin_slab_in_the_cold_wants_concrete_from_55_to_75_f_and_the_plant_is_asked_for_more():
    # ACI 306R: 55 °F under 12 in, at most 20 °F more; as mixed 60 °F in air over 30 °F
    facts = found([c(35)] * 120)["cold_placing"].facts
    assert (facts["least_c"], facts["most_c"]) == (pytest.approx(c(55)), pytest.approx(c(75)))
    assert facts["batched_c"] == pytest.approx(c(60))
    assert found([c(35)] * 120, haul_min=75.0)["cold_placing"].facts["batched_c"] == pytest.approx(c(61.25))


# --- protection -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("indoors", "admixtures", "days"),
    [
        (True, (), 2),
        (True, (Admixture.ACCELERATOR,), 1),
        (False, (), 3),
        (False, (Admixture.ACCELERATOR,), 2),
    ],
)
def test_days_of_protection(indoors, admixtures, days):
    # ACI 306R-88 table 5.1, service categories 1 and 2 (from memory)
    mix = Mix(name="m", strength_mpa=25, aggregate_mm=20, admixtures=frozenset(admixtures))
    assert protection_days(mix, Place(indoors=indoors)) == days


def test_protection_runs_from_the_last_concrete():
    facts = found([c(35)] * 120)["cold_protection"].facts
    assert facts["until_at"] == START + timedelta(hours=2, days=3)
    assert (facts["days"], facts["loaded_days"]) == (3, 6)


def test_a_mild_day_asks_for_nothing():
    assert found(MILD) == {}
    assert found([]) == {}


def test_cold_only_after_the_protection_is_let_be():
    assert "cold_protection" not in found([*[c(45)] * (24 + 74), *[c(30)] * 22])


# --- the base ---------------------------------------------------------------------------------


def test_a_base_read_at_30_f_stops_the_pour_though_the_air_is_48_f():
    # ACI 306R: no concrete on frozen ground
    finding = found([c(48)] * 120, Place(base_c=c(30)))["frozen_base"]
    assert finding.severity is Severity.STOP
    assert finding.facts["base_c"] == pytest.approx(c(30))


def test_frost_seen_in_the_base_stops_the_pour_whatever_was_read():
    assert found(MILD, Place(base_c=2.0, base_frozen=True))["frozen_base"].severity is Severity.STOP


def test_a_base_of_exactly_freezing_is_not_frozen():
    assert "frozen_base" not in found(MILD, Place(base_c=0.0))


@pytest.mark.parametrize(("frost_h", "told"), [(3, False), (4, True)])
def test_a_night_of_frost_asks_for_a_look_at_the_base(frost_h, told):
    # four hours: our choice
    night = [5.0] * (24 - frost_h) + [-3.0] * frost_h + [10.0] * 96
    assert ("base_may_freeze" in found(night)) is told


def test_a_reading_or_a_roof_answers_for_the_base():
    night = [-3.0] * 24 + [10.0] * 96
    assert "base_may_freeze" not in found(night, Place(base_c=4.0))
    assert "base_may_freeze" not in found(night, Place(indoors=True))


def test_a_base_that_no_ground_has_is_refused():
    with pytest.raises(BadInput):
        Place(base_c=-300.0)


# --- after placing ----------------------------------------------------------------------------


@pytest.mark.parametrize(("after_h", "told"), [(47, False), (48, True), (71, True), (72, False)])
def test_the_first_frost_is_watched_for_through_the_third_day(after_h, told):
    # ACI 306R: 500 psi before the first freeze, about 48 h at 50 °F (from memory)
    airs = [10.0] * 120
    airs[24 + after_h] = -2.0
    finding = found(airs).get("first_freeze")
    assert (finding is not None) is told
    assert finding is None or finding.facts["after_h"] == after_h


def test_gusts_are_told_only_while_blankets_lie():
    assert found(MILD, gust_10m_m_s=15.0) == {}
    assert found([c(35)] * 120, gust_10m_m_s=15.0)["blanket_wind"].facts["gust_m_s"] == 15.0
    assert "blanket_wind" not in found([c(35)] * 120, gust_10m_m_s=11.0)
