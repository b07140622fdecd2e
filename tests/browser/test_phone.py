"""A crew lead's day on a small phone: presses without signal, double taps, Spanish, nothing sticks out."""

from datetime import timedelta

import pytest
from django.core.cache import cache
from playwright.sync_api import expect

from scheduling.models import NoteKind, Pour, SiteNote, User
from scheduling.queries.week import local_day
from scheduling.services import daylinks
from tests.browser.conftest import WIDTHS
from tests.browser.looking import no_serious_faults, overflow

NO_SIGNAL = "net::ERR_INTERNET_DISCONNECTED"
ROUND_TRIP_MS = 10_000


@pytest.fixture
def pour(rows, clock):
    """The first planned pour of the company that has a lead; it is five minutes before its first truck."""
    cache.clear()
    led = Pour.objects.filter(plan__isnull=False, crew__lead__isnull=False, plan__loads__gte=3)
    found = led.select_related("crew__lead", "job__site").order_by("starts_at", "pk")[0]
    clock(found.starts_at - timedelta(minutes=5))
    return found


@pytest.fixture
def path(pour):
    now = pour.starts_at
    link = daylinks.issue(crew=pour.crew, lead=pour.crew.lead, pours=[pour], now=now)
    assert link.day == local_day(pour)
    return f"/d/{daylinks.token_of(link)}?pour={pour.pk}"


def noted(pour):
    return list(pour.site_notes.order_by("happened_at", "pk").values_list("kind", flat=True))


def press(page, words):
    page.locator("section.big").get_by_role("button", name=words).click()


