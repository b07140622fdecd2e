"""Findings in exact words: numbers, lists, clock times and days as they are told."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.quantities import UnitSystem
from scheduling.sentences import say

ZONE = ZoneInfo("America/Chicago")
US, METRIC = UnitSystem.US, UnitSystem.METRIC
YD3, FT, IN = 0.764555, 0.3048, 0.0254


def at(hour, minute=0, day=11):
    """A moment of June 2026; the 11th is a Thursday."""
    return datetime(2026, 6, day, hour, minute, tzinfo=ZONE).astimezone(UTC)


def told(code, system=US, **facts):
    return say(code, facts, system, ZONE)


def test_the_last_load_is_held_until_the_rest_is_measured():
    said = "Hold load 4 at the plant until you have measured what is left (about 2.25 yd3)."
    assert told("hold_last_load", load=4, remaining_m3=2.25 * YD3) == said
    assert told("hold_last_load", METRIC, load=4, remaining_m3=2.25).endswith("(about 2.25 m3).")


def test_the_slowest_stage_is_named_with_what_one_more_person_would_do():
    facts = {"stage": "rake", "people": 2, "rate_m3_h": 26.2 * YD3, "one_more_person_m3_h": 32 * YD3}
    said = "Raking sets the pace: 2 people, 26.2 yd3/h. One more person would make it 32 yd3/h."
    assert told("limiting_stage", **facts) == said


def test_one_more_person_who_changes_nothing_is_not_asked_for():
    facts = {"stage": "unload", "people": 1, "rate_m3_h": 30.0, "one_more_person_m3_h": 30.01}
    said = "Unloading the truck sets the pace: 1 person, 39.2 yd3/h. One more person would hardly help."
    assert told("limiting_stage", **facts) == said


def test_everybody_has_a_post_and_the_line_says_which():
    facts = {"stage": "rake", "people": 2, "rate_m3_h": 20 * YD3, "one_more_person_m3_h": 20 * YD3}
    posts = "unload:1,rake:2,strike_off+bull_float:2"
    said = "1 tends the chute, 2 rake, 2 strike off and bull float."
    assert told("limiting_stage", **facts, posts=posts).endswith(said)


def test_what_carries_the_concrete_is_named_where_it_sets_the_pace():
    facts = {"stage": "carry", "people": 1, "rate_m3_h": 20 * YD3, "one_more_person_m3_h": 20 * YD3}
    assert told("limiting_stage", **facts, method="power_buggy").startswith(
        "The power buggy sets the pace: 1"
    )


def test_ways_that_reach_come_with_what_they_place():
    facts = {"method": "chute", "reach_m": 12 * FT, "needed_m": 30 * FT, "barrow": True, "conveyor": False}
    said = (
        "The concrete must go 30 ft from the truck; this way it gets 12 ft far. "
        "Use barrows (7.5 yd3/h) or find a second place for the truck to stand."
    )
    assert told("out_of_reach", **facts, barrow_m3_h=7.5 * YD3, second_truck_position=True) == said


OLD = {"loads": "3,4,5,8", "worst_age_min": 90.3, "age_limit_min": 90.0, "largest_load_m3": 5 * YD3}


def test_old_loads_are_listed_and_an_age_just_over_the_limit_does_not_read_as_within_it():
    said = (
        "Loads 3 to 5 and 8 would be up to 91 min old when the truck is empty; the limit is 90 min. "
        "One truck every 25 min would pass."
    )
    assert told("load_too_old", **OLD, passing_interval_min=25) == said


def test_where_wider_spacing_cannot_help_old_loads_smaller_ones_are_asked_for():
    said = "Trucks farther apart do not help: order loads of about 5 yd3 at most, or place faster."
    assert told("load_too_old", **OLD, passing_interval_min=None).endswith(said)


def test_a_long_list_of_loads_is_cut_short():
    loads = ",".join(str(number) for number in range(1, 300, 2))
    said = told("load_too_old", **{**OLD, "loads": loads}, passing_interval_min=25)
    assert said.startswith("Loads 1, 3, 5, 7 and 146 more would be up to")


def test_drying_is_told_from_when_to_when_with_its_peak_limit_doubt_and_cures():
    facts = {"first_over_at": at(11), "last_over_at": at(16), "peak_at": at(14), "uncertainty_fraction": 0.4}
    said = (
        "The surface dries too fast from 11 am to 4 pm: up to 0.31 lb/ft2/h at 2 pm, and 0.2 lb/ft2/h is the "
        "limit. Wind breaks, fog, an evaporation retarder or an earlier start help. "
        "Such estimates may be off by 40%."
    )
    assert told("evaporation_high", **facts, peak_kg_m2_h=1.5, limit_kg_m2_h=1.0) == said


def test_paid_hours_are_told_as_what_books_pay_not_as_what_the_plan_takes():
    facts = {"least_h": 14.0, "most_h": 21.0, "least_each_h": 14 / 3, "most_each_h": 7.0}
    said = (
        "Estimating books pay 14 to 21 h in all for this finish, waiting included: 4.7 to 7 h for each "
        "finisher. Use it for costing; the plan's own times say when they work."
    )
    assert told("finishing_labour", **facts) == said


SHORT = {
    "short_percent": 24.6,
    "people": 3,
    "people_needed": 5,
    "power_trowels": 1,
    "power_trowels_needed": 2,
}


def test_a_party_too_small_is_told_what_would_do():
    said = (
        "3 finishers cannot get over the whole slab before it is too hard: about 25% would be left "
        "unfinished. The work takes until 5:40 pm; it is too hard by 4:10 pm. "
        "Send 5 finishers or 2 power trowels for the 3 you have, or split the pour."
    )
    assert told("finishing_short", **SHORT, busy_until=at(17, 38), closes_at=at(16, 9)) == said


def test_bays_past_saving_are_named_and_slower_trucks_are_a_cure():
    bays = {"lost_percent": 20.0, "first_bay": 17, "last_bay": 20, "of_bays": 20, "longer_min": 35.0}
    said = told("finishing_short", **SHORT, **bays, busy_until=at(16), closes_at=at(16, 9))
    assert said == (
        "3 finishers cannot get over the whole slab before it is too hard: bays 17 to 20 of 20 would be "
        "past saving. Send 5 finishers or 2 power trowels for the 3 you have, or space the trucks so that "
        "placing takes 35 min longer."
    )
    alone = {**SHORT, "people_needed": None, "power_trowels_needed": None, **bays, "first_bay": 20}
    said = told("finishing_short", **alone, busy_until=at(16), closes_at=at(16, 9))
    assert "bay 20 of 20 would be past saving" in said
    assert said.endswith("Space the trucks so that placing takes 35 min longer, or split the pour.")


def test_where_no_party_is_large_enough_the_pour_is_to_be_split():
    facts = {**SHORT, "people_needed": None, "power_trowels_needed": None}
    said = told("finishing_short", **facts, busy_until=at(15), closes_at=at(16, 9))
    assert said.endswith("unfinished. Split the pour, or slow the set with a retarder.")


def test_one_load_before_the_plant_opens_is_not_spoken_of_as_many():
    facts = {"opens_at": at(6), "first_batch_at": at(5, 12), "earliest_start_at": at(7, 48)}
    said = (
        "Load 1 would have to be batched at 5:12 am, before the plant opens at 6 am. "
        "Start placing at 7:48 am or later, or ask the plant to open early."
    )
    assert told("plant_not_open", loads="1", **facts) == said


def test_a_start_that_must_not_be_earlier_is_rounded_up_to_the_minute():
    facts = {"opens_at": at(6), "first_batch_at": at(5), "loads": "1,2"}
    said = told("plant_not_open", **facts, earliest_start_at=at(7, 48) + timedelta(seconds=1))
    assert "Start placing at 7:49 am or later" in said


# --- clocks and days --------------------------------------------------------------------------

RAIN = {"highest_chance": 0.6, "total_mm": None}


def test_a_weekday_is_said_once_where_both_ends_are_on_it():
    assert "from Thu 1 pm to 5 pm:" in told("rain", **RAIN, first_at=at(13), last_at=at(17))


def test_a_night_has_both_weekdays():
    said = told("rain", **RAIN, first_at=at(22), last_at=at(2, day=12))
    assert "from Thu 10 pm to Fri 2 am:" in said


def test_the_midnight_that_ends_a_day_belongs_to_it():
    said = told("rain", **RAIN, first_at=at(22), last_at=at(0, day=12))
    assert "from Thu 10 pm to midnight:" in said


def test_a_midnight_says_between_which_days_it_lies():
    facts = {"coldest_c": -3.0, "limit_c": 0.0, "coldest_at": at(5, day=12), "first_at": at(0, day=12)}
    assert "first midnight Thu/Fri, lowest 27 °F Fri 5 am" in told("frost", **facts)
    assert "first Fri 00:00, lowest -3 °C Fri 05:00" in told("frost", METRIC, **facts)


def test_moments_of_one_day_go_without_it_and_moments_of_two_days_have_it():
    facts = {"last_full_load_ends_at": at(15, 25), "latest_start_at": at(9, 35)}
    same = told("balance_after_close", **facts, call_by_at=at(15))
    assert same.startswith("The last full load is out at 3:25 pm, after the plant closes at 3 pm,")
    other = told("balance_after_close", **facts, call_by_at=at(23, day=10))
    assert other.startswith("The last full load is out Thu 3:25 pm, after the plant closes Wed 11 pm,")


def test_noon_is_noon_and_metric_readers_have_24_hours():
    assert "by noon:" in told("balance_deadline", call_by_at=at(12))
    assert "by 12:00:" in told("balance_deadline", METRIC, call_by_at=at(12))


def test_times_are_those_of_the_zone_asked_for():
    facts = {"call_by_at": at(15).isoformat()}
    assert "by 1 pm:" in say("balance_deadline", facts, US, ZoneInfo("America/Los_Angeles"))


def test_lengths_are_told_to_the_inch_and_long_ones_to_the_foot():
    assert told("joint_spacing_wide", spacing_m=12.5 * FT, widest_m=12 * FT).startswith(
        "Joints 12' 6\" apart are wide for a slab this thick; 12 ft is the most"
    )
    facts = {"hours_needed": 7.5, "window_h": 5.0, "saws_needed": 2, "last_call_at": at(23)}
    assert "7.5 h for 620 ft of joints" in told("saw_short", length_m=620.3 * FT, **facts)


# --- what has no sentence ---------------------------------------------------------------------


def test_a_code_without_a_sentence_is_worded_from_its_facts():
    facts = {"tilt_percent": 2.5, "drop_depth_m": 2 * IN, "seen_at": at(9), "wet": True, "why": None}
    said = told("slab_tilts", **facts)
    assert said == "Slab tilts: tilt 2.5%, drop depth 2 in, seen 9 am, wet yes."
    assert told("slab_tilts") == "Slab tilts."


def test_a_finding_kept_without_a_fact_its_sentence_wants_is_worded_from_the_others():
    assert told("hold_last_load", load=4, remaining_m3=None) == "Hold last load: load 4."
    assert told("short_load", load=4) == "Short load: load 4."


def test_a_label_with_braces_is_only_a_label():
    facts = {"wedge_m3": YD3, "deeper_depth_m": IN}
    assert told("wedge_volume", section="{bay} 2", **facts).startswith("{bay} 2: the fall of the top adds")
    assert told("wedge_volume", section="2", **facts).startswith("Section 2: the fall of the top adds")
