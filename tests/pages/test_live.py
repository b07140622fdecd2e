"""The day of a pour as it happens, in the browser of those who watch it."""

from zoneinfo import ZoneInfo

import pytest
import time_machine

from scheduling.models import Alarm, SiteNote
from scheduling.services import live
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import html_of, text_of

pytestmark = [pytest.mark.django_db]


@pytest.fixture(autouse=True)
def _on_the_day(_thursday_morning):
    """Five past seven on the day of the pour."""
    with time_machine.travel(THURSDAY + factories.timedelta(minutes=5), tick=False):
        yield


def day(pour, rest=""):
    return f"/pours/{pour.pk}/day/{rest}"


def test_the_day_shows_every_truck_and_the_next_thing_to_note(page, pour):
    text = text_of(page.get(day(pour)))
    assert "How it stands" in text
    assert "Last truck empty about" in text
    assert "Load 1" in text
    assert "On site" in text
    assert "Nothing yet." in text


def test_a_truck_is_noted_with_its_ticket_and_asks_for_the_next_step(page, pour):
    said = {"key": "one", "kind": "truck_arrived", "load": 1, "at": "07:02", "batched": "06:31"}
    assert page.post(day(pour, "note/"), said).status_code == 302
    made = SiteNote.objects.get()
    assert made.happened_at == THURSDAY + factories.timedelta(minutes=2)
    assert made.batch_at == THURSDAY - factories.timedelta(minutes=29)
    text = text_of(page.get(day(pour)))
    assert "Load 1: truck on site, batched 6:31 am" in text
    assert "Discharging" in text


def test_two_presses_are_one_note(page, pour):
    for _ in range(2):
        page.post(day(pour, "note/"), {"key": "one", "kind": "rain"})
    assert SiteNote.objects.count() == 1


def test_what_cannot_be_is_said_and_what_was_typed_stays(page, pour):
    said = {"key": "one", "kind": "truck_arrived", "load": 1, "at": "07:02", "batched": "07:04"}
    answer = page.post(day(pour, "note/"), said)
    assert answer.status_code == 400
    assert "batch time lies after the arrival" in text_of(answer)
    assert 'value="07:04"' in html_of(answer)
    assert not SiteNote.objects.exists()


@pytest.mark.parametrize("at", ["25:00", "soon"])
def test_a_time_that_is_none_is_said(page, pour, at):
    answer = page.post(day(pour, "note/"), {"key": "one", "kind": "rain", "at": at})
    assert answer.status_code == 400
    assert "Give the time as on a clock" in text_of(answer)


def test_a_note_can_be_taken_back(page, pour):
    page.post(day(pour, "note/"), {"key": "one", "kind": "rain"})
    made = SiteNote.objects.get()
    assert f"/day/undo/{made.pk}/" in html_of(page.get(day(pour)))
    assert page.post(day(pour, f"undo/{made.pk}/")).status_code == 302
    assert "Nothing yet." in text_of(page.get(day(pour)))


def test_a_missing_truck_is_what_stands_first(page, pour):
    page.post(day(pour, "note/"), {"key": "one", "kind": "people_there", "people": 5})
    with time_machine.travel(THURSDAY + factories.timedelta(minutes=30), tick=False):
        text = text_of(page.get(day(pour)))
    assert text.index("Load 1 was asked for") < text.index("Last truck empty")


def test_the_part_that_renews_itself_is_that_part_alone(page, pour):
    html = html_of(page.get(day(pour), {"part": "standing"}))
    assert html.lstrip().startswith("<section")
    assert "<form" not in html


def test_a_lead_notes_the_day_of_the_own_crew_only(pour, crew):
    lead = factories.user(factories.Role.CREW_LEAD)
    assert signed_in(lead).get(day(pour)).status_code == 404
    crew.lead = lead
    crew.save()
    client = signed_in(lead)
    assert client.get(day(pour)).status_code == 200
    assert client.post(day(pour, "note/"), {"key": "one", "kind": "rain"}).status_code == 302


def test_a_pour_without_a_plan_says_so(page, pour):
    pour.plan = None
    pour.save()
    answer = page.get(day(pour))
    assert answer.status_code == 400
    assert "has no plan yet" in text_of(answer)


# --- what the day feeds back ------------------------------------------------------------------


def test_a_missing_truck_is_seen_to_by_a_press_and_other_plants_are_named(page, pour):
    factories.plant(name="River plant", loading_min=5, usual_haul_min=40)
    page.post(day(pour, "note/"), {"key": "one", "kind": "people_there", "people": 5})
    with time_machine.travel(THURSDAY + factories.timedelta(minutes=30), tick=False):
        live.watch(now=THURSDAY + factories.timedelta(minutes=30))
        shown = page.get(day(pour))
        assert "River plant" in text_of(shown)
        alarm = Alarm.objects.get(code="truck_missing")
        assert f"/day/seen/{alarm.pk}/" in html_of(shown)
        assert page.post(day(pour, f"seen/{alarm.pk}/")).status_code == 302
        assert f"/day/seen/{alarm.pk}/" not in html_of(page.get(day(pour)))


