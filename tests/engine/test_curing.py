"""How long it is cured, and what it bears when."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.curing import plan_curing
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Mix, WeatherHour
from scheduling.engine.ripening import Ripening
from scheduling.engine.setting import set_times
from tests.engine.placed import finished_strip

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)
FINISHED_H = 10.0


def air(air_c, hours=100):
    return Forecast(tuple(WeatherHour(at=SEVEN + timedelta(hours=n), air_c=air_c) for n in range(hours)))


def curing_in(air_c, hours=100):
    strip = finished_strip(set_times(MIX, air(air_c), SEVEN), SEVEN + timedelta(hours=FINISHED_H))
    return plan_curing([strip], air(air_c, hours))


def hours(moment):
    return (moment - SEVEN) / timedelta(hours=1)


def fahrenheit(degrees):
    return (degrees - 32) / 1.8


@pytest.mark.parametrize(
    ("name", "least_h", "most_h"),
    # ACI 347 and trade pages: edge forms 12 to 24 h, walking 24 to 48 h; cars 7 days
    [("forms_off_at", 12, 24), ("walked_on_at", 24, 48), ("cars_at", 7 * 24, 14 * 24)],
)
def test_what_it_bears_runs_from_the_short_end_in_mild_air_to_the_long_end_in_cool_air(name, least_h, most_h):
    assert hours(getattr(curing_in(fahrenheit(70)), name)) == pytest.approx(least_h, rel=0.01)
    assert hours(getattr(curing_in(fahrenheit(50)), name)) == pytest.approx(most_h, rel=0.06)


@pytest.mark.parametrize("degrees", [50, 70, 95])
def test_curing_takes_seven_days_at_fifty_and_over(degrees):
    # ACI 308: 7 days at 50 °F and over, no fewer in heat
    assert hours(curing_in(fahrenheit(degrees)).ends_at) == pytest.approx(FINISHED_H + 168, abs=0.02)


def test_colder_than_fifty_curing_takes_longer():
    # ASTM C1074 at 40 kJ/mol, from memory: 0.349 of an hour at 5 °C, 0.474 at 10 °C
    assert hours(curing_in(5.0).ends_at) == pytest.approx(FINISHED_H + 168 * 0.474 / 0.349, rel=0.003)


@given(air_c=st.floats(-10, 38), warmer=st.floats(0, 10))
def test_moments_are_in_order_and_warmth_never_makes_one_later(air_c, warmer):
    strip = finished_strip(set_times(MIX, air(20.0), SEVEN), SEVEN + timedelta(hours=FINISHED_H))
    cold, warm = plan_curing([strip], air(air_c)), plan_curing([strip], air(air_c + warmer))
    assert cold.compound_from_at <= cold.cover_from_at <= cold.cover_all_at < cold.ends_at
    assert cold.forms_off_at < cold.walked_on_at < cold.light_things_at < cold.cars_at < cold.heavy_at
    for name in ("ends_at", "forms_off_at", "walked_on_at", "light_things_at", "cars_at", "heavy_at"):
        assert getattr(warm, name) <= getattr(cold, name)


def test_curing_starts_with_the_first_strip_that_is_done_and_sheets_wait_until_it_is_hard():
    first, last = (set_times(MIX, air(20.0), SEVEN + timedelta(hours=h)) for h in (0, 2))
    strips = [
        finished_strip(first, first.initial.likely, 1),
        finished_strip(last, last.final.likely + timedelta(minutes=20), 2),
    ]
    plan = plan_curing(strips, air(20.0))
    assert (plan.compound_from_at, plan.compound_until_at) == (strips[0].finished_at, strips[1].finished_at)
    assert (plan.cover_from_at, plan.cover_all_at) == (strips[0].hard_at, strips[1].finished_at)


# --- the clock it runs on ---------------------------------------------------------------------


def test_equivalent_age_at_forty_kilojoules_matches_published_factors():
    # ASTM C1074, reference 23 °C, 40 kJ/mol: 5 °C 0.349, 10 °C 0.474, 30 °C 1.455 (from memory)
    for air_c, factor in ((5, 0.349), (10, 0.474), (30, 1.455)):
        ripening = Ripening(air(air_c), SEVEN, 23.0, 48.0, capped=False)
        assert ripening.hours_until(SEVEN, factor) == pytest.approx(1.0, rel=0.002)


def test_where_the_forecast_ends_its_mean_pace_goes_on():
    known, short = (Ripening(air(12.0, n), SEVEN, 21.1, 168.0, capped=True) for n in (400, 40))
    assert short.hours_until(SEVEN, 300.0) == pytest.approx(known.hours_until(SEVEN, 300.0), rel=1e-6)


@given(air_c=st.floats(-20, 45), since_h=st.floats(0, 200), ages_h=st.tuples(*[st.floats(0, 400)] * 2))
def test_an_age_takes_its_time_and_a_later_one_more(air_c, since_h, ages_h):
    ripening = Ripening(air(air_c), SEVEN, 21.1, 72.0, capped=True)
    moment = SEVEN + timedelta(hours=since_h)
    low, high = sorted(ages_h)
    assert ripening.hours_until(moment, low) <= ripening.hours_until(moment, high) + 1e-9
    assert ripening.hours_until(moment, low) >= low * (1 - 1e-9) - 1e-9


def test_without_any_air_there_is_no_clock():
    with pytest.raises(BadInput):
        Ripening(Forecast(()), SEVEN, 21.1, 72.0, capped=True)
