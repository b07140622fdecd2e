"""How fast a crew places, learned from its own pours: against the closed form, and on simulated crews."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from scheduling.engine.inputs import BadInput, Uncertainty
from scheduling.engine.learning import (
    PRIOR_FREEDOM,
    PRIOR_POURS,
    PRIOR_SD,
    Emptied,
    LeftOut,
    PouredBefore,
    learn,
)

DEFAULT_M3_H = 20.0
LOAD_M3 = 8.0


def poured(factor, loads=4, **more):
    """A pour of loads that all took alike."""
    minutes = 60 * LOAD_M3 / (DEFAULT_M3_H * factor)
    return PouredBefore(default_m3_h=DEFAULT_M3_H, loads=(Emptied(LOAD_M3, minutes),) * loads, **more)


# --- against the closed form ------------------------------------------------------------------


def test_before_the_first_pour_the_default_is_believed():
    known = learn([], default_factor=1.2)
    assert known.factor == pytest.approx(1.2)
    assert known.pours == 0
    assert known.unload_cv == pytest.approx(Uncertainty().unload_cv)


def test_the_middle_and_the_range_are_those_of_the_conjugate_prior():
    # Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.3: k_n = k_0 + n, v_n = v_0 + n,
    # m_n = (k_0 m_0 + n y) / k_n, v_n s_n^2 = v_0 s_0^2 + (n - 1) s^2 + k_0 n / k_n (y - m_0)^2.
    factors = [1.1, 1.25, 0.95, 1.3]
    logs = [math.log(factor) for factor in factors]
    n, mean = len(logs), statistics.fmean(logs)
    k_n, v_n = PRIOR_POURS + n, PRIOR_FREEDOM + n
    squares = PRIOR_FREEDOM * PRIOR_SD**2 + (n - 1) * statistics.variance(logs)
    squares += PRIOR_POURS * n / k_n * mean**2
    expected = stats.t(df=v_n, loc=n * mean / k_n, scale=math.sqrt(squares / v_n * (1 + 1 / k_n)))
    known = learn([poured(factor) for factor in factors])
    assert known.factor == pytest.approx(math.exp(n * mean / k_n))
    assert known.next_pour(0.9) == pytest.approx(tuple(np.exp(expected.interval(0.9))))
    of_mean = stats.t(df=v_n, loc=n * mean / k_n, scale=math.sqrt(squares / v_n / k_n))
    assert known.long_run(0.8) == pytest.approx(tuple(np.exp(of_mean.interval(0.8))))


def test_the_next_pour_is_the_integral_over_mean_and_variance():
    """The posterior integrated by numbers, with no closed form of it in between."""
    logs = [0.2, 0.05, 0.3]
    known = learn([poured(math.exp(log)) for log in logs])

    mean, variance = np.meshgrid(np.linspace(-2, 2, 1201), np.geomspace(1e-3, 3, 1200))
    weight = stats.invgamma.pdf(variance, PRIOR_FREEDOM / 2, scale=PRIOR_FREEDOM * PRIOR_SD**2 / 2)
    weight *= (
        stats.norm.pdf(mean, 0, np.sqrt(variance / PRIOR_POURS)) * variance
    )  # even steps of its logarithm
    for log in logs:
        weight *= stats.norm.pdf(log, mean, np.sqrt(variance))
    top = math.log(known.next_pour(0.9)[1])
    below = (weight * stats.norm.cdf(top, mean, np.sqrt(variance))).sum() / weight.sum()
    assert below == pytest.approx(0.95, abs=0.0005)


@given(st.lists(st.floats(0.6, 1.8), min_size=1, max_size=12), st.floats(0.7, 1.4))
def test_what_is_learned_lies_between_the_default_and_the_pours(factors, default):
    known = learn([poured(factor) for factor in factors], default)
    low, high = min([*factors, default]), max([*factors, default])
    assert low * (1 - 1e-9) <= known.factor <= high * (1 + 1e-9)
    nearer, farther = known.long_run(0.8), known.next_pour(0.8)
    assert farther[0] < nearer[0] < known.factor < nearer[1] < farther[1]


@given(st.lists(st.floats(0.7, 1.5), min_size=1, max_size=9), st.randoms(use_true_random=False))
def test_the_order_of_the_pours_does_not_matter(factors, luck):
    shuffled = list(factors)
    luck.shuffle(shuffled)
    one, other = (learn([poured(factor) for factor in some]) for some in (factors, shuffled))
    assert one.factor == pytest.approx(other.factor)
    assert one.next_pour(0.9) == pytest.approx(other.next_pour(0.9))


# --- what does not count ----------------------------------------------------------------------


def test_where_a_truck_sets_the_pace_nothing_is_learned_of_the_crew():
    known = learn([poured(0.7, crew_limited=False)] * 6)
    assert known.factor == 1
    assert known.left_out == (LeftOut.NOT_THE_CREW,) * 6


def test_a_pour_of_less_than_twenty_minutes_of_work_teaches_nothing():
    short = PouredBefore(default_m3_h=DEFAULT_M3_H, loads=(Emptied(6.0, 19.9),))
    enough = PouredBefore(default_m3_h=DEFAULT_M3_H, loads=(Emptied(6.0, 20.0),))
    assert learn([short, enough]).left_out == (LeftOut.TOO_SHORT, None)


def test_a_load_pressed_empty_at_once_is_not_taken_for_fast_work():
    honest = poured(1.0, loads=3)
    slip = PouredBefore(default_m3_h=DEFAULT_M3_H, loads=(*honest.loads, Emptied(LOAD_M3, 0.5)))
    forgotten = PouredBefore(default_m3_h=DEFAULT_M3_H, loads=(*honest.loads, Emptied(LOAD_M3, 400)))
    assert slip.factor == forgotten.factor == pytest.approx(1.0)


def test_who_seems_four_times_as_fast_was_noted_wrongly():
    assert learn([poured(4.0), poured(1.1)]).left_out == (LeftOut.UNLIKELY, None)


def test_of_many_alike_the_odd_one_is_left_out_and_of_few_it_is_not():
    usual = [poured(factor) for factor in (1.0, 1.03, 0.97, 1.05, 0.95, 1.02, 0.99)]
    assert learn([*usual, poured(2.2)]).left_out[-1] is LeftOut.OUTLIER
    assert learn([*usual[1:], poured(2.2)]).left_out[-1] is None


def test_pours_that_agree_to_the_minute_make_no_outlier_of_the_next():
    assert learn([poured(1.0)] * 8 + [poured(1.1)]).left_out[-1] is None


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1])
def test_a_range_holds_some_chance_and_not_all(share):
    with pytest.raises(BadInput):
        learn([]).next_pour(share)


# --- on simulated crews -----------------------------------------------------------------------

CREWS, POURS = 200, 20


def simulated(seed, load_sd=0.25):
    """Crews whose factors differ by a fifth, days that stray by 14 to 25 %, and loads by `load_sd`."""
    luck = np.random.default_rng(seed)
    truths, days = np.exp(luck.normal(0, 0.2, CREWS)), luck.uniform(0.14, 0.25, CREWS)
    crews = []
    for truth, day_sd in zip(truths, days, strict=True):
        pours = []
        for day in truth * np.exp(luck.normal(0, day_sd, POURS)):
            usual_min = 60 * LOAD_M3 / (DEFAULT_M3_H * day)
            times = usual_min * np.exp(luck.normal(-(load_sd**2) / 2, load_sd, luck.integers(3, 9)))
            loads = tuple(Emptied(LOAD_M3, float(minutes)) for minutes in times)
            pours.append(PouredBefore(default_m3_h=DEFAULT_M3_H, loads=loads))
        crews.append((truth, pours))
    return crews


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_nine_ranges_of_ten_hold_the_next_pour(seed):
    held = np.empty((CREWS, POURS))
    for crew, (_, pours) in enumerate(simulated(seed)):
        for count, pour in enumerate(pours):
            low, high = learn(pours[:count]).next_pour(0.9)
            held[crew, count] = low <= pour.factor <= high
    assert 0.86 <= held.mean() <= 0.94
    assert 0.86 <= held[:, 2:8].mean() <= 0.94
    assert 0.86 <= held[:, 8:].mean() <= 0.94
    # before a second pour the range is the prior's, which is wide for these crews
    assert held[:, :2].mean() >= 0.9


def test_what_is_learned_comes_near_what_is_so():
    """The typical error after one, five and twenty pours; a day that strays by a fifth leaves 20 %/√n."""
    errors = {count: [] for count in (0, 1, 5, 20)}
    for truth, pours in simulated(7):
        for count, found in errors.items():
            found.append(abs(math.log(learn(pours[:count]).factor / truth)))
    typical = [statistics.fmean(found) for found in errors.values()]
    assert typical == sorted(typical, reverse=True)
    assert typical[-1] < 0.05 < typical[1]


def test_the_spread_of_loads_is_learned():
    steady, wild = (
        statistics.fmean(learn(pours).load_sd for _, pours in simulated(5, load_sd)) for load_sd in (0.1, 0.5)
    )
    # what days stray comes on top: 0.2 beside 0.1 and 0.5
    assert steady == pytest.approx(math.hypot(0.1, 0.2), abs=0.03)
    assert wild == pytest.approx(math.hypot(0.5, 0.2), abs=0.06)
