"""How long it is cured, and what it bears when."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.curing import plan_curing
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Mix, Place, WeatherHour
from scheduling.engine.sawcut import FOLLOWED_AGE_H
from scheduling.engine.setting import Slab, set_times, slab_clock
from tests.engine.placed import finished_strip

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)
FINISHED_H = 10.0
UNDER_A_ROOF = Slab(place=Place(indoors=True))  # where no clear sky cools it under the air


def air(air_c, hours=100):
    return Forecast(tuple(WeatherHour(at=SEVEN + timedelta(hours=n), air_c=air_c) for n in range(hours)))


def clock_in(weather, *placed_at, slab=UNDER_A_ROOF):
    """Of strips placed then, their numbers from 1."""
    moments = [placed_at[0], *placed_at] if placed_at else [SEVEN, SEVEN]
    return slab_clock(MIX, slab, weather, moments, [False] * len(moments), FOLLOWED_AGE_H)


def curing_in(air_c, hours=100, slab=UNDER_A_ROOF):
    strip = finished_strip(set_times(MIX, air(air_c), SEVEN), SEVEN + timedelta(hours=FINISHED_H))
    return plan_curing([strip], clock_in(air(air_c, hours), slab=slab), air(air_c, hours))


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
    # By its own temperature a slab stays a little behind the long end: it comes warm and makes heat itself
    mild_h, cool_h, cold_h = (
        hours(getattr(curing_in(fahrenheit(degrees), slab=Slab()), name)) for degrees in (70, 50, 45)
    )
    assert mild_h == pytest.approx(least_h, rel=0.01)
    assert 0.85 * most_h < cool_h < most_h < cold_h


@pytest.mark.parametrize("degrees", [50, 70, 95])
def test_curing_takes_seven_days_at_fifty_and_over(degrees):
    # ACI 308: 7 days at 50 °F and over, no fewer in heat
    assert hours(curing_in(fahrenheit(degrees)).ends_at) == pytest.approx(FINISHED_H + 168, abs=0.02)


def test_colder_than_fifty_curing_takes_longer():
    # ASTM C1074 at 40 kJ/mol, from memory: 0.349 of an hour at 5 °C, 0.474 at 10 °C. Its own first days are
    # warmer than that air, so that it takes a little less.
    in_air_h = 168 * 0.474 / 0.349
    assert 0.9 * in_air_h < hours(curing_in(5.0).ends_at) - FINISHED_H < in_air_h


@given(air_c=st.floats(-10, 38), warmer=st.floats(0, 10))
def test_moments_are_in_order_and_warmth_never_makes_one_later(air_c, warmer):
    strip = finished_strip(set_times(MIX, air(20.0), SEVEN), SEVEN + timedelta(hours=FINISHED_H))
    cold, warm = (plan_curing([strip], clock_in(airs), airs) for airs in (air(air_c), air(air_c + warmer)))
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
    plan = plan_curing(strips, clock_in(air(20.0), first.placed_at, last.placed_at), air(20.0))
    assert (plan.compound_from_at, plan.compound_until_at) == (strips[0].finished_at, strips[1].finished_at)
    assert (plan.cover_from_at, plan.cover_all_at) == (strips[0].hard_at, strips[1].finished_at)
