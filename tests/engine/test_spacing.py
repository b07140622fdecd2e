import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.engine.delivery import deliver
from scheduling.engine.inputs import BadInput, Place, Severity, Supply
from scheduling.engine.rounds import evenly
from scheduling.engine.spacing import Spacing, match_factor, spacing_for

YARD_M3 = 0.764554857984  # exact, from the international yard
OPEN = Place()
SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)


def supply(**changes) -> Supply:
    return Supply(**{"truck_m3": 8.0, "order_step_m3": 0.25, "haul_min": 20.0, **changes})


def yards(load_yd: float, rate_yd_h: float, count: int = 10, place: Place = OPEN, **changes) -> Spacing:
    loads_m3 = (load_yd * YARD_M3,) * count
    return spacing_for(loads_m3, rate_yd_h * YARD_M3, supply(**changes), place)


def codes(spacing: Spacing) -> list[str]:
    return [finding.code for finding in spacing.findings]


@pytest.mark.parametrize(
    ("load_yd", "rate_yd_h", "minutes"), [(10, 40, 15), (9, 30, 18), (10, 100, 6), (8, 24, 20)]
)
def test_trucks_come_as_fast_as_the_crew_empties_them(load_yd, rate_yd_h, minutes):
    # arithmetic: 60 × load / rate
    spacing = yards(load_yd, rate_yd_h)
    assert spacing.interval_min == minutes
    assert spacing.limited_by == "crew"
    assert spacing.findings == ()


def test_a_metric_pour_by_pump_is_spaced_as_the_published_example():
    # a published teaching example: 8 m3 trucks at 32 m3/h
    assert spacing_for((8.0,) * 15, 32, supply(), Place()).interval_min == 15


ROUND = {"loading_min": 5, "washout_min": 5}  # with a check of 5 min before the road


def test_seven_trucks_keep_up_with_a_round_trip_of_65_minutes():
    # a producer's questions and answers: load 5, check 5, travel 20, unload 10, wash 5, back 20
    spacing = yards(10, 60, 15, haul_min=25, return_min=20, **ROUND)
    assert spacing.interval_min == 10
    assert spacing.trucks_needed == 7


def test_a_longer_road_needs_ten_trucks():
    assert yards(10, 60, 15, haul_min=40, return_min=35, **ROUND).trucks_needed == 10


def test_no_more_trucks_are_needed_than_there_are_loads():
    assert yards(10, 60, 4, haul_min=25, return_min=20, **ROUND).trucks_needed == 4


def test_five_trucks_where_seven_are_needed_stretch_the_interval():
    spacing = yards(10, 60, 15, haul_min=25, return_min=20, trucks=5, **ROUND)
    assert spacing.interval_min == 13
    assert spacing.fleet_min == pytest.approx(13)
    assert spacing.limited_by == "fleet"
    (caution,) = spacing.findings
    assert caution.severity == Severity.CAUTION
    assert caution.code == "too_few_trucks"
    assert caution.facts["trucks"] == 5
    assert caution.facts["trucks_needed"] == 7
    assert caution.facts["interval_min"] == 13
    assert caution.facts["wanted_interval_min"] == 10
    assert caution.facts["match_factor"] == pytest.approx(50 / 65)


def test_trucks_that_make_one_trip_each_set_no_interval():
    spacing = yards(10, 60, 5, haul_min=25, return_min=20, trucks=5, **ROUND)
    assert spacing.interval_min == 10
    assert spacing.fleet_min is None
    assert spacing.findings == ()


def test_a_slower_plant_sets_the_interval_and_is_named():
    # plant 125-150 yd/h, crew up to 180 yd/h: trade magazine on very large slabs
    spacing = yards(10, 180, 112, plant_rate_m3_h=130 * YARD_M3, loading_min=3)
    assert spacing.exact_min == pytest.approx(4.615, abs=0.001)
    assert spacing.interval_min == 5  # never 4: rounding down builds a line
    assert spacing.crew_min == pytest.approx(10 / 3)
    (note,) = spacing.findings
    assert note.severity == Severity.NOTE
    assert note.code == "spacing_limited"
    assert note.facts["limited_by"] == "plant"
    assert note.facts["interval_min"] == 5
    assert note.facts["exact_min"] == pytest.approx(4.615, abs=0.001)


