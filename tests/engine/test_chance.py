import math

import numpy as np
import pytest
from scipy import stats

from scheduling.engine.chance import draw_days
from scheduling.engine.inputs import BadInput, Uncertainty

LOADS_M3 = (7.0, 7.0, 3.5)
RATE_M3_H = 30.0
HAUL_MIN = 30.0


def drawn(days=20_000, seed=1, haul_min=HAUL_MIN, **changes):
    return draw_days(LOADS_M3, RATE_M3_H, haul_min, Uncertainty(**changes), days, seed)


def test_unloading_takes_load_divided_by_rate_on_average_and_strays_as_told():
    unload = drawn(unload_cv=0.3).unload_min
    assert unload.mean(axis=1) == pytest.approx([14, 14, 7], rel=2e-3)
    assert unload.std(axis=1) / unload.mean(axis=1) == pytest.approx([0.3] * 3, rel=0.03)


def test_unloading_is_lognormal():
    draws = drawn(unload_cv=0.4)
    logs = np.log(draws.unload_min[0])
    assert stats.kstest((logs - logs.mean()) / logs.std(), "norm").pvalue > 0.01
    assert draws.unload_sd == pytest.approx(math.sqrt(math.log(1.16)))
    assert draws.planned_min == pytest.approx((14, 14, 7))


def test_lateness_is_a_normal_cut_off_at_both_ends():
    late = drawn(late_mean_min=3, late_sd_min=8, earliest_min=-10, latest_min=20).late_min
    expected = stats.truncnorm(-13 / 8, 17 / 8, loc=3, scale=8)
    assert late.min() >= -10
    assert late.max() <= 20
    assert late.mean() == pytest.approx(expected.mean(), abs=0.02)
    assert stats.kstest(late[1], expected.cdf).pvalue > 0.01


def test_customary_lateness_is_anything_within_fifteen_minutes():
    # on time is within 15 min either side: a supplier's published price page
    luck = Uncertainty(unload_cv=0.2).with_customary_lateness()
    late = draw_days(LOADS_M3, RATE_M3_H, HAUL_MIN, luck, 20_000, 1).late_min
    assert stats.kstest(late[0], stats.uniform(-15, 30).cdf).pvalue > 0.01
    assert luck.unload_cv == 0.2


def test_no_truck_is_earlier_than_its_road_is_long():
    assert drawn(haul_min=5, late_sd_min=20).late_min.min() == -5


def test_loads_are_late_independently_of_each_other():
    together = np.corrcoef(np.vstack([drawn().late_min, drawn().unload_min]))
    assert np.abs(together - np.eye(6)).max() < 0.03


def test_without_spread_every_day_goes_as_planned():
    draws = drawn(days=5, late_mean_min=2, late_sd_min=0, unload_cv=0, overtaking_chance=0)
    assert np.all(draws.late_min == 2)
    assert draws.unload_min.tolist() == [[14.0] * 5, [14.0] * 5, [7.0] * 5]
    assert draws.overtakes is None


def test_overtaking_is_as_likely_as_told():
    assert drawn(overtaking_chance=0.3).overtakes.mean() == pytest.approx(0.3, abs=0.01)
    assert drawn(overtaking_chance=1).overtakes.all()


def test_the_same_seed_is_the_same_luck_whatever_is_uncertain():
    steady, wild = drawn(late_sd_min=2, unload_cv=0.1), drawn(late_sd_min=12, unload_cv=0.6)
    assert np.array_equal(np.argsort(steady.unload_min, axis=1), np.argsort(wild.unload_min, axis=1))
    assert np.array_equal(drawn().late_min, drawn().late_min)
    assert not np.array_equal(drawn().late_min, drawn(seed=2).late_min)


def test_a_share_of_the_days_is_some_of_them():
    draws = drawn(days=100)
    share = draws.share(4)
    assert share.days == 25
    assert np.array_equal(share.unload_min[:, 1], draws.unload_min[:, 4])
    assert np.array_equal(share.overtakes[:, 24], draws.overtakes[:, 96])


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"late_mean_min": math.nan}, "late_mean_min"),
        ({"late_mean_min": 50}, "late_mean_min"),
        ({"earliest_min": 10}, "late_mean_min"),
        ({"latest_min": math.inf}, "latest_min"),
        ({"late_sd_min": -1}, "late_sd_min"),
        ({"late_sd_min": math.nan}, "late_sd_min"),
        ({"unload_cv": -0.1}, "unload_cv"),
        ({"changeover_min": -1}, "changeover_min"),
        ({"overtaking_chance": 1.1}, "overtaking_chance"),
    ],
)
def test_uncertainty_that_makes_no_sense_is_refused(changes, field):
    with pytest.raises(BadInput) as refused:
        Uncertainty(**changes)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("loads", "rate", "days"), [((), 30, 10), ((7, 0), 30, 10), ((7,), 0, 10), ((7,), 30, 0)]
)
def test_nonsense_is_refused(loads, rate, days):
    with pytest.raises(BadInput):
        draw_days(loads, rate, HAUL_MIN, Uncertainty(), days, 1)
