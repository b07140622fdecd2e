"""Today on one page: whom to call next, late things first, and every pour on one clock."""

import re
from datetime import datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.models import Alarm, MessagePour, MessageState, OrderState
from scheduling.services import live, ordering
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import fields_of, html_of, text_of

pytestmark = [pytest.mark.django_db]

MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _on_the_day(_thursday_morning):
    """Five past seven on the day of the pour."""
    with time_machine.travel(THURSDAY + 5 * MINUTE, tick=False):
        yield


@pytest.fixture
def noted(office):
    """Notes what happened with a load so many minutes after the pour's start."""

    def _noted(pour, kind, load, minute, batched=None):
        happened_at = THURSDAY + minute * MINUTE
        batch_at = happened_at - batched * MINUTE if batched else None
        made = {"load": load, "batch_at": batch_at, "happened_at": happened_at, "now": happened_at}
        live.note(pour=pour, kind=kind, key=live.new_key(), by=office, **made)

    return _noted


@pytest.fixture
def first_gone(noted):
    """The first truck came, started and is gone by twenty past."""

    def _first_gone(pour):
        noted(pour, "truck_arrived", 1, 0, batched=30)
        noted(pour, "truck_started", 1, 1)
        noted(pour, "truck_empty", 1, 20)

    return _first_gone


def at(page, minute, rest=""):
    with time_machine.travel(THURSDAY + minute * MINUTE, tick=False):
        return page.get(f"/today/{rest}")


def test_an_empty_day_says_what_to_do_next(page):
    text = text_of(page.get("/today/"))
    assert "Nothing is placed today." in text
    assert "Book a pour" in text
    assert "Nothing is late" in text


def test_today_stands_before_the_week_in_the_way_around(page):
    html = html_of(page.get("/today/"))
    assert html.index('href="/today/" aria-current="page"') < html.index('href="/"', html.index("<nav"))


def test_a_pour_of_today_shows_its_start_its_crew_and_its_trucks(page, pour):
    text = text_of(page.get("/today/"))
    assert f"7:00 am {pour.job.name}" in text
    assert "Ash" in text
    assert f"{pour.plan.loads} loads, none noted yet" in text
    assert (
        html_of(page.get("/today/")).count('class="truck coming" x="') == pour.plan.loads + 1
    )  # and the key


def test_a_pour_nobody_notes_is_not_said_to_miss_its_trucks(page, pour):
    ordering.confirm(order=pour.orders.get(), ticket="", by=pour.booked_by, now=factories.NOW)
    assert "Nothing is late" in text_of(at(page, 45))


def test_what_was_noted_stands_beside_what_is_to_come(page, pour, first_gone, noted):
    first_gone(pour)
    noted(pour, "truck_arrived", 2, 22, batched=25)
    response = at(page, 24)
    text = text_of(response)
    assert "1 of 4 loads empty" in text
    assert "Load 2 on site since 7:22 am" in text
    assert "Load 3 about" in text
    for stand in ("empty", "waiting", "coming"):
        assert f'class="truck {stand}" x="' in html_of(response)


# Planned twenty minutes apart, the third truck came 47 minutes after the second in a contractor's account.
def test_a_missing_truck_comes_first_with_the_plants_number_and_who_else_has_concrete(page, pour, first_gone):
    factories.plant(name="Upriver plant", usual_haul_min=30, loading_min=5)
    first_gone(pour)
    factories.reply()
    response = at(page, 50)
    text = text_of(response)
    assert "nobody has seen it" in text
    assert "No concrete has come for 30 min" in text
    assert text.index("nobody has seen it") < text.index("texted:") < text.index("Pours today")
    assert f'href="tel:{pour.plant.phone.as_e164}"' in html_of(response)
    assert "If none comes: Upriver plant" in text
    assert "35 min at the soonest" in text
    assert "Load 2 not seen yet" in text
    assert "later than planned" in text


def test_a_call_nobody_takes_within_five_minutes_says_so_and_a_taken_one_by_whom(page, pour, first_gone):
    first_gone(pour)
    live.watch(now=THURSDAY + 50 * MINUTE)
    assert "I see to it" in text_of(at(page, 54))
    assert "Nobody sees to it" not in text_of(at(page, 54))
    text = text_of(at(page, 55))
    assert "Nobody sees to it for 5 min" in text
    with time_machine.travel(THURSDAY + 56 * MINUTE, tick=False):
        for alarm in Alarm.objects.all():
            answer = page.post(f"/pours/{pour.pk}/day/seen/{alarm.pk}/", {"back": "today"})
            assert (answer.status_code, answer.url) == (302, "/today/")
    text = text_of(at(page, 57))
    assert "I see to it" not in text
    assert "Maren Tollgard sees to it" in text
    assert text.index("Somebody sees to it") < text.index("nobody has seen it")


def test_set_and_cut_times_go_by_the_actual_placing_and_count_the_strips(page, pour, noted):
    def cut():
        return re.search(r"Try the first cut ([\d:]+ [ap]m)", text_of(at(page, 61)))[1]

    planned = cut()
    noted(pour, "truck_started", 1, 60)
    assert cut() != planned
    text = text_of(at(page, 61))
    assert "Takes a trowel from" in text
    assert "finished about" in text
    noted(pour, "ready_to_finish", None, 200)
    assert re.search(r"1 of \d+ strips found ready", text_of(at(page, 201)))