def test_presses_without_signal_wait_and_go_out_once_when_there_is_some(browser_context, pour, path, watch):
    context = browser_context(None, WIDTHS["phone"], has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(path)
    page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
    context.set_offline(True)
    press(page, "Load 1 is here")
    expect(page.locator("#waiting")).to_contain_text("1 waiting for signal")
    # What comes next of that truck is offered without asking anybody; its age must be known.
    page.locator("section.big input[name=batched]").last.fill("05:50")
    press(page, "Start load 1")
    expect(page.locator("#waiting")).to_contain_text("2 waiting for signal")
    page.locator("section.big").get_by_role("button", name="Rain").dblclick()
    expect(page.locator("#waiting")).to_contain_text("3 waiting for signal")
    assert not SiteNote.objects.exists()
    context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#waiting")).to_have_count(0, timeout=ROUND_TRIP_MS)
    expect(page.locator("#noted")).to_contain_text("Load 1 started")
    assert sorted(noted(pour)) == sorted(
        [NoteKind.TRUCK_ARRIVED, NoteKind.TICKET, NoteKind.TRUCK_STARTED, NoteKind.RAIN]
    )
    assert SiteNote.objects.values("by").distinct().count() == 1
    watch.faults[:] = [fault for fault in watch.faults if NO_SIGNAL not in fault]


def test_a_page_opened_without_signal_is_the_one_seen_last_and_still_holds_what_waits(
    browser_context, pour, path, watch
):
    context = browser_context(None, WIDTHS["phone"])
    page = context.new_page()
    page.goto(path)
    page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # the first view came before there was anybody to keep it
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    context.set_offline(True)
    press(page, "Load 1 is here")
    expect(page.locator("#waiting")).to_be_visible()
    page.reload()
    expect(page.locator("#waiting")).to_contain_text("1 waiting for signal")
    expect(page.locator("#as-of")).to_be_visible()
    page.locator("#told").get_by_role("button", name="Take back").click()
    expect(page.locator("#waiting")).to_have_count(0)
    context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    page.reload()
    expect(page.locator("#as-of")).to_be_hidden()
    assert noted(pour) == []
    watch.faults[:] = [fault for fault in watch.faults if NO_SIGNAL not in fault]


def test_a_double_tap_counts_once_and_can_be_taken_back(browser_context, pour, path):
    page = browser_context(None, WIDTHS["phone"]).new_page()
    page.goto(path)
    page.locator("section.big").get_by_role("button", name="Load 1 is here").dblclick()
    expect(page.locator("#noted li")).to_have_count(1, timeout=ROUND_TRIP_MS)
    assert noted(pour) == [NoteKind.TRUCK_ARRIVED]
    page.locator("#noted").get_by_role("button", name="Take back").click()
    expect(page.locator("#noted li")).to_have_count(0, timeout=ROUND_TRIP_MS)
    press(page, "Load 1 is here")
    expect(page.locator("#noted li")).to_have_count(1, timeout=ROUND_TRIP_MS)


def test_what_is_refused_is_said_and_does_not_hold_up_the_rest(browser_context, pour, path, watch):
    page = browser_context(None, WIDTHS["phone"]).new_page()
    page.goto(path)
    now = pour.starts_at - timedelta(minutes=5)
    SiteNote.objects.create(
        pour=pour, key="x", kind=NoteKind.TRUCK_ARRIVED, load=1, happened_at=now, noted_at=now
    )
    press(page, "Load 1 is here")
    expect(page.locator("#told .bad")).to_contain_text("noted already", timeout=ROUND_TRIP_MS)
    expect(page.locator("#waiting")).to_have_count(0)
    watch.faults[:] = [fault for fault in watch.faults if not fault.startswith("400")]


def test_a_balance_load_of_more_than_twice_what_was_measured_takes_a_second_yes(
    browser_context, pour, path, watch
):
    page = browser_context(None, WIDTHS["phone"]).new_page()
    page.goto(path)
    page.locator("form[data-kind=measured] input[name=amount]").fill("0.5")
    page.get_by_role("button", name="Keep what is left").click()
    asked = page.locator("form[data-kind=balance_asked]")
    expect(asked).to_be_visible(timeout=ROUND_TRIP_MS)
    asked.locator("input[name=amount]").fill("4")
    asked.get_by_role("button").click()
    expect(page.locator("#told .bad")).to_contain_text("over twice what was measured", timeout=ROUND_TRIP_MS)
    assert noted(pour) == [NoteKind.MEASURED]
    page.locator("#told").get_by_role("button", name="Yes, it is meant").click()
    expect(page.locator("#left")).to_contain_text("Balance load of 4 yd3 asked for", timeout=ROUND_TRIP_MS)
    assert noted(pour) == [NoteKind.MEASURED, NoteKind.BALANCE_ASKED]
    watch.faults[:] = [fault for fault in watch.faults if not fault.startswith("400")]


@pytest.mark.parametrize("width", [320, 390, 768])
@pytest.mark.parametrize("language", ["en", "es"])
def test_it_fits_and_reads_in_both_languages(browser_context, pour, path, width, language):
    User.objects.filter(pk=pour.crew.lead_id).update(language=language)
    now = pour.starts_at - timedelta(minutes=5)
    for kind, said in ((NoteKind.TRUCK_STARTED, {"load": 1}), (NoteKind.MEASURED, {"m3": 40.0})):
        SiteNote.objects.create(pour=pour, key=kind, kind=kind, happened_at=now, noted_at=now, **said)
    page = browser_context(None, width).new_page()
    page.goto(path)
    expect(page.locator("html")).to_have_attribute("lang", language)
    for details in page.locator("details").all():
        details.evaluate("one => { one.open = true }")
    assert overflow(page) == []
    no_serious_faults(page)
    small = page.evaluate(
        "[...document.querySelectorAll('main button, main a, main summary')]"
        ".filter(one => one.getBoundingClientRect().height < 44).map(one => one.textContent)"
    )
    assert small == []


def test_the_big_buttons_are_in_the_first_view_of_a_small_phone(browser_context, path):
    page = browser_context(None, WIDTHS["phone"]).new_page()
    page.set_viewport_size({"width": 320, "height": 568})
    page.goto(path)
    facts, first = page.locator("dl.facts > div"), page.locator("section.big button").first
    expect(facts).to_have_count(4)
    assert first.bounding_box()["y"] + first.bounding_box()["height"] < 568


def test_without_script_the_forms_note_the_same(browser_context, pour, path):
    page = browser_context(None, WIDTHS["phone"], java_script_enabled=False).new_page()
    page.goto(path)
    press(page, "Load 1 is here")
    expect(page.locator("#noted")).to_contain_text("Load 1 is here")
    assert noted(pour) == [NoteKind.TRUCK_ARRIVED]


def test_a_photo_goes_out_smaller_and_is_shown(browser_context, pour, path, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    page = browser_context(None, WIDTHS["phone"]).new_page()
    page.goto(path)
    shot = page.screenshot(full_page=True)
    page.locator("form[data-kind=photo] input[type=file]").set_input_files(
        {"name": "edge.png", "mimeType": "image/png", "buffer": shot}
    )
    page.get_by_role("button", name="Send the photo").click()
    expect(page.locator("#noted")).to_contain_text("Photo", timeout=ROUND_TRIP_MS)
    note = SiteNote.objects.get(kind=NoteKind.PHOTO)
    assert (tmp_path / note.photo.name).read_bytes().startswith(b"\xff\xd8")