def test_once_concrete_is_out_the_strips_say_when_they_want_what(page, pour):
    assert "The slab by its actual placing" not in text_of(page.get(day(pour)))
    page.post(day(pour, "note/"), {"key": "one", "kind": "truck_started", "load": 1, "at": "07:02"})
    text = text_of(page.get(day(pour)))
    assert "The slab by its actual placing" in text
    page.post(day(pour, "note/"), {"key": "two", "kind": "ready_to_finish", "strip": 2})
    assert "found ready" in text_of(page.get(day(pour)))


def test_too_large_a_balance_load_is_asked_about_and_what_was_typed_stays(page, pour):
    page.post(day(pour, "note/"), {"key": "one", "kind": "measured", "amount": "0.5"})
    asked = {"key": "two", "kind": "balance_asked", "amount": "4 yd3"}
    answer = page.post(day(pour, "note/"), asked)
    assert answer.status_code == 400
    assert "more than twice what was measured" in text_of(answer)
    assert 'value="4 yd3"' in html_of(answer)
    assert page.post(day(pour, "note/"), {**asked, "confirmed": "on"}).status_code == 302
    assert "Balance load of 4 yd³ asked for; it can still be cancelled." in text_of(page.get(day(pour)))
    page.post(day(pour, "note/"), {"key": "three", "kind": "balance_loading"})
    assert "Cancelled by phone" not in text_of(page.get(day(pour)))


def test_what_to_order_by_a_measure_stands_there_with_its_deadline_and_is_filled_in(page, pour):
    page.post(day(pour, "note/"), {"key": "one", "kind": "measured", "amount": "34"})
    answer = page.get(day(pour))
    text, last = text_of(answer), pour.plan.result["delivery"]["loads"][-1]
    by = factories.datetime.fromisoformat(last["batch_at"]).astimezone(ZoneInfo(pour.job.site.time_zone))
    assert "34 yd³ was left to place at 7:05 am" in text
    assert f"Tell the plant by {by:%-I:%M %p}".lower() in text.lower()
    assert f"that load {last['number']} shall bring" in text
    page.post(day(pour, "note/"), {"key": "two", "kind": "measured", "amount": "1"})
    assert "Nothing more is to be ordered." in text_of(page.get(day(pour)))


def test_near_the_end_somebody_is_asked_to_measure(page, book):
    # NRMCA CIP 8: measure near the end, so that the last two or three loads can still be changed
    small = book(sections=[{"length_m": 8.0, "width_m": 8.0, "depth_m": 0.1}], starts_at=THURSDAY)
    assert "Measure what is left to place" in text_of(page.get(day(small)))
    page.post(day(small, "note/"), {"key": "one", "kind": "measured", "amount": "2"})
    assert "Measure what is left to place" not in text_of(page.get(day(small)))


def test_what_came_stands_beside_the_plan_once_a_truck_is_empty(page, pour):
    assert "Plan and what came" not in text_of(page.get(day(pour)))
    for key, kind, at in (("a", "arrived", "07:02"), ("b", "started", "07:20"), ("c", "empty", "07:50")):
        with time_machine.travel(THURSDAY + factories.timedelta(hours=1), tick=False):
            page.post(day(pour, "note/"), {"key": key, "kind": f"truck_{kind}", "load": 1, "at": at})
    text = text_of(page.get(day(pour)))
    assert "Plan and what came" in text
    planned = pour.plan.result["delivery"]["loads"][0]
    assert "First concrete" in text
    assert "20 min later" in text
    assert "Trucks waited 0 min 18 min" in text
    rate = planned["m3"] / 0.5 / 0.764554857984
    assert f"{rate:.1f}".rstrip("0").rstrip(".") in text.split("Rate while a truck discharged")[1][:60]


def test_finishing_and_cutting_are_told_against_the_plan(page, pour):
    with time_machine.travel(THURSDAY + factories.timedelta(hours=1), tick=False):
        for key, kind in (("a", "arrived"), ("b", "started"), ("c", "empty")):
            page.post(day(pour, "note/"), {"key": key, "kind": f"truck_{kind}", "load": 1, "at": "07:10"})
    finish = pour.plan.phases.get(kind="finish")
    with time_machine.travel(finish.ends_at + factories.timedelta(minutes=40), tick=False):
        page.post(day(pour, "note/"), {"key": "d", "kind": "finishing_done"})
        assert "Finished" in text_of(page.get(day(pour))).split("Against the plan")[1]
