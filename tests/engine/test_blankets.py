"""Blankets on a finished slab: what they hurry, and what they leave as it was."""

from scheduling.engine.dayplan import plan_pour
from scheduling.engine.inputs import PourRequest
from tests.planned import changed, weather


def cold(*, blankets: bool) -> PourRequest:
    return changed(forecast=weather(4.0, humidity=0.6, wind_10m_m_s=3.0), finishing={"blankets": blankets})


def test_a_covered_slab_bears_feet_and_cars_sooner_in_the_cold():
    bare, covered = (plan_pour(cold(blankets=blankets)) for blankets in (False, True))
    assert covered.curing.walked_on_at < bare.curing.walked_on_at
    assert covered.curing.cars_at <= bare.curing.cars_at


def test_what_comes_before_the_last_pass_does_not_change():
    bare, covered = (plan_pour(cold(blankets=blankets)) for blankets in (False, True))
    assert covered.finishing == bare.finishing
    assert covered.delivery == bare.delivery
