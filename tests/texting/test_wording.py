"""What a crew lead reads at five in the morning, and what everybody is reminded of."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.sentences.arrivals import Arrivals
from scheduling.texting import reminding
from scheduling.texting.cautions import CAUTIONS, Caution
from scheduling.texting.segments import is_gsm, segments
from scheduling.texting.wording import Kit, OrderFacts, PourFacts, Surface, Weather, morning_text

CENTRAL = ZoneInfo("America/Chicago")
EASTERN = ZoneInfo("America/New_York")


def at(hour, minute=0, zone=CENTRAL, day=28):
    return datetime(2026, 8, day, hour, minute, tzinfo=zone)


EVERY_20 = Arrivals(loads=4, next_after_min=20, interval_min=20)
CALM = PourFacts(
    site="Mill Rd garage",
    address="14 Mill Rd, Olathe",
    starts_at=at(7),
    call_at=at(6),
    arrivals=EVERY_20,
    plant="Hilltop",
    mix="4000AE",
    quantity="27.5 yd3",
    floats_from_at=at(9, 42),
    cut_from_at=at(13),
    cut_until_at=at(19, 3),
    weather=Weather(coldest="64 °F", warmest="78 °F", wind="8 mph", rain_percent=0),
    kit=frozenset({Kit.POWER_TROWEL, Kit.SAW, Kit.RUBBER_BOOTS, Kit.KNEE_BOARDS, Kit.GLOVES, Kit.WASH_WATER}),
    power_trowels=1,
)
CREW = ["Abel", "Bo", "Cruz", "Dee"]


def test_a_calm_day_reads_whole_in_two_segments():
    text = morning_text([CALM], CREW)
    assert text.splitlines() == [
        "Fri Aug 28: Mill Rd garage, 14 Mill Rd, Olathe",
        "Be there 6am. 4 loads from 7am, every 20 min.",
        "27.5 yd3 4000AE, Hilltop.",
        "Trowel from 9:40am. Cut 1pm-7pm.",
        "64 to 78 F, wind 8 mph.",
        "Crew: Abel, Bo, Cruz, Dee.",
        "Load: power trowel, saw + water, rubber boots, knee boards, gloves, wash water.",
    ]
    assert segments(text) == 2


def test_the_last_load_waits_for_the_measure():
    # NRMCA CIP 8: measure what is left before the last truck is loaded.
    assert "4 loads from 7am, every 20 min; call for the last." in morning_text(
        [replace(CALM, holds_last_load=True)], CREW
    )


def test_a_single_load_has_no_spacing():
    assert "Be there 6am. 1 load at 7am." in morning_text([replace(CALM, arrivals=Arrivals(loads=1))], CREW)


def test_a_pour_without_a_plan_has_its_place_and_its_start():
    bare = PourFacts(site="Mill Rd garage", address="14 Mill Rd", starts_at=at(7), call_at=at(6))
    assert morning_text([bare], []).splitlines() == [
        "Fri Aug 28: Mill Rd garage, 14 Mill Rd",
        "Be there 6am. First truck 7am.",
    ]


def test_a_pour_on_hold_says_not_to_go_and_nothing_that_could_be_read_as_going():
    text = morning_text([replace(CALM, on_hold=True)], CREW)
    assert text == (
        "Fri Aug 28: ON HOLD, do not go: Mill Rd garage, 14 Mill Rd, Olathe. Wait for the office."
    )


def test_two_pours_stand_in_order_with_one_crew_and_one_load_list():
    second = replace(
        CALM,
        site="Depot",
        address="2 Front St",
        starts_at=at(13),
        call_at=at(12),
        kit=frozenset({Kit.BROOM, Kit.GLOVES}),
        power_trowels=2,
    )
    lines = morning_text([CALM, second], CREW).splitlines()
    assert lines[0] == "Fri Aug 28: 2 pours"
    assert lines[1] == "1. Mill Rd garage, 14 Mill Rd, Olathe"
    assert "2. Depot, 2 Front St" in lines
    assert "Be there noon. 4 loads from 1pm, every 20 min." in lines
    assert lines[-2:] == [
        "Crew: Abel, Bo, Cruz, Dee.",
        "Load: broom, 2 power trowels, saw + water, rubber boots, knee boards, gloves, wash water.",
    ]


def test_of_two_pours_the_one_on_hold_adds_nothing_to_load():
    held = replace(CALM, on_hold=True, kit=frozenset({Kit.BLANKETS}))
    text = morning_text([held, CALM], CREW)
    assert "1. ON HOLD, do not go: Mill Rd garage" in text
    assert "blankets" not in text


def test_a_plant_on_another_clock_is_told_with_both_zones():
    # Site in Louisville, plant in Indiana on Central time: 7:00 there is 6:00 at the plant.
    pour = replace(
        CALM, starts_at=at(7, zone=EASTERN), call_at=at(6, zone=EASTERN), plant_first_at=at(6, zone=CENTRAL)
    )
    text = morning_text([pour], CREW)
    assert "4 loads from 7am EDT, every 20 min." in text
    assert "27.5 yd3 4000AE, Hilltop (6am CDT)." in text


def test_a_cut_after_midnight_names_its_day():
    text = morning_text([replace(CALM, cut_from_at=at(22), cut_until_at=at(4, day=29))], CREW)
    assert "Cut 10pm-Sat 4am." in text


def test_a_broomed_slab_is_not_trowelled():
    assert "Broom from 9:40am." in morning_text([replace(CALM, surface=Surface.BROOM)], CREW)


@pytest.mark.parametrize(
    ("weather", "said"),
    [
        (Weather(coldest="64 °F", warmest="64 °F"), "64 F."),
        (Weather(coldest="-3 °C", warmest="9 °C", wind="18 km/h"), "-3 to 9 C, wind 18 km/h."),
        (Weather(coldest="64 °F", warmest="78 °F", rain_percent=40), "64 to 78 F, rain 40%."),
    ],
)
def test_the_weather_is_one_line(weather, said):
    assert said in morning_text([replace(CALM, weather=weather)], CREW).splitlines()


def test_what_stops_the_pour_is_told_before_what_to_watch():
    cautions = (
        Caution(code="evaporation_high", from_at=at(10), until_at=at(14)),
        Caution(code="spotter_needed"),
        Caution(code="load_too_old", is_stop=True, figure="3, 4"),
    )
    lines = morning_text([replace(CALM, cautions=cautions)], []).splitlines()
    assert lines[4:7] == [
        "STOP, call the office: load 3, 4 would be too old.",
        "No truck backs until you name a spotter, not the chute hand.",
        "Dries fast 10am-2pm: fog, cover.",
    ]


def test_what_only_the_office_can_act_on_is_not_told_to_the_crew():
    cautions = (Caution(code="thin_allowance"), Caution(code="trucks_wait"))
    assert morning_text([replace(CALM, cautions=cautions)], CREW) == morning_text([CALM], CREW)


@pytest.mark.parametrize("code", CAUTIONS)
def test_every_caution_is_a_short_sentence_in_plain_signs(code):
    caution = Caution(code=code, from_at=at(10), until_at=at(14), figure="91 °F")
    line = morning_text([replace(CALM, cautions=(caution,), weather=None)], []).splitlines()[4]
    assert is_gsm(line)
    assert line[0].isupper()
    assert line.endswith(".")
    assert len(line) <= 70


def test_signs_people_type_do_not_make_the_text_dear():
    text = morning_text([replace(CALM, site="O’Brien – “north” bay", directions="gate code 4½…")], CREW)
    assert is_gsm(text)
    assert 'O\'Brien - "north" bay' in text


def test_where_room_is_short_the_directions_go_first_and_place_and_trucks_stay():
    crowded = replace(
        CALM,
        directions="Gate on the east side, code 4417, park behind the barn",
        kit=frozenset(Kit),
        cautions=(
            Caution(code="rain", from_at=at(11), until_at=at(15)),
            Caution(code="spotter_needed"),
            Caution(code="evaporation_high", from_at=at(10), until_at=at(14)),
        ),
    )
    text = morning_text([crowded], CREW)
    assert segments(text) == 3
    assert "Gate" not in text
    assert "No truck backs until you name a spotter" in text
    assert "4 loads from 7am, every 20 min" in text
    assert "Load: sheets" in text


names = st.text(st.characters(max_codepoint=0xFFFF, exclude_categories=("Cs", "Cc")), max_size=200)


@given(site=names, address=names, directions=names, plant=names, mix=names, crew=st.lists(names, max_size=9))
def test_one_pour_never_takes_more_than_three_segments(site, address, directions, plant, mix, crew):
    pour = replace(CALM, site=site, address=address, directions=directions, plant=plant, mix=mix)
    text = morning_text([pour], crew)
    assert segments(text) <= 3
    assert "Be there 6am. 4 loads from 7am, every 20 min" in text


ORDER = OrderFacts(
    site="Mill Rd garage",
    plant="Hilltop",
    plant_phone="(913) 555-0142",
    quantity="27.5 yd3",
    mix="4000AE",
    arrivals=EVERY_20,
    first_at=at(7),
    plant_first_at=None,
    order_by=at(15, day=27),
    called_in=False,
)


def test_the_office_is_told_whom_to_call_by_when_and_for_what():
    assert reminding.order_text(ORDER, at(13, day=27)) == (
        "Call Hilltop (913) 555-0142 by 3pm: 27.5 yd3 4000AE, on site Fri Aug 28, 4 loads from 7am, "
        "every 20 min, for Mill Rd garage."
    )


def test_a_cut_off_on_another_day_names_it():
    assert "by Thu 3pm" in reminding.order_text(ORDER, at(13, day=26))


def test_past_the_cut_off_the_office_is_told_so():
    text = reminding.order_text(ORDER, at(15, day=27))
    assert text.startswith("NOT ORDERED, cut-off was 3pm. Call Hilltop (913) 555-0142 now: 27.5 yd3")


def test_the_plants_own_clock_is_what_the_plant_is_told():
    theirs = {"first_at": at(7, zone=EASTERN), "plant_first_at": at(6), "plant_phone": ""}
    order = replace(ORDER, **theirs, arrivals=Arrivals(loads=1))
    assert reminding.order_text(order, at(13, day=27)) == (
        "Call Hilltop by 3pm CDT: 27.5 yd3 4000AE, on site Fri Aug 28, 1 load at 6am CDT, for Mill Rd garage."
    )


@pytest.mark.parametrize(
    ("called_in", "said"),
    [
        (True, "called in, not confirmed. Confirm or release"),
        (False, "not even called in. Call it in or release it"),
    ],
)
def test_an_order_not_confirmed_says_how_far_it_got(called_in, said):
    text = reminding.confirm_text(replace(ORDER, called_in=called_in))
    assert text.startswith(f"Hilltop (913) 555-0142: {said}: 27.5 yd3 4000AE, on site Fri Aug 28, 4 loads")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (reminding.on_site_text(CALM), "Be at Mill Rd garage, 14 Mill Rd, Olathe by 6am. First truck 7am."),
        (reminding.finish_text(CALM), "Mill Rd garage: first strip may take a trowel from 9:40am."),
        (reminding.first_cut_text(CALM), "Mill Rd garage: try a cut from 1pm. If it ravels, wait 30 min"),
        (reminding.last_cut_text(CALM, 2.1), "Mill Rd garage: cut all joints by 7pm, about 2 h of work."),
        (reminding.last_cut_text(CALM, 0.7), "Mill Rd garage: cut all joints by 7pm, about 40 min of work."),
        (reminding.cure_text(CALM, at(11, 7)), "Mill Rd garage: start curing from 11:05am."),
    ],
)
def test_a_reminder_says_what_to_do_where_and_when_in_one_segment(text, said):
    assert text.startswith(said)
    assert segments(text) == 1


def test_a_reminder_that_goes_out_late_says_so():
    assert reminding.late("Try a cut.") == "LATE. Try a cut."


def test_a_slab_that_sets_overnight_is_told_with_its_day():
    cold = replace(CALM, floats_from_at=at(7) + timedelta(hours=18))
    assert "a trowel from Sat 1am" in reminding.finish_text(cold)
