"""Slabs through a whole year of a station's hours: none fails, none has an impossible window."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Admixture, Mix, SawType
from scheduling.engine.sawcut import FOLLOWED_AGE_H, SawClock
from scheduling.engine.setting import Slab, clock_times, set_times_many
from scheduling.engine.slabclock import slab_clock
from tests.station import GREENSBORO, HOURS, greensboro

pytestmark = pytest.mark.slow  # some seconds of arithmetic each

PLAIN = Mix(name="plain", strength_mpa=28, aggregate_mm=19)
SLAB = Slab(thickness_m=0.127, place=GREENSBORO)
SOME = range(0, HOURS, 13)  # every hour of the day comes round


def starts(numbers):
    return [greensboro()[number].at for number in numbers]


def sets_of(numbers, mix=PLAIN, slab=SLAB, shaded=False, **change):
    hours = tuple(
        replace(hour, **{name: changed(hour) for name, changed in change.items()}) for hour in greensboro()
    )
    moments = starts(numbers)
    return set_times_many(mix, slab, Forecast(hours), moments, [shaded] * len(moments))


def moments_of(times):
    return [(m.early, m.likely, m.late) for m in (times.float_ready, times.initial, times.final)]


def test_every_start_of_the_year_has_its_windows_in_order():
    for first in range(0, HOURS, 730):
        for times in sets_of(range(first, min(first + 730, HOURS))):
            rows = moments_of(times)
            for early, likely, late in rows:
                assert times.placed_at < early <= likely <= late
            for column in range(3):
                assert rows[0][column] <= rows[1][column] <= rows[2][column]
            assert rows[2][2] - times.placed_at < timedelta(hours=48)
            assert times.sheen_gone_at is None or times.sheen_gone_at > times.placed_at
    forecast = Forecast(greensboro())
    few = range(0, HOURS, 97)
    clock = slab_clock(PLAIN, SLAB, forecast, starts(few), [False] * len(few), FOLLOWED_AGE_H)
    saw = SawClock(SawType.CONVENTIONAL, PLAIN, clock, forecast)
    for place, times in enumerate(clock_times(PLAIN, SLAB, clock)):
        window = saw.window(place, times.final.likely)
        assert times.final.likely < window.opens_at < window.closes_at
        assert window.closes_at - times.final.likely <= timedelta(hours=24)


@pytest.mark.parametrize(
    "mix",
    [PLAIN, replace(PLAIN, fly_ash_fraction=0.3, admixtures=frozenset({Admixture.RETARDER}))],
    ids=["plain", "slow"],
)
def test_hotter_air_never_sets_a_slab_later(mix):
    as_it_was = sets_of(SOME, mix)
    hotter = sets_of(SOME, mix, air_c=lambda hour: hour.air_c + 4.0)
    for before, after in zip(as_it_was, hotter, strict=True):
        for cool, hot in zip(moments_of(before)[1:], moments_of(after)[1:], strict=True):
            assert all(late <= early for late, early in zip(hot, cool, strict=True))


def test_more_wind_never_dries_a_slab_less():
    windy = Forecast(tuple(replace(hour, wind_10m_m_s=hour.wind_10m_m_s + 3.0) for hour in greensboro()))
    calm_clock, windy_clock = (
        slab_clock(PLAIN, replace(SLAB, concrete_c=20.0), forecast, starts(SOME), [False] * len(SOME))
        for forecast in (Forecast(greensboro()), windy)
    )
    hours = 13  # steps of ten minutes: the first two hours, in which a fresh top is open
    dried, blown = calm_clock.course.dried_kg_m2[:hours], windy_clock.course.dried_kg_m2[:hours]
    assert np.all(blown >= dried - 1e-9)
    assert blown[-1].mean() > 1.2 * dried[-1].mean()


def test_shade_never_sets_a_slab_sooner():
    for sunny, shady in zip(sets_of(SOME), sets_of(SOME, shaded=True), strict=True):
        assert sunny.final.likely <= shady.final.likely
