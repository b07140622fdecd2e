"""Ranking starts by what speaks against them."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.engine.beststart import MOST_STARTS, StartLimits, best_starts
from scheduling.engine.dayplan import plan_pour
from scheduling.engine.inputs import (
    BadInput,
    Finishing,
    Method,
    Mix,
    PercentAllowance,
    Place,
    Placing,
    PourRequest,
    Rectangle,
    Section,
    Severity,
    Supply,
    UniformDepth,
    WeatherHour,
    Window,
)
from scheduling.engine.startcosts import WEIGHTS, Danger, cost_h

FT, INCH, YD3 = 0.3048, 0.0254, 0.764554857984
HOUR = timedelta(hours=1)
ZONE = ZoneInfo("America/Chicago")
DAY = datetime(2026, 6, 11, tzinfo=ZONE)
MINNEAPOLIS = Place(latitude=44.9778, longitude=-93.2650)
NO_LIMITS = StartLimits()


def at(hour, day=0):
    return (DAY + timedelta(days=day) + hour * HOUR).astimezone(UTC)


def weather(change=None, hours=96):
    """Mild, dry and still; `change` gives other fields by the hour since midnight."""
    for n in range(hours):
        told = {
            "air_c": 20.0,
            "humidity": 0.7,
            "wind_10m_m_s": 1.0,
            "rain_chance": 0.0,
            "thunder_chance": 0.0,
        }
        yield WeatherHour(at=at(n), **(told | (change(n) if change else {})))


def by_sun(n, calm, fierce):
    """Between two values: calm before dawn, fierce at three in the afternoon."""
    return calm + (fierce - calm) * (1 + math.cos((n - 15) / 24 * 2 * math.pi)) / 2


def summer(n):
    return {"air_c": by_sun(n, 21, 38), "humidity": by_sun(n, 0.7, 0.12), "wind_10m_m_s": by_sun(n, 1, 8)}


def asked(hour=7, change=None, **fields):
    plain = PourRequest(
        sections=(Section(Rectangle(40 * FT, 30 * FT), UniformDepth(4 * INCH)),),
        allowance=PercentAllowance(6),
        mix=Mix(name="4000 psi", strength_mpa=28, aggregate_mm=19),
        supply=Supply(truck_m3=10 * YD3, order_step_m3=0.25 * YD3, haul_min=20),
        placing=Placing(method=Method.CHUTE, people=5),
        finishing=Finishing(people=6, power_trowels=2),
        place=MINNEAPOLIS,
        starts_at=at(hour),
        forecast=tuple(weather(change)),
    )
    return replace(plain, **fields)


def ranked(request, *hours, limits=NO_LIMITS):
    return best_starts(request, [at(hour) for hour in hours], limits)


def hour_of(choice):
    return (choice.starts_at - DAY) / HOUR


def codes(findings):
    return [finding.code for finding in findings]


# --- the ranking ------------------------------------------------------------------------------


def test_on_a_mild_dry_day_every_daylight_start_is_as_good_and_the_one_asked_for_stands():
    choices = ranked(asked(8), 6, 7, 8, 9, 10)
    assert [hour_of(choice) for choice in choices] == [8, 7, 9, 6, 10]
    assert [choice.total_h for choice in choices] == [0] * 5
    assert not choices[0].advantages
    assert not choices[0].appear
    assert not choices[0].clear


def test_a_hot_dry_day_is_started_early():
    choices = ranked(asked(12, summer), 6, 8, 10, 12, 14)
    assert [hour_of(choice) for choice in choices] == [6, 8, 10, 12, 14]
    best = choices[0]
    assert {"start_dries_less", "start_cooler_concrete"} <= set(codes(best.advantages))
    assert "evaporation_high" in codes(best.clear)
    dries = next(finding for finding in best.advantages if finding.code == "start_dries_less")
    assert dries.facts["peak_kg_m2_h"] < dries.facts["limit_kg_m2_h"] < dries.facts["asked_peak_kg_m2_h"]
    assert (dries.facts["starts_at"], dries.facts["asked_at"]) == (at(6), at(12))


def test_a_cold_day_is_not_started_into_the_night():
    def autumn(n):
        return {"air_c": by_sun(n, -3, 14)}

    choices = ranked(asked(15, autumn, place=Place(indoors=True)), 9, 15)
    assert hour_of(choices[0]) == 9
    assert codes(choices[0].advantages) == ["start_less_cold"]


@pytest.mark.parametrize(("field", "code"), [("rain_chance", "rain"), ("thunder_chance", "thunder")])
def test_a_wet_afternoon_is_waited_out_or_forestalled(field, code):
    def storm(n):
        return {field: 0.8 if 14 <= n < 17 else 0.0}

    best = ranked(asked(11, storm), 5, 10, 11)[0]
    assert hour_of(best) == 5  # set before two in the afternoon
    assert codes(best.advantages) == [f"start_less_{code}"]
    assert codes(best.clear)[0] == code
    under_roof = asked(11, storm, place=Place(indoors=True))
    assert [choice.total_h for choice in ranked(under_roof, 5, 8, 11)] == [0, 0, 0]


def test_an_amount_of_rain_without_a_chance_counts_as_sure():
    def wet(n):
        return {"rain_chance": None, "rain_mm": 2.0 if 12 <= n < 18 else 0.0}

    costs_h = ranked(asked(10, wet), 10)[0].costs_h
    assert costs_h == {"rain": WEIGHTS["rain"].per}


def test_a_forecast_that_ends_is_not_taken_for_fair_weather():
    def ends(n):
        return summer(n) if n < 24 else {"air_c": None, "humidity": None, "wind_10m_m_s": None}

    choices = ranked(asked(9, ends), 9, 30, 54)
    assert hour_of(choices[0]) == 9
    assert choices[0].costs_h["drying"] > 0
    for unknown in choices[1:]:
        assert unknown.costs_h["unknown_weather"] == WEIGHTS["unknown_weather"].per
        assert not {"start_dries_less", "start_cooler_concrete"} & set(codes(unknown.advantages))
    back = ranked(asked(30, ends), 9)[0]
    assert codes(back.advantages) == ["start_weather_known"]


# --- light ------------------------------------------------------------------------------------


def test_work_before_sunrise_and_after_sunset_is_weighed_and_told():
    # Minneapolis, 11 June: sunrise 5:26, sunset 20:59 (public tables)
    early, late = ranked(asked(8), 3), ranked(asked(8), 16)
    (dark,) = [f for f in early[0].findings if f.code == "work_in_the_dark"]
    assert dark.severity is Severity.CAUTION
    assert abs(dark.facts["sunrise_at"] - at(5 + 26 / 60)) < timedelta(minutes=1)
    assert dark.facts["placing_dark_h"] > 0.5
    assert early[0].costs_h.keys() == {"placing_dark"}
    (dark,) = [f for f in late[0].findings if f.code == "work_in_the_dark"]
    assert abs(dark.facts["sunset_at"] - at(20 + 59 / 60)) < timedelta(minutes=1)
    assert late[0].costs_h.keys() == {"finishing_dark"}
    assert codes(late[0].appear) == ["work_in_the_dark"]


def test_a_start_by_daylight_is_told_for_its_light():
    assert codes(ranked(asked(3), 8)[0].advantages) == ["start_placing_lighter"]
    assert codes(ranked(asked(17), 8)[0].advantages) == ["start_finishing_lighter"]


def test_under_a_roof_it_is_never_dark():
    (choice,) = ranked(asked(3, place=replace(MINNEAPOLIS, indoors=True)), 3)
    assert choice.total_h == 0
    assert not {"work_in_the_dark", "daylight_unknown"} & set(codes(choice.findings))


def test_where_the_place_is_not_known_the_light_is_not_judged_and_that_is_said():
    (choice,) = ranked(asked(3, place=Place()), 3)
    assert choice.total_h == 0
    assert "daylight_unknown" in codes(choice.findings)


def test_june_in_anchorage_has_daylight_for_a_whole_pour():
    # civil dusk never ends there in June: asking for it fails, asking for sunrise does not
    anchorage = Place(latitude=61.2181, longitude=-149.9003)
    june = asked(15, place=anchorage)
    assert ranked(june, 15)[0].total_h == 0


# --- noise ------------------------------------------------------------------------------------


def quiet(opens, closes):
    return StartLimits(loud_windows=tuple(Window(at(opens, day), at(closes, day)) for day in range(-1, 4)))


def test_trucks_before_the_hours_for_noise_cost_and_are_told():
    choices = ranked(asked(6.75), 6.75, 7.5, limits=quiet(7, 22))
    assert [hour_of(choice) for choice in choices] == [7.5, 6.75]
    early, weight = choices[1], WEIGHTS["loud"]
    assert early.costs_h["loud"] == pytest.approx(weight.each + weight.per * 0.25)
    (loud,) = [f for f in early.findings if f.code == "loud_outside_hours"]
    assert loud.facts["trucks_h"] == pytest.approx(0.25)
    assert (loud.facts["trowels_h"], loud.facts["saw_h"]) == (0, 0)
    assert (loud.facts["opens_at"], loud.facts["closes_at"]) == (at(7), at(22))
    assert codes(choices[0].advantages) == ["start_quieter"]


def test_a_saw_at_night_counts_as_loud():
    plan = plan_pour(asked(9))
    closes = (plan.sawing.starts_at - DAY) / HOUR
    (choice,) = ranked(asked(9), 9, limits=quiet(7, closes))
    (loud,) = [f for f in choice.findings if f.code == "loud_outside_hours"]
    assert loud.facts["saw_h"] == pytest.approx((plan.sawing.ends_at - plan.sawing.starts_at) / HOUR)


def test_trowels_by_hand_make_no_noise():
    by_hand = asked(9, finishing=Finishing(people=20, power_trowels=0))
    (choice,) = ranked(by_hand, 9, limits=quiet(7, 8))
    (loud,) = [f for f in choice.findings if f.code == "loud_outside_hours"]
    assert "trowels_h" not in loud.facts


def test_a_day_without_a_window_is_a_day_without_loud_work():
    limits = StartLimits(loud_windows=(Window(at(7, -1), at(22, -1)),))
    (choice,) = ranked(asked(9), 9, limits=limits)
    (loud,) = [f for f in choice.findings if f.code == "loud_outside_hours"]
    assert loud.facts["opens_at"] is None
    assert loud.facts["trucks_h"] > 0


# --- plant and people -------------------------------------------------------------------------


@pytest.mark.parametrize(("hour", "cleared"), [(5, "plant_not_open"), (17, "plant_closed")])
def test_a_start_outside_the_plants_hours_comes_last(hour, cleared):
    supply = replace(asked().supply, opens_at=at(6), closes_at=at(16))
    choices = ranked(asked(hour, supply=supply), 8, hour)
    assert [hour_of(choice) for choice in choices] == [8, hour]
    assert cleared in codes(choices[0].clear)
    assert "start_plant_open" in codes(choices[0].advantages)
    assert choices[1].worst is Severity.STOP
    assert choices[1].costs_h["plant_hours"] > WEIGHTS["plant_hours"].each


def test_finishers_who_keep_up_in_the_cool_speak_for_it():
    few = Finishing(people=2, power_trowels=1)
    choices = ranked(asked(9, summer, finishing=few), 5, 9)
    assert hour_of(choices[0]) == 5
    assert "start_finishers_keep_up" in codes(choices[0].advantages)


def test_loads_past_their_age_weigh_alike_on_every_start():
    supply = replace(asked().supply, age_limit_min=20)
    choices = ranked(asked(8, supply=supply), 7, 8)
    loads = len(plan_pour(asked(8)).delivery.loads)
    assert [choice.costs_h["old_loads"] for choice in choices] == [loads * WEIGHTS["old_loads"].per] * 2


# --- the sweep as a whole ---------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(hours=st.lists(st.integers(0, 47), min_size=1, max_size=6), own=st.integers(0, 23))
@pytest.mark.slow
def test_ranks_rise_and_say_what_they_are_made_of(hours, own):
    request = asked(own, summer)
    choices = ranked(request, *hours, limits=quiet(7, 20))
    assert sorted(hour_of(choice) for choice in choices) == sorted(hours)
    totals = [choice.total_h for choice in choices]
    assert all(a <= b + 1e-6 for a, b in pairwise(totals))
    for choice in choices:
        assert set(choice.costs_h) <= set(WEIGHTS)
        assert sum(choice.costs_h.values()) == pytest.approx(choice.total_h)
        assert choice.worst is choice.findings[0].severity
    assert choices == ranked(request, *hours, limits=quiet(7, 20))


def test_the_start_asked_for_need_not_be_among_those_tried():
    choices = ranked(asked(14, summer), 6, 7)
    assert [hour_of(choice) for choice in choices] == [6, 7]
    assert all(finding.facts["asked_at"] == at(14) for finding in choices[0].advantages)


def test_advantages_stand_most_first():
    saved = [finding.facts["saved_h"] for finding in ranked(asked(14, summer), 6)[0].advantages]
    assert len(saved) > 1
    assert saved == sorted(saved, reverse=True)


def test_a_weight_counts_once_and_for_every_unit():
    assert cost_h("loud", Danger(0.0)) == 0
    assert cost_h("loud", Danger(2.0)) == WEIGHTS["loud"].each + 2 * WEIGHTS["loud"].per


@pytest.mark.parametrize(
    "starts", [[], [at(8)] * (MOST_STARTS + 1), [datetime(2026, 6, 11, 8)]], ids=["none", "many", "naive"]
)
def test_starts_that_cannot_be_tried_are_refused_by_name(starts):
    with pytest.raises(BadInput) as caught:
        best_starts(asked(), starts, NO_LIMITS)
    assert caught.value.field == "starts"
