"""The day of one pour as its slab has it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import (
    Finishing,
    Method,
    Mix,
    PercentAllowance,
    Place,
    Placing,
    PourRequest,
    Rectangle,
    Section,
    Supply,
    UniformDepth,
    WeatherHour,
)
from scheduling.engine.sawcut import FOLLOWED_AGE_H
from scheduling.engine.setting import Slab
from scheduling.engine.slabday import first_set, pour_clock

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
REQUEST = PourRequest(
    sections=(Section(Rectangle(12.0, 9.0), UniformDepth(0.127)),),
    allowance=PercentAllowance(5),
    mix=Mix(name="plain", strength_mpa=25, aggregate_mm=20),
    supply=Supply(truck_m3=7.5, order_step_m3=0.25, haul_min=20),
    placing=Placing(method=Method.CHUTE, people=5),
    finishing=Finishing(people=2),
    place=Place(),
    starts_at=SEVEN,
)
HOURS = tuple(WeatherHour(at=SEVEN + timedelta(hours=n), air_c=15.0, sun_w_m2=200.0) for n in range(96))


def milestones(sets):
    moments = (sets.float_ready, sets.initial, sets.final)
    return [at.timestamp() for moment in moments for at in (moment.early, moment.likely, moment.late)]


@pytest.mark.parametrize("known_h", [96, 0, 5])
@pytest.mark.parametrize("shaded", [False, True])
def test_the_first_concrete_sets_the_same_whether_the_rest_is_known_or_not(known_h, shaded):
    # Our choice: no forecast and one that is too short both leave a mild day
    forecast = Forecast(HOURS[:known_h])
    request = replace(REQUEST, sections=(replace(REQUEST.sections[0], shaded=shaded),))
    clock = pour_clock(request, forecast, Slab(), (SEVEN, SEVEN), [(SEVEN, shaded)])
    assert clock.known is (known_h == 96)
    alone = milestones(first_set(request, forecast, Slab()))
    for among_others in (clock.first, clock.last, clock.strips[0]):
        assert milestones(among_others) == pytest.approx(alone, abs=1e-3)  # seconds; sums round otherwise


def test_the_clock_windows_rest_on_knows_the_slab_through_cutting_even_on_a_mild_day():
    for forecast in (Forecast(HOURS), Forecast(())):
        clock = pour_clock(REQUEST, forecast, Slab(), (SEVEN, SEVEN), [(SEVEN, False)])
        assert clock.slab.course.age_h[-1].min() >= FOLLOWED_AGE_H


def test_a_mild_day_runs_through_a_clock_change():
    zone = ZoneInfo("America/New_York")  # 2026-03-08: from two to three o'clock at once (tz database)
    for start in (datetime(2026, 3, 7, 9, tzinfo=zone), datetime(2026, 10, 31, 9, tzinfo=zone)):
        alone = first_set(replace(REQUEST, starts_at=start), Forecast(()), Slab())
        usual = first_set(REQUEST, Forecast(()), Slab())
        waits = (alone.final.likely - alone.placed_at, usual.final.likely - usual.placed_at)
        assert waits[0] / waits[1] == pytest.approx(1)
