"""Float-ready and set times against published waits, and how mix and weather move them."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Admixture, BadInput, Mix, Place, WeatherHour
from scheduling.engine.mixage import FLOAT_READY_H, ages_of
from scheduling.engine.setting import (
    SET_TABLE,
    Slab,
    arrhenius_factor,
    set_times,
    set_times_many,
    survey_pace,
    table_pace,
)

START = datetime(2026, 7, 14, 12, tzinfo=UTC)
R = 8.314


def c(temp_f: float) -> float:
    return (temp_f - 32) / 1.8


def mix(*admixtures: Admixture, **parts) -> Mix:
    return Mix(name="m", strength_mpa=28, aggregate_mm=19, admixtures=frozenset(admixtures), **parts)


def airs(values) -> Forecast:
    return Forecast(tuple(WeatherHour(at=START + timedelta(hours=n), air_c=v) for n, v in enumerate(values)))


def steady(air_c: float, hours: int = 80) -> Forecast:
    return airs([air_c] * hours)


def hours_of(moment) -> list[float]:
    return [(at - START) / timedelta(hours=1) for at in (moment.early, moment.likely, moment.late)]


def at_steady(air_c: float, the_mix: Mix) -> list[list[float]]:
    times = set_times(the_mix, steady(air_c), START)
    return [hours_of(moment) for moment in (times.float_ready, times.initial, times.final)]


def width(hours: list[float]) -> float:
    return hours[2] - hours[0]


# --- the clock ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temp_c", "factor"),
    [(5, 0.349), (10, 0.474), (15, 0.637), (20, 0.847), (30, 1.455), (35, 1.883), (40, 2.416)],
)
def test_factors_at_40_kj_mol_against_23_c(temp_c, factor):
    # ASTM C1074 with Ea = 40 kJ/mol.
    assert arrhenius_factor(temp_c, 23, 40_000) == pytest.approx(factor, abs=0.001)


@pytest.mark.parametrize(
    ("temp_c", "factor"),
    [
        (0, 0.286),
        (5, 0.398),
        (10, 0.547),
        (15, 0.744),
        (20, 1.0),
        (25, 1.332),
        (30, 1.756),
        (35, 2.296),
        (40, 2.975),
    ],
)
def test_factors_at_q_5000_k_against_20_c(temp_c, factor):
    # ASTM C1074's default Q for Type I cement; the values take 0 °C as 273 K.
    assert arrhenius_factor(temp_c, 20, 5000 * R) == pytest.approx(factor, rel=0.003)


def test_six_cold_hours_and_six_warm_ones_add_up():
    # 6 h at 10 °C and 6 h at 25 °C are worth 9.483 h at 23 °C with Q = 5000 K (ASTM C1074's sum).
    worth = sum(6 * arrhenius_factor(temp_c, 23, 5000 * R) for temp_c in (10, 25))
    assert worth == pytest.approx(9.483, abs=0.002)


@pytest.mark.parametrize(("air_f", "hours"), SET_TABLE)
def test_the_table_has_its_own_hours(air_f, hours):
    # PCA's approximate setting times without accelerator, from memory; 6 h at 70 °F.
    assert 6.0 / float(table_pace(np.array(c(air_f)))) == pytest.approx(hours)


@pytest.mark.parametrize(("air_f", "hours"), [(50, 4.25), (70, 2.75), (90, 1.75)])
def test_the_survey_has_its_own_hours(air_f, hours):
    # ASCC Position Statement 15.
    assert 2.70 / float(survey_pace(np.array(c(air_f)))) == pytest.approx(hours, rel=0.025)


# --- a plain mix -------------------------------------------------------------------------------


@pytest.mark.parametrize("thickness_in", [4, 5, 6])
@pytest.mark.parametrize(("air_f", "hours"), [(50, 4.25), (70, 2.75), (90, 1.75)])
def test_float_ready_reproduces_the_contractors_survey(air_f, hours, thickness_in):
    # ASCC Position Statement 15: 50 contractors' wait until power floating, by the air; here by the slab's
    # own temperature on a usual day, within 10 %, and the survey's wait lies in the range.
    slab = Slab(thickness_m=thickness_in * 0.0254)
    early, likely, late = hours_of(set_times(mix(), steady(c(air_f)), START, slab).float_ready)
    assert likely == pytest.approx(hours, rel=0.10)
    assert early < hours < late


@pytest.mark.parametrize(("air_f", "hours"), SET_TABLE)
def test_the_range_of_final_set_holds_the_published_table(air_f, hours):
    # PCA's approximate setting times without accelerator, from memory.
    early, _, late = at_steady(c(air_f), mix())[2]
    assert early <= hours * 1.001
    assert hours <= late


@pytest.mark.parametrize(("air_f", "hours"), [row for row in SET_TABLE if 30 <= row[0] <= 80])
def test_final_set_comes_to_the_published_table_as_near_as_one_slope_can(air_f, hours):
    # The same table is no single Arrhenius curve: the best one is 20 % off at its hot end, 15 % at its cold
    # end. By the slab's own temperature we are as near up to 80 °F; the two hottest rows lie in the range.
    assert at_steady(c(air_f), mix())[2][1] == pytest.approx(hours, rel=0.20)


def test_at_95_f_the_earliest_set_is_two_and_a_half_hours_or_less():
    # 6 h at 70 °F, twice as fast for each 20 °F.
    assert at_steady(c(95), mix())[2][0] == pytest.approx(2.3, abs=0.25)


def test_the_mean_air_is_that_until_final_set():
    times = set_times(mix(), airs([10 + n for n in range(40)]), START)
    to_final_h = hours_of(times.final)[1]
    assert times.mean_air_c == pytest.approx(10 + to_final_h / 2, abs=0.2)


def test_air_below_freezing_runs_the_rules_no_slower_than_freezing():
    # Our choice: fresh concrete is kept from freezing, ACI 306R-16.
    assert float(survey_pace(np.array(-15.0))) == float(survey_pace(np.array(0.0)))
    assert float(table_pace(np.array(-15.0))) == pytest.approx(6 / 19)


def test_an_evening_pour_sets_through_the_cooling_night():
    day = [30 - n for n in range(16)] + [14] * 60
    warm_start, whole_night = set_times(mix(), airs(day), START), set_times(mix(), steady(30), START)
    assert warm_start.final.likely > whole_night.final.likely


@given(
    temps=st.lists(st.floats(-10, 44), min_size=80, max_size=80),
    warmer_k=st.floats(0, 10),
    admixtures=st.frozensets(st.sampled_from(list(Admixture))),
    fly_ash=st.floats(0, 0.4),
    slag=st.floats(0, 0.6),
)
def test_hotter_is_never_later_and_the_order_holds(temps, warmer_k, admixtures, fly_ash, slag):
    the_mix = mix(*admixtures, fly_ash_fraction=fly_ash, slag_fraction=slag)
    times = set_times(the_mix, airs(temps), START)
    hotter = set_times(the_mix, airs([temp + warmer_k for temp in temps]), START)
    if times is None:
        return
    moments, hotter_moments = (
        [(m.early, m.likely, m.late) for m in (t.float_ready, t.initial, t.final)] for t in (times, hotter)
    )
    for early, likely, late in moments:
        assert START < early <= likely <= late
    for column in range(3):
        assert moments[0][column] <= moments[1][column] <= moments[2][column]
        assert all(hot[column] <= cool[column] for hot, cool in zip(hotter_moments, moments, strict=True))


# --- what the mix does -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "slower",
    [
        mix(Admixture.WATER_REDUCER),
        mix(Admixture.SUPERPLASTICIZER),
        mix(Admixture.RETARDER),
        mix(fly_ash_fraction=0.2),
        mix(slag_fraction=0.5),
    ],
)
@pytest.mark.parametrize("air_f", [45, 70, 95])
def test_each_slowing_part_of_the_mix_moves_every_moment_later_and_widens_it(slower, air_f):
    for plain, slowed in zip(at_steady(c(air_f), mix()), at_steady(c(air_f), slower), strict=True):
        assert slowed[1] > plain[1]
        assert slowed[2] > plain[2]
        assert width(slowed) > width(plain)


def test_two_slowing_parts_move_further_than_either():
    both = at_steady(21.1, mix(Admixture.WATER_REDUCER, fly_ash_fraction=0.2))
    for one in (mix(Admixture.WATER_REDUCER), mix(fly_ash_fraction=0.2)):
        for alone, together in zip(at_steady(21.1, one), both, strict=True):
            assert together[1] > alone[1]
            assert width(together) > width(alone)


def test_a_cold_day_with_fly_ash_and_a_reducer_floats_near_six_hours():
    # A reported slab: 45 °F, 20 % fly ash, water reducer, no set for 6 h.
    float_ready, initial, _ = at_steady(c(45), mix(Admixture.WATER_REDUCER, fly_ash_fraction=0.2))
    assert float_ready[0] < 6.0 < float_ready[2]
    assert initial[0] > 6.0


@pytest.mark.parametrize("air_f", [70, 90])
def test_a_retarder_buys_half_an_hour_to_an_hour_and_a_half_of_floating(air_f):
    # Finishers' reports at about 90 °F: 30 to 90 minutes.
    gained = at_steady(c(air_f), mix(Admixture.RETARDER))[0][1] - at_steady(c(air_f), mix())[0][1]
    assert 0.5 <= gained <= 1.5


@pytest.mark.parametrize(
    ("admixture", "least_h", "most_h"), [("retarder", 1.0, 3.5), ("accelerator", -3.5, -1.0)]
)
def test_shifts_at_70_f_stay_within_astm_c494(admixture, least_h, most_h):
    # ASTM C494 types B and C: 1:00 to 3:30 later or earlier.
    shifted, plain = at_steady(21.1, mix(Admixture(admixture))), at_steady(21.1, mix())
    for row in (1, 2):
        assert least_h <= shifted[row][1] - plain[row][1] <= most_h


def test_an_accelerator_moves_every_likely_moment_sooner():
    for plain, sooner in zip(at_steady(10, mix()), at_steady(10, mix(Admixture.ACCELERATOR)), strict=True):
        assert sooner[1] < plain[1]


def test_no_mix_is_ready_before_the_floor():
    the_mix = mix(Admixture.ACCELERATOR)
    assert ages_of(the_mix).float_ready.early_h == pytest.approx(0.4 * FLOAT_READY_H)
    assert at_steady(21.1, the_mix)[0][0] > 0.35 * FLOAT_READY_H


def test_shifts_are_longer_in_the_cold():
    gained = [
        at_steady(air_c, mix(Admixture.RETARDER))[2][1] - at_steady(air_c, mix())[2][1]
        for air_c in (30, 21, 10)
    ]
    assert gained == sorted(gained)


def test_slag_up_to_30_percent_and_air_entraining_change_next_to_nothing():
    # Slag Cement Association: little effect below 30 %. What it gives less of heat shows by a few minutes.
    plain = at_steady(21.1, mix())
    assert at_steady(21.1, mix(Admixture.AIR_ENTRAINER)) == plain
    for slagged, alone in zip(at_steady(21.1, mix(slag_fraction=0.3)), plain, strict=True):
        assert slagged == pytest.approx(alone, rel=0.02)


def test_a_quarter_of_fly_ash_sets_half_an_hour_to_an_hour_later():
    # 20 to 25 % fly ash at 70 °F, from memory.
    gained = at_steady(21.1, mix(fly_ash_fraction=0.25))[2][1] - at_steady(21.1, mix())[2][1]
    assert 0.5 <= gained <= 1.0


# --- what is not known -------------------------------------------------------------------------


def test_without_a_forecast_the_set_is_unknown():
    assert set_times(mix(), Forecast(()), START) is None


def test_a_forecast_that_ends_before_the_latest_set_is_not_enough():
    latest_h = at_steady(21.1, mix())[2][2]
    assert set_times(mix(), steady(21.1, hours=int(latest_h)), START) is None
    assert set_times(mix(), steady(21.1, hours=int(latest_h) + 1), START) is not None


def test_unknown_air_before_set_makes_it_unknown_and_after_set_does_not_matter():
    known = [21.1] * 12
    assert set_times(mix(), airs([21.1, 21.1, None, *known]), START) is None
    assert set_times(mix(), airs([*known, None]), START) is not None


def test_a_set_over_the_clock_change_is_counted_in_real_hours():
    zone = ZoneInfo("America/New_York")
    placed_at = datetime(2026, 10, 31, 22, tzinfo=zone)
    first = placed_at.astimezone(UTC)
    forecast = Forecast(tuple(WeatherHour(at=first + timedelta(hours=n), air_c=21.1) for n in range(12)))
    times = set_times(mix(), forecast, placed_at)
    assert (times.final.likely - first) / timedelta(hours=1) == pytest.approx(6.0, abs=0.1)


def test_a_naive_moment_is_refused():
    with pytest.raises(BadInput):
        set_times(mix(), steady(20), datetime(2026, 7, 14, 12))


# --- the slab, sun and shade -------------------------------------------------------------------

KANSAS = Place(latitude=39.0, longitude=-95.7)
SUMMER_SEVEN = datetime(2026, 7, 14, 12, tzinfo=UTC)  # seven in the morning there


def clear_day(**fields) -> Forecast:
    told = {"air_c": 24.0, "humidity": 0.6, "wind_10m_m_s": 2.0, "cloud": 0.0} | fields
    return Forecast(tuple(WeatherHour(at=START + timedelta(hours=n), **told) for n in range(80)))


def final_h(forecast: Forecast, slab: Slab, shaded: bool = False) -> float:
    return hours_of(set_times(mix(), forecast, START, slab, shaded).final)[1]


def test_a_strip_in_the_sun_sets_before_one_in_shade():
    slab = Slab(place=KANSAS)
    moments = [SUMMER_SEVEN, SUMMER_SEVEN]
    sunny, shady = set_times_many(mix(), slab, clear_day(), moments, [False, True])
    assert sunny.final.likely < shady.final.likely - timedelta(minutes=20)
    assert sunny.mean_slab_c > shady.mean_slab_c + 2


def test_clouds_take_the_sun_and_a_told_sun_goes_before_the_sky():
    slab = Slab(place=KANSAS)
    clear, clouded = final_h(clear_day(), slab), final_h(clear_day(cloud=1.0), slab)
    assert clear < clouded
    dark = final_h(clear_day(sun_w_m2=0.0), slab)
    assert dark > clear
    assert final_h(clear_day(sun_w_m2=0.0), Slab()) == dark


def test_indoors_neither_sun_nor_wind_matter():
    slab = Slab(place=Place(latitude=39.0, longitude=-95.7, indoors=True))
    fierce = clear_day(wind_10m_m_s=12.0, sun_w_m2=900.0)
    assert final_h(fierce, slab) == final_h(clear_day(), slab)


def test_many_strips_are_each_as_alone():
    slab = Slab(place=KANSAS)
    moments = [SUMMER_SEVEN + timedelta(minutes=20 * n) for n in range(12)]
    shaded = [n % 3 == 0 for n in range(12)]
    many = set_times_many(mix(), slab, clear_day(), moments, shaded)
    for times, moment, shade in zip(many, moments, shaded, strict=True):
        alone = set_times(mix(), clear_day(), moment, slab, shade)
        assert abs((times.final.likely - alone.final.likely).total_seconds()) < 1
        assert times.placed_at == moment


def test_warmer_concrete_and_ground_set_sooner():
    assert final_h(clear_day(), Slab(concrete_c=30.0)) < final_h(clear_day(), Slab(concrete_c=15.0))
    assert final_h(clear_day(), Slab(ground_c=25.0)) < final_h(clear_day(), Slab(ground_c=2.0))


def test_unknown_wind_and_humidity_leave_the_sheen_unknown_but_the_set_known():
    times = set_times(mix(), steady(21.1), START)
    assert times.sheen_gone_at is None
    assert not times.crusts


def test_one_strip_too_few_or_none_is_refused():
    with pytest.raises(BadInput):
        set_times_many(mix(), Slab(), steady(20), [START, START], [False])
    with pytest.raises(BadInput):
        set_times_many(mix(), Slab(), steady(20), [], [])
