"""What rain takes of the hours people can work a slab."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scheduling.engine.dayplan import plan_pour
from scheduling.engine.finishing import plan_finishing
from scheduling.engine.forecast import Forecast
from scheduling.engine.inputs import Finishing, Mix, PhaseKind, Place, WeatherHour, Window
from scheduling.engine.rainclock import DryClock, SkySeen, rain_as_seen, rain_windows
from tests.engine.placed import sets_of, strips_placed
from tests.planned import at, changed, shower, weather

SEVEN = datetime(2026, 6, 10, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
MIX = Mix(name="plain", strength_mpa=25, aggregate_mm=20)


def hours(*rainy):
    return Forecast(
        tuple(
            WeatherHour(at=SEVEN + n * HOUR, air_c=21.0, rain_mm=3.0 if n in rainy else 0.0)
            for n in range(72)
        )
    )


def window(start_h, end_h):
    return Window(SEVEN + start_h * HOUR, SEVEN + end_h * HOUR)


def test_hours_of_rain_that_touch_are_one_and_are_cut_to_what_is_asked():
    found = rain_windows(hours(1, 2, 5, 9), SEVEN + 1.5 * HOUR, SEVEN + 9 * HOUR)
    assert found == (window(1.5, 3), window(5, 6))


@pytest.mark.parametrize(
    ("told", "rains_h", "over_h", "wet"),
    [
        ((), (), (), ()),
        (((2, 4),), (), (), ((2, 4),)),
        ((), (2,), (4,), ((2, 4),)),  # until it is seen to be over
        ((), (2,), (), ((2, 3),)),  # else an hour (our choice)
        (((2.5, 5),), (2,), (), ((2, 5),)),  # or as long as the forecast goes on with it
        ((), (2, 2.5, 3.25), (), ((2, 4.25),)),  # still raining
        ((), (2, 6), (), ((2, 3), (6, 7))),  # two showers
        (((2, 6),), (), (3,), ((2, 3), (4, 6))),  # a dry sky is believed for an hour
        (((2, 6),), (3.5,), (3,), ((2, 3), (3.5, 6))),
        ((), (2,), (2,), ((2, 3),)),  # both at once: rain, to be safe
    ],
)
def test_what_people_see_of_rain_goes_before_what_was_forecast(told, rains_h, over_h, wet):
    seen = SkySeen(*(tuple(SEVEN + h * HOUR for h in hours_h) for hours_h in (rains_h, over_h)))
    assert rain_as_seen([window(*one) for one in told], seen) == tuple(window(*one) for one in wet)


def test_without_rain_the_clock_is_as_it_was():
    clock = DryClock(SEVEN, ())
    assert (clock.dry(3.25), clock.begins(3.25), clock.ends(3.25)) == (3.25, 3.25, 3.25)


def test_work_due_in_rain_begins_after_it_and_work_cut_by_it_goes_on_after_it():
    clock = DryClock(SEVEN, (window(2, 4),))
    assert clock.dry(3.0) == 2.0
    assert clock.begins(clock.dry(3.0)) == 4.0
    assert clock.ends(2.0) == 2.0  # done as it begins to rain
    assert clock.ends(2.5) == 4.5


@given(wet=st.lists(st.tuples(st.floats(0.1, 3), st.floats(0.1, 3)), max_size=5), clock_h=st.floats(-5, 40))
@example(wet=[(0.4314606441180693, 1.0)], clock_h=1.0)
def test_there_and_back_is_the_same_moment_where_it_is_dry(wet, clock_h):
    windows, cursor = [], 0.0
    for gap_h, rain_h in wet:
        windows.append(window(cursor + gap_h, cursor + gap_h + rain_h))
        cursor += gap_h + rain_h
    clock = DryClock(SEVEN, tuple(windows))
    near = timedelta(seconds=1)
    if not any(one.opens_at - near < SEVEN + clock_h * HOUR < one.closes_at + near for one in windows):
        assert clock.begins(clock.dry(clock_h)) == pytest.approx(clock_h, abs=1e-6)
    assert clock.begins(clock.dry(clock_h)) >= clock_h - 1e-6


def finished(rain=()):
    strips = strips_placed(150.0, SEVEN, 1.0)
    return plan_finishing(Finishing(people=2), strips, sets_of(strips, MIX, hours()), rain)


def test_two_hours_of_rain_amid_the_finishing_make_it_end_two_hours_later_and_nobody_leaves():
    # Trade magazine: rain three hours after placing, for two; a builder's diary: sheets on, the crew waited
    dry = finished()
    amid = Window(dry.ends_at - HOUR / 4, dry.ends_at + 1.75 * HOUR)
    wet = finished((amid,))
    assert wet.ends_at - dry.ends_at == pytest.approx(2 * HOUR, abs=timedelta(seconds=2))
    assert wet.starts_at == dry.starts_at
    (told,) = [one for one in wet.findings if one.code == "finishing_waits"]
    assert told.facts["wait_min"] == pytest.approx(120, abs=0.1)
    for strip in wet.strips:
        for one in strip.passes:
            assert not amid.opens_at < one.starts_at < amid.closes_at


def test_rain_before_anything_can_be_worked_takes_nothing():
    dry = finished()
    early = finished((Window(SEVEN, dry.starts_at - HOUR / 2),))
    assert early == dry


def planned(**changes):
    return plan_pour(changed(**changes), days=20)


def test_rain_while_it_sets_stretches_the_finishing_and_moves_the_cut_and_cancels_nothing():
    dry, wet = planned(forecast=weather(21.0)), planned(forecast=shower(rain_mm=3.0))
    phases = [{phase.kind: phase for phase in plan.phases} for plan in (dry, wet)]
    assert phases[1][PhaseKind.FINISH].ends_at > phases[0][PhaseKind.FINISH].ends_at
    assert phases[1][PhaseKind.FINISH].people == phases[0][PhaseKind.FINISH].people
    assert phases[1][PhaseKind.PLACE] == phases[0][PhaseKind.PLACE]
    assert wet.sawing.opens_at >= dry.sawing.opens_at
    assert {"rain", "finishing_waits"} <= {finding.code for finding in wet.findings}


def test_under_a_roof_rain_takes_nothing():
    wet = planned(forecast=shower(rain_mm=3.0), place=Place(indoors=True))
    assert "finishing_waits" not in {finding.code for finding in wet.findings}


def test_rain_after_the_slab_is_hard_takes_nothing():
    late = tuple(
        WeatherHour(**{**{name: getattr(hour, name) for name in hour.__slots__}, "rain_mm": 5.0})
        if hour.at >= at(7, day=12)
        else hour
        for hour in weather(21.0)
    )
    plan = planned(forecast=late)
    assert plan.last_set.final.likely < at(7, day=12)
    assert "finishing_waits" not in {finding.code for finding in plan.findings}