def test_loading_one_truck_at_a_time_can_be_the_limit():
    spacing = yards(10, 120, loading_min=8)
    assert (spacing.interval_min, spacing.limited_by) == (8, "plant")


def test_a_site_for_one_truck_adds_its_changeover():
    spacing = yards(10, 60, place=Place(one_truck_at_a_time=True))
    assert spacing.site_min == pytest.approx(15)
    assert (spacing.interval_min, spacing.limited_by) == (15, "site")
    assert codes(spacing) == ["spacing_limited"]


def test_a_limit_that_rounds_to_the_crews_own_minutes_is_no_limit():
    spacing = spacing_for((8.0,) * 9, 60 * 8 / 9.3, supply(plant_rate_m3_h=60 * 8 / 9.8), Place())
    assert (spacing.interval_min, spacing.limited_by) == (10, "crew")
    assert spacing.exact_min == pytest.approx(9.3)
    assert spacing.findings == ()


def test_a_single_load_has_nothing_to_be_spaced_from():
    spacing = yards(10, 120, 1, loading_min=8, trucks=1)
    assert spacing.trucks_needed == 1
    assert spacing.findings == ()


def test_the_largest_load_sets_the_interval():
    assert spacing_for((8.0, 8.0, 2.0), 32, supply(), Place()).interval_min == 15


def test_a_match_factor_of_one_is_balance():
    # MF = trucks × service / cycle, textbook of earthmoving: service 12 in a cycle of 72
    assert match_factor(5, 12, 72) == pytest.approx(0.833, abs=0.0005)
    assert match_factor(6, 12, 72) == 1


@pytest.mark.parametrize(("loads", "rate"), [((), 30), ((8, -1), 30), ((8,), 0)])
def test_nonsense_is_refused(loads, rate):
    with pytest.raises(BadInput):
        spacing_for(loads, rate, supply(), Place())


@given(
    m3=st.floats(1, 10),
    count=st.integers(1, 30),
    rate=st.floats(5, 100),
    supply=st.builds(
        supply,
        trucks=st.none() | st.integers(1, 8),
        plant_rate_m3_h=st.none() | st.floats(20, 120),
        loading_min=st.floats(0, 12),
        haul_min=st.floats(0, 60),
        washout_min=st.floats(0, 15),
    ),
    place=st.builds(Place, one_truck_at_a_time=st.booleans()),
)
def test_the_spacing_builds_no_line_and_uses_the_trucks_it_says(m3, count, rate, supply, place):
    spacing = spacing_for((m3,) * count, rate, supply, place)
    made = deliver((m3,) * count, evenly(spacing.interval_min, count), SEVEN, rate, supply, place)
    assert made.truck_wait_min == pytest.approx(0, abs=1e-3)
    for load in made.loads:
        late_min = (load.arrives_at - SEVEN).total_seconds() / 60 - (load.number - 1) * spacing.interval_min
        assert late_min == pytest.approx(0, abs=1e-3)
    used = max(load.truck for load in made.loads)
    enough = spacing.trucks_needed if supply.trucks is None else min(supply.trucks, spacing.trucks_needed)
    assert used == enough


@given(trucks=st.integers(1, 12), count=st.integers(2, 40), rate=st.floats(5, 100), haul=st.floats(0, 90))
def test_too_few_trucks_is_said_exactly_when_fewer_come_than_are_needed(trucks, count, rate, haul):
    spacing = spacing_for((8.0,) * count, rate, supply(trucks=trucks, haul_min=haul), Place())
    assert ("too_few_trucks" in codes(spacing)) == (trucks < spacing.trucks_needed)
    assert spacing.interval_min == math.ceil(spacing.exact_min - 1e-6)