def test_what_is_short_is_a_call_with_its_deadline(page, pour, first_gone):
    first_gone(pour)
    with time_machine.travel(THURSDAY + 21 * MINUTE, tick=False):
        page.post(f"/pours/{pour.pk}/day/note/", {"key": "m", "kind": "measured", "amount": "33"})
    text = text_of(at(page, 22))
    assert "Tell the plant by" in text
    assert "shall bring" in text
    assert "have what is still to fill measured" not in text


def test_a_slab_that_should_be_finished_long_since_is_asked_after(page, pour, noted):
    for load in range(1, pour.plan.loads + 1):
        noted(pour, "truck_started", load, 25 * load)
        noted(pour, "truck_empty", load, 25 * load + 20)
    assert "Is somebody there?" not in text_of(at(page, 5 * 60))
    assert "Is somebody there?" in text_of(at(page, 14 * 60))
    noted(pour, "finishing_done", None, 13 * 60)
    assert "Is somebody there?" not in text_of(at(page, 14 * 60))


def test_an_early_second_truck_does_not_make_the_third_one_late(page, pour, first_gone, noted):
    asked = pour.plan.result["delivery"]["loads"][2]["asked_at"]
    first_gone(pour)
    noted(pour, "truck_arrived", 2, 12, batched=30)
    noted(pour, "truck_started", 2, 20)
    minute = (datetime.fromisoformat(asked) - THURSDAY) / MINUTE
    assert "Load 3 was asked for" not in text_of(at(page, minute - 1))


# NRMCA CIP 8: measure what is left near the end, so that the last two or three trucks can be changed.
def test_near_the_end_what_is_left_is_to_be_measured_before_the_last_load_is_batched(page, pour, first_gone):
    assert "to fill measured" not in text_of(at(page, 5))
    first_gone(pour)
    last = pour.plan.result["delivery"]["loads"][-1]
    by = datetime.fromisoformat(last["batch_at"])
    response = at(page, 21)
    assert by > THURSDAY + 21 * MINUTE
    assert "3 loads left: have what is still to fill measured" in text_of(response)
    measured = factories.site_note(
        pour, kind="measured", m3=6.0, key="left", happened_at=THURSDAY + 20 * MINUTE
    )
    assert "to fill measured" not in text_of(at(page, 21))
    measured.delete()
    late = (by - THURSDAY) / MINUTE + 1
    assert "to fill measured" not in text_of(at(page, late))


def test_an_order_waits_with_what_to_say_and_is_noted_in_place(page, pour):
    response = at(page, -15 * 60 - 61)  # before three in the afternoon of the day before
    text = text_of(response)
    assert "By 3:00 pm" in text
    assert "Call in 32¼ yd³ of 4000-75-WR" in text
    assert "Hold the last load until we call" in text
    sent = {**fields_of(response), "taken_by": "Ruth"}
    assert sent["back"] == "today"
    answer = page.post(f"/pours/{pour.pk}/order/called/", sent)
    assert (answer.status_code, answer.url) == (302, "/today/")
    order = pour.orders.get()
    assert order.state == OrderState.CALLED
    with time_machine.travel(order.order_by - timedelta(hours=1), tick=False):
        text = text_of(page.get("/today/"))
    assert "Ask the plant to confirm 32¼ yd³" in text
    assert "taken by Ruth" in text


def test_an_order_past_its_cut_off_stands_first(page, pour):
    text = text_of(at(page, -30))
    assert "1 thing to see to now" in text
    assert "Past the cut-off" in text


def test_a_morning_text_nobody_answered_names_who_to_call(page, pour, crew):
    text = factories.message(crew.lead, state=MessageState.SENT, sent_at=THURSDAY - 100 * MINUTE)
    MessagePour.objects.create(message=text, pour=pour, pour_version=pour.version)
    said = text_of(at(page, -60))
    assert f"{crew.lead}, Ash, has not answered the morning text of 5:20 am." in said
    assert crew.lead.phone.as_national in said


def test_a_lead_sees_the_own_crew_alone_and_is_asked_to_call_no_plant_with_an_order(pour, book, crew):
    other = book(crew=factories.crew(name="Birch"), starts_at=THURSDAY + timedelta(hours=1))
    text = text_of(signed_in(crew.lead).get("/today/"))
    assert pour.job.name in text
    assert other.job.name not in text
    assert "Call in" not in text


def test_what_renews_itself_is_one_part_with_every_form_kept_by_name(page, pour):
    html = html_of(at(page, -30, "?part=now"))
    assert html.lstrip().startswith('<div id="now"')
    assert "<html" not in html
    order = pour.orders.get()
    assert f'<details id="order-{order.pk}-to_call" hx-preserve>' in html
    assert 'hx-trigger="every 20s"' in html


@pytest.mark.parametrize("count", [3, pytest.param(40, marks=pytest.mark.slow)])
def test_the_day_takes_the_same_few_queries_however_full_it_is_and_stays_light(page, crew, mix, count):
    site = factories.site()
    factories.forecast(site, factories.mild_hours(THURSDAY))
    for n in range(count):
        starts_at = THURSDAY + n * MINUTE
        made = factories.pour(job=factories.job(site=site), crew=crew, mix=mix, starts_at=starts_at)
        factories.plan(made)
        factories.site_note(made, kind="truck_started", load=1, happened_at=starts_at)
    with CaptureQueriesContext(connection) as queries:
        response = at(page, 1)
    assert html_of(response).count('class="today-pour') == count + 1  # and their list
    assert len(queries) == 14
    assert len(response.content) < 200_000
