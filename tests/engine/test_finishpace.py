"""Placing no faster than the finishers can follow."""

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduling.engine.finishing import plan_finishing
from scheduling.engine.finishpace import fastest_safe_rate_m2_h, finish_pace
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Admixture, BadInput, Finish, Finishing, Mix, WeatherHour
from scheduling.engine.setting import set_times

FT2_M2 = 0.09290304
DEPTH_M = 0.127
SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
PLAIN = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def sets(air_f, lag_h, mix=PLAIN):
    hours = (WeatherHour(at=SEVEN + timedelta(hours=n), air_c=(air_f - 32) / 1.8) for n in range(140))
    forecast = Forecast(tuple(hours))
    return set_times(mix, forecast, SEVEN), set_times(mix, forecast, SEVEN + timedelta(hours=lag_h))


def pace_of(area_ft2, line_m3_h=20.0, air_f=70, mix=PLAIN, **finishing):
    area_m2 = area_ft2 * FT2_M2
    lag_h = area_m2 * DEPTH_M / line_m3_h
    return finish_pace(Finishing(**finishing), area_m2, DEPTH_M, line_m3_h, *sets(air_f, lag_h, mix))


def is_short(area_ft2, rate_m3_h, air_f=70, **finishing):
    """Whether the finishing plan says so of a slab placed at that rate."""
    area_m2 = area_ft2 * FT2_M2
    first, last = sets(air_f, area_m2 * DEPTH_M / rate_m3_h)
    findings = plan_finishing(Finishing(**finishing), area_m2, first, last).findings
    return "finishing_short" in [finding.code for finding in findings]


def test_a_slab_that_fits_one_strips_window_may_be_placed_as_fast_as_anyone_can():
    assert fastest_safe_rate_m2_h(100.0, 300.0, 3.0) == math.inf
    assert fastest_safe_rate_m2_h(100.0, 300.0, 4.0) == math.inf


def test_without_any_window_placing_goes_no_faster_than_finishing():
    assert fastest_safe_rate_m2_h(100.0, 300.0, 0.0) == pytest.approx(100.0)


@given(coverage=st.floats(10, 500), area=st.floats(10, 5000), window=st.floats(0, 10))
def test_at_the_safe_rate_the_finishers_end_just_as_the_last_strip_is_past_saving(coverage, area, window):
    rate = fastest_safe_rate_m2_h(coverage, area, window)
    assume(rate < 1e6)
    assert area / coverage == pytest.approx(area / rate + window, rel=1e-6)


@pytest.mark.parametrize("arguments", [(0, 10, 1), (10, 0, 1), (10, 10, -1)])
def test_what_cannot_be_is_refused(arguments):
    with pytest.raises(BadInput):
        fastest_safe_rate_m2_h(*arguments)


def test_a_party_that_keeps_up_leaves_the_line_its_rate():
    pace = pace_of(1500, people=3, power_trowels=2)
    assert pace.rate_m3_h == 20.0
    assert pace.findings == ()


def test_a_party_too_small_holds_placing_back_and_says_by_how_much():
    pace = pace_of(4000, people=2, power_trowels=1)
    (caution,) = pace.findings
    facts = caution.facts
    assert pace.rate_m3_h == pace.safe_m3_h == facts["safe_m3_h"] < facts["line_m3_h"] == 20.0
    volume_m3 = 4000 * FT2_M2 * DEPTH_M
    assert facts["longer_min"] == pytest.approx(60 * (volume_m3 / pace.safe_m3_h - volume_m3 / 20.0))


@pytest.mark.parametrize("finish", list(Finish))
@pytest.mark.parametrize("party", [(2, 1), (3, 1), (4, 2)])
@pytest.mark.parametrize("area_ft2", [3000, 6000])
def test_placed_at_the_safe_rate_the_slab_gets_finished_and_a_little_faster_it_does_not(
    area_ft2, party, finish
):
    people, power_trowels = party
    crew = {"people": people, "power_trowels": power_trowels, "finish": finish}
    safe_m3_h = pace_of(area_ft2, line_m3_h=60.0, **crew).safe_m3_h
    if safe_m3_h is None:
        assert not is_short(area_ft2, 1000.0, **crew)
    else:
        assert not is_short(area_ft2, 0.999 * safe_m3_h, **crew)
        assert is_short(area_ft2, 1.02 * safe_m3_h, **crew)


def test_the_finishers_asked_for_are_the_fewest_that_lift_it():
    facts = pace_of(4000, people=2, power_trowels=1).findings[0].facts
    enough = facts["people_needed"]
    assert pace_of(4000, people=enough, power_trowels=1).findings == ()
    assert pace_of(4000, people=enough - 1, power_trowels=1).findings != ()
    fast = {"line_m3_h": 25.0, "people": 4, "air_f": 90}
    trowels = pace_of(4000, power_trowels=2, **fast).findings[0].facts["power_trowels_needed"]
    assert pace_of(4000, power_trowels=trowels, **fast).findings == ()


def test_where_no_number_of_finishers_helps_none_is_named():
    facts = pace_of(300_000, line_m3_h=200.0, people=2).findings[0].facts
    assert facts["people_needed"] is None
    assert facts["power_trowels_needed"] is None


def test_at_ninety_five_the_window_is_short_for_a_small_crew_and_a_retarder_is_no_way_out():
    # First-hand accounts: in the 90s F concrete is unworkable at about 1.75 h, 4 yd3 with retarder stiff in
    # 1 h; a retarder buys 30 to 90 min and the crew was too small.
    crew = {"people": 1, "power_trowels": 0}
    hot = pace_of(900, line_m3_h=8.0, air_f=95, **crew)
    retarded = Mix(
        name="retarded", strength_mpa=25, aggregate_mm=20, admixtures=frozenset({Admixture.RETARDER})
    )
    slower = pace_of(900, line_m3_h=8.0, air_f=95, mix=retarded, **crew)
    assert hot.findings[0].code == slower.findings[0].code == "finishing_limits_placing"
    assert pace_of(900, line_m3_h=8.0, air_f=95, people=5, power_trowels=2).findings == ()


def test_five_walk_behinds_cannot_follow_a_big_deck_in_heat():
    # Trade magazine: five walk-behinds could not stay ahead on 10,600 ft2 decks in heat.
    caution = pace_of(10_600, line_m3_h=45.0, air_f=90, people=5, power_trowels=5).findings[0]
    assert caution.facts["people_needed"] > 5
