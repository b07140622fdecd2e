"""How long a slab takes to come to an age."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import BadInput, Mix, Place, WeatherHour
from scheduling.engine.ripening import Ripening
from scheduling.engine.setting import Slab, slab_clock
from scheduling.engine.slabheat import quickening

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)
INDOORS = Place(indoors=True)  # where no clear sky cools a slab under the air
THIN = Slab(thickness_m=0.1, place=INDOORS)


def air(air_c, hours=300):
    return Forecast(tuple(WeatherHour(at=SEVEN + timedelta(hours=n), air_c=air_c) for n in range(hours)))


def clock_in(weather, strips=1, until_age_h=24.0, slab=THIN):
    moments = [SEVEN + timedelta(hours=n) for n in range(strips)]
    return slab_clock(MIX, slab, weather, moments, [False] * strips, until_age_h)


def ripening_in(air_c, reference_c=21.1, span_h=72.0, hours=300, capped=True, **told):
    weather = air(air_c, hours)
    return Ripening(clock_in(weather, **told), weather, reference_c, span_h, capped=capped)


def test_equivalent_age_at_forty_kilojoules_matches_published_factors():
    # ASTM C1074, reference 23 °C, 40 kJ/mol: 5 °C 0.349, 10 °C 0.474, 30 °C 1.455 (from memory). Beyond what
    # the slab's clock follows it is the air that counts.
    late = SEVEN + timedelta(hours=80)
    for air_c, factor in ((5, 0.349), (10, 0.474), (30, 1.455)):
        ripening = ripening_in(air_c, 23.0, 168.0, capped=False)
        assert ripening.hours_until(0, late, factor) == pytest.approx(1.0, rel=0.002)


def test_while_the_slab_is_followed_its_own_age_counts():
    clock = clock_in(air(12.0), strips=3)
    ripening = Ripening(clock, air(12.0), 21.1, 72.0, capped=False)
    for strip in range(3):
        placed_at = SEVEN + timedelta(hours=strip)
        assert ripening.reached_at(strip, placed_at, 10.0) - clock.moment_of_age(strip, 10.0) < timedelta(
            minutes=2
        )


def test_concrete_warmer_than_the_air_ripens_sooner_than_the_air_would_let_it():
    pace = float(quickening(np.array(8.0), 40_000.0))
    warm, cool = (ripening_in(8.0, slab=replace(THIN, concrete_c=c)) for c in (25.0, 15.0))
    assert warm.hours_until(0, SEVEN, 6.0) < cool.hours_until(0, SEVEN, 6.0) < 6.0 / pace


def test_warmer_than_the_reference_counts_no_more_where_it_is_capped():
    assert ripening_in(35.0).hours_until(0, SEVEN, 10.0) == pytest.approx(10.0)
    assert ripening_in(35.0, capped=False).hours_until(0, SEVEN, 10.0) < 7.0


def test_where_the_forecast_ends_its_mean_pace_goes_on():
    known, short = (ripening_in(12.0, span_h=168.0, hours=hours) for hours in (400, 100))
    assert short.hours_until(0, SEVEN, 300.0) == pytest.approx(known.hours_until(0, SEVEN, 300.0), rel=1e-6)


@given(air_c=st.floats(-20, 45), since_h=st.floats(0, 200), ages_h=st.tuples(*[st.floats(0, 400)] * 2))
def test_an_age_takes_its_time_and_a_later_one_more(air_c, since_h, ages_h):
    ripening = ripening_in(air_c)
    moment = SEVEN + timedelta(hours=since_h)
    low, high = sorted(ages_h)
    assert ripening.hours_until(0, moment, low) <= ripening.hours_until(0, moment, high) + 1e-9
    assert ripening.hours_until(0, moment, low) >= low * (1 - 1e-9) - 1e-9


def test_without_any_air_there_is_no_clock():
    with pytest.raises(BadInput):
        Ripening(clock_in(Forecast(()), slab=Slab(concrete_c=20.0)), Forecast(()), 21.1, 72.0, capped=True)
