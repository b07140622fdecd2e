"""What weather does to the top of a slab."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.exposure import (
    SHADED_SUN_SHARE,
    clear_sun_w_m2,
    clouded_sun_w_m2,
    convection_w_m2_k,
    exposure_of,
    sky_emissivity,
    stood_in,
    under_blankets,
)
from scheduling.engine.forecast import Forecast, over_slab, wind_at_slab
from scheduling.engine.inputs import BadInput, Place, WeatherHour

NOON = datetime(2026, 6, 21, 18, tzinfo=UTC)  # near local noon in Kansas
KANSAS = Place(latitude=39.0, longitude=-95.7)
TOLD = {"air_c": 25.0, "humidity": 0.5, "wind_10m_m_s": 4.0, "cloud": 0.0}


def forecast(**told) -> Forecast:
    return Forecast(tuple(WeatherHour(at=NOON + timedelta(hours=n), **(TOLD | told)) for n in range(6)))


def met(place=KANSAS, shaded=False, **told):
    placed_s = np.array([NOON.timestamp()])
    return exposure_of(over_slab(forecast(**told), place), place, placed_s, np.array([300.0]), [shaded])


@pytest.mark.parametrize(("wind", "h"), [(0, 5.6), (2, 13.6), (5, 25.6), (10, 43.4)])
def test_convection_has_the_published_values(wind, h):
    # Bentz (2000), NISTIR 6551, from memory.
    assert convection_w_m2_k(wind) == pytest.approx(h, abs=0.05)


def test_the_two_pieces_of_convection_meet_within_two_percent():
    assert convection_w_m2_k(5.0) == pytest.approx(convection_w_m2_k(5.0001), rel=0.02)


def test_a_negative_wind_is_refused():
    with pytest.raises(BadInput):
        convection_w_m2_k(-0.1)


@pytest.mark.parametrize(("elevation", "sun"), [(90, 880), (30, 425), (10, 128.0), (0, 0), (-20, 0)])
def test_a_clear_skys_sun_rises_with_the_sun(elevation, sun):
    # Kasten and Czeplak (1980), from memory: 910 sin h - 30.
    assert float(clear_sun_w_m2(np.array(float(elevation)))) == pytest.approx(sun, abs=0.1)


def test_a_closed_cover_leaves_a_quarter_of_the_sun():
    # The same source: 1 - 0.75 N^3.4.
    assert float(clouded_sun_w_m2(np.array(800.0), np.array(1.0))) == pytest.approx(200)
    assert float(clouded_sun_w_m2(np.array(800.0), np.array(0.5))) == pytest.approx(800 * 0.929, abs=1)


def test_a_clear_humid_sky_radiates_more_than_a_dry_one_and_clouds_the_most():
    # Brutsaert (1975): 1.24 (10 hPa / 293.15 K)^(1/7) is 0.765.
    dry, humid = (float(sky_emissivity(np.array(20.0), np.array(kpa), np.array(0.0))) for kpa in (0.4, 1.0))
    closed = float(sky_emissivity(np.array(20.0), np.array(1.0), np.array(1.0)))
    assert humid == pytest.approx(0.765, abs=0.001)
    assert dry < humid < closed < 1


def test_wind_is_that_at_the_slab():
    assert met().convection_w_m2_k[0, 0] == pytest.approx(convection_w_m2_k(wind_at_slab(4.0)))


def test_a_shaded_strip_keeps_a_fifth_of_the_sun():
    sunny, shady, dark = (met(shaded=s, sun_w_m2=w).gain_w_m2[0, 0] for s, w in ((0, 800), (1, 800), (0, 0)))
    assert shady - dark == pytest.approx(SHADED_SUN_SHARE * (sunny - dark))


def test_without_a_told_sun_it_comes_from_the_sky_over_the_place():
    sky, told = met().gain_w_m2[0, 0], met(sun_w_m2=850.0).gain_w_m2[0, 0]
    assert sky == pytest.approx(told, abs=40)
    assert met(place=Place()).gain_w_m2[0, 0] == met(sun_w_m2=0.0).gain_w_m2[0, 0]


def test_indoors_there_is_air_and_nothing_else():
    inside = met(place=Place(latitude=39.0, longitude=-95.7, indoors=True))
    assert inside.convection_w_m2_k[0, 0] == pytest.approx(5.6)
    assert inside.dry_known.all()
    # Walls at the air's temperature: what they radiate is what a top as warm would.
    assert inside.gain_w_m2[0, 0] == pytest.approx(0.9 * 5.670374e-8 * 298.15**4)


def test_what_stood_in_is_named():
    end = NOON + timedelta(hours=2)
    assert stood_in(forecast(), KANSAS, NOON, end) == ()
    assert stood_in(forecast(wind_10m_m_s=None, humidity=None), KANSAS, NOON, end) == ("wind", "humidity")
    assert stood_in(forecast(cloud=None), Place(), NOON, end) == ("cloud", "sun")
    assert stood_in(forecast(humidity=None, dew_point_c=10.0), KANSAS, NOON, end) == ()


def test_drying_that_rests_on_a_stand_in_is_not_known():
    assert met().dry_known.all()
    assert not met(wind_10m_m_s=None).dry_known.any()
    assert not met(humidity=None).dry_known.any()
    assert met(cloud=None).dry_known.all()


def test_unknown_air_leaves_it_all_unknown():
    assert np.isnan(met(air_c=None).gain_w_m2).all()


def test_blankets_pass_little_heat_and_keep_the_top_from_drying():
    bare = met()
    covered = under_blankets(bare, 0.5, np.array([[True]]))
    assert covered.convection_w_m2_k[0, 0] == pytest.approx(1 / (0.5 + 1 / bare.convection_w_m2_k[0, 0]))
    assert covered.per_kpa_kg_m2_h[0, 0] == covered.emissivity[0, 0] == covered.gain_w_m2[0, 0] == 0
    off = under_blankets(bare, 0.5, np.array([[False]]))
    assert off.gain_w_m2 == bare.gain_w_m2


@given(wind=st.floats(0, 25), more=st.floats(0, 10))
def test_more_wind_never_dries_less_for_each_pascal(wind, more):
    calm, windy = (met(wind_10m_m_s=w).per_kpa_kg_m2_h[0, 0] for w in (wind, wind + more))
    assert windy >= calm
