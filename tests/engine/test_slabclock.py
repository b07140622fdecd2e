"""Ages, temperatures and strengths of strips, by moment and back."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.bleeding import crusting_findings, sheen_gone_h
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Mix, Severity, WeatherHour
from scheduling.engine.setting import clock_times, set_times
from scheduling.engine.slabclock import (
    STEPS_S,
    Slab,
    age_of_strength_h,
    reached_h,
    slab_clock,
    strength_fraction,
)

START = datetime(2026, 6, 10, 12, tzinfo=UTC)
MIX = Mix(name="m", strength_mpa=28, aggregate_mm=19)


def weather(hours=90, **told) -> Forecast:
    told = {"air_c": 20.0, "humidity": 0.6, "wind_10m_m_s": 3.0, "cloud": 1.0} | told
    return Forecast(tuple(WeatherHour(at=START + timedelta(hours=n), **told) for n in range(hours)))


def clock(slab=Slab(), mix=MIX, strips=1, **told):  # noqa: B008
    moments = [START + timedelta(hours=n) for n in range(strips)]
    return slab_clock(mix, slab, weather(**told), moments, [False] * strips, until_age_h=30.0)


def after(hours: float) -> datetime:
    return START + timedelta(hours=hours)


@given(hours=st.floats(0.2, 20))
def test_the_moment_of_an_age_is_when_it_is_that_old(hours):
    strips = clock(strips=2)
    age_h = strips.age_h(1, after(1 + hours))
    assert abs(strips.moment_of_age(1, age_h) - after(1 + hours)) < timedelta(seconds=2)


def test_a_strip_has_no_age_before_it_is_placed_and_none_after_the_clock_ends():
    strips = clock(strips=2)
    assert strips.age_h(1, after(0.9)) is None
    assert strips.age_h(1, after(1)) == 0
    assert strips.age_h(0, after(80)) is None
    assert strips.moment_of_age(0, 500.0) is None


def test_it_starts_as_warm_as_it_comes():
    strips = clock(Slab(concrete_c=27.0))
    assert strips.surface_c(0, START) == strips.mean_c(0, START) == 27.0
    assert strips.surface_c(0, after(1)) < strips.mean_c(0, after(1)) < 27.0


def test_drying_ends_as_it_sets():
    strips = clock()
    times = set_times(MIX, weather(), START)
    assert strips.wet_share(0, after(1)) == 1.0
    assert strips.wet_share(0, times.final.likely + timedelta(minutes=20)) == pytest.approx(0, abs=1e-6)


def test_blankets_keep_a_cold_slab_warm():
    cold = {"air_c": -5.0}
    bare = clock(**cold)
    covered = clock(Slab(blankets_m2_k_w=0.6, covered_at=after(6)), **cold)
    assert covered.mean_c(0, after(5)) == pytest.approx(bare.mean_c(0, after(5)))
    assert covered.mean_c(0, after(14)) > bare.mean_c(0, after(14)) + 4


def test_seven_days_are_two_thirds_and_four_weeks_all_of_the_strength():
    # CEB-FIP Model Code 1990, slowly hardening cement, from memory; about 70 % at 7 days is common practice.
    assert strength_fraction(7 * 24) == pytest.approx(0.68, abs=0.01)
    assert strength_fraction(28 * 24) == 1
    assert strength_fraction(0) == 0


def test_two_days_at_fifty_degrees_are_enough_for_a_first_freeze():
    # 3.5 MPa, about 48 h at 50 °F: ACI 306R, from memory. An hour at 10 °C is half an hour at the reference.
    assert 3.5 / 28 < strength_fraction(48 * 0.53) < 0.3


@given(fraction=st.floats(0.001, 1))
def test_the_age_of_a_strength_has_it(fraction):
    assert strength_fraction(age_of_strength_h(fraction)) == pytest.approx(fraction)


@pytest.mark.parametrize("fraction", [0.0, -0.1, 1.01])
def test_a_strength_that_is_none_is_refused(fraction):
    with pytest.raises(BadInput):
        age_of_strength_h(fraction)


def test_the_moment_of_a_strength_has_it():
    strips = clock()
    assert strips.strength_fraction(0, strips.moment_of_strength(0, 0.05)) == pytest.approx(0.05, rel=0.001)


def test_an_age_is_reached_between_moments_and_never_where_it_is_unknown():
    grown = np.array([[0.0, 0.0], [2.0, 1.0], [4.0, np.nan]])
    hours = reached_h(np.array([0.0, 1.0, 3.0, 5.0]), grown, np.array([0.0, 1.0, 3.0]))
    assert hours[:3, 0] == pytest.approx([0.0, 0.5, 2.0])
    assert hours[1, 1] == pytest.approx(1.0)
    assert np.isnan(hours[3, 0])
    assert np.isnan(hours[2, 1])


def test_the_steps_reach_three_days():
    assert STEPS_S.sum() == 72 * 3600


# --- the sheen ---------------------------------------------------------------------------------


def times_in(mix=MIX, **told):
    slab, strips = Slab(), clock(mix=mix, **told)
    return clock_times(mix, slab, strips)[0]


def test_wind_and_heat_take_the_sheen_and_leave_a_crust():
    fierce = times_in(air_c=35.0, humidity=0.15, wind_10m_m_s=9.0)
    assert fierce.crusts
    (finding,) = crusting_findings([times_in(), fierce])
    assert (finding.code, finding.severity) == ("crusting", Severity.CAUTION)
    assert finding.facts["sheen_gone_at"] < finding.facts["float_ready_at"]


def test_a_usual_days_sheen_is_gone_before_the_float_and_leaves_no_crust():
    usual = times_in()
    assert usual.placed_at < usual.sheen_gone_at < usual.float_ready.likely
    assert not usual.crusts
    assert crusting_findings([usual]) == ()


def test_a_mix_that_hardly_bleeds_crusts_sooner():
    fume = Mix(name="m", strength_mpa=40, aggregate_mm=19, silica_fume=True)
    told = {"air_c": 28.0, "humidity": 0.4, "wind_10m_m_s": 5.0}
    assert times_in(mix=fume, **told).sheen_gone_at < times_in(**told).sheen_gone_at
    assert times_in(mix=fume, **told).crusts


def test_in_damp_still_air_the_sheen_holds_up_the_float_but_not_past_initial_set():
    damp, usual = times_in(humidity=0.99, wind_10m_m_s=0.0), times_in()
    assert usual.float_ready.likely < damp.float_ready.likely <= damp.initial.likely


def test_an_unknown_wind_leaves_the_sheen_unknown():
    strips = clock(wind_10m_m_s=None)
    hours, crusts = sheen_gone_h(MIX, 0.125, strips)
    assert np.isnan(hours).all()
    assert not crusts.any()
