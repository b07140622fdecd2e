"""Booking in a real browser: the plan comes as one types, the keyboard is enough, nothing typed is lost."""

import re

import pytest
from playwright.sync_api import expect

from scheduling.models import Pour
from tests.browser.conftest import WIDTHS
from tests.browser.hand import Hand
from tests.browser.looking import no_serious_faults, overflow
from tests.browser.test_signing_in import sign_in

ADDRESS = "/pours/book/"
SLAB = {"Length": "52'", "Width": "38'", "Thickness": "5"}
DAY = "2026-09-10"
NEW_JOB = {"Name of the job": "Elm Street drive", "Address of the site": "14 Elm St, Fenwick"}


def type_slab(page) -> None:
    for label, value in SLAB.items():
        page.get_by_label(label, exact=True).fill(value)


def choose(page, label: str) -> None:
    page.get_by_label(label, exact=True).select_option(index=1)


@pytest.mark.parametrize("width", WIDTHS.values(), ids=WIDTHS)
def test_typing_shows_the_plan_without_a_click(browser_page, width):
    page = browser_page("office", width=width)
    page.goto(ADDRESS)
    no_serious_faults(page)
    type_slab(page)
    page.locator("#plan svg.layout").wait_for()
    choose(page, "Job")
    choose(page, "Plant and mix")
    page.get_by_label("Day", exact=True).fill(DAY)
    expect(page.locator("#sentence")).to_contain_text("takes a trowel")
    expect(page.locator("#sentence")).to_have_attribute("role", "status")
    no_serious_faults(page)
    assert not overflow(page)


def test_what_cannot_be_read_is_said_only_once_the_field_was_left(browser_page):
    page = browser_page("office")
    page.goto(ADDRESS)
    with page.expect_response(re.compile("/typed/")):
        page.get_by_label("Length", exact=True).fill("52 psi")
    expect(page.locator("#unread li")).to_have_count(1)
    expect(page.locator(".errorlist")).to_have_count(0)
    page.keyboard.press("Tab")
    expect(page.locator(".errorlist")).to_contain_text("psi is not a unit")
    page.get_by_label("Length", exact=True).fill("52'")
    expect(page.locator(".errorlist")).to_have_count(0)


def test_a_stranger_books_a_new_job_by_keyboard_alone_in_under_a_minute(browser_page):
    """From where signing in leads; a new job, as of somebody who never called before."""
    page = browser_page(None)
    sign_in(page, "office")
    before, hand = Pour.objects.count(), Hand(page)
    hand.tab_to("Book a pour")
    hand.go()
    page.wait_for_url(f"**{ADDRESS}")
    hand.decide("a n")  # the job field has the focus, and a list is searched by its first letters
    for label, said in NEW_JOB.items():
        hand.tab_to(label)
        hand.decide(said)
    hand.tab_to("Day")
    hand.decide("09102026")
    for label, said in SLAB.items():
        hand.tab_to(label)
        hand.decide(said)
    sentence = page.locator("#sentence")
    expect(sentence).to_contain_text("takes a trowel")
    hand.read(sentence.inner_text())
    hand.tab_to("Book it")
    hand.go()
    page.wait_for_url(re.compile(r"/pours/\d+/$"))
    assert Pour.objects.count() == before + 1
    assert hand.seconds < 60, hand
    assert hand.thoughts == 9, hand  # the way there, job, name, address, day, three sizes, and the booking
    assert page.evaluate("localStorage.getItem('pourplan.booking')") is None


def test_what_was_typed_comes_back_until_it_is_booked(browser_page):
    page = browser_page("office")
    page.goto(ADDRESS)
    type_slab(page)
    page.goto("/")
    page.go_back()
    expect(page.get_by_label("Length", exact=True)).to_have_value("52'")
    page.goto("/")
    page.goto(ADDRESS)
    expect(page.get_by_label("Length", exact=True)).to_have_value("52'")
    expect(page.locator("#draft")).to_contain_text("not booked")
    choose(page, "Job")
    choose(page, "Plant and mix")
    page.get_by_label("Day", exact=True).fill(DAY)
    expect(page.locator("#sentence")).to_contain_text("takes a trowel")
    page.get_by_role("button", name="Book it", exact=True).first.click()
    page.wait_for_url(re.compile(r"/pours/\d+/$"))
    page.goto(ADDRESS)
    expect(page.get_by_label("Length", exact=True)).to_have_value("")


def test_who_was_signed_out_meanwhile_keeps_what_was_typed(browser_context):
    context = browser_context("office")
    page = context.new_page()
    page.goto(ADDRESS)
    type_slab(page)
    page.locator("#plan svg.layout").wait_for()
    context.clear_cookies(name="sessionid")
    page.get_by_label("Width", exact=True).fill("40'")
    expect(page.locator("#unheard")).to_contain_text("You were signed out")
    page.get_by_role("link", name="Sign in").click()
    page.wait_for_url(re.compile("/sign-in/"))
    sign_in(page, "office", f"/sign-in/?next={ADDRESS}")
    expect(page.get_by_label("Width", exact=True)).to_have_value("40'")


def test_a_plan_that_breaks_on_our_side_is_not_told_as_signed_out(browser_page, watch):
    page = browser_page("office")
    page.goto(ADDRESS)
    page.route("**/typed/", lambda route: route.fulfill(status=500, body="broken"))
    type_slab(page)
    expect(page.locator("#unheard")).to_contain_text("on our side")
    page.unroute("**/typed/")
    page.get_by_label("Width", exact=True).fill("40'")
    page.locator("#plan svg.layout").wait_for()
    expect(page.locator("#unheard")).to_be_hidden()
    watch.faults.clear()


def test_nothing_is_asked_where_nothing_changed(browser_page):
    page = browser_page("office")
    asked = []
    page.on("request", lambda request: asked.append(request.url) if "/typed/" in request.url else None)
    page.goto(ADDRESS)
    type_slab(page)
    page.locator("#plan svg.layout").wait_for()
    count = len(asked)
    page.locator(".booking").dispatch_event("change")
    page.wait_for_timeout(900)
    assert len(asked) == count


def test_going_back_and_another_tab_book_the_same_pour_only_once(browser_context):
    context = browser_context("office")
    page, other = context.new_page(), context.new_page()
    page.goto(ADDRESS)
    type_slab(page)
    choose(page, "Job")
    page.get_by_label("Day", exact=True).fill(DAY)
    expect(page.locator("#sentence")).to_contain_text("takes a trowel")
    other.goto(ADDRESS)  # what is typed stands there too
    expect(other.locator("#sentence")).to_contain_text("takes a trowel")
    before = Pour.objects.count()
    for tab in (page, other):
        tab.get_by_role("button", name="Book it", exact=True).first.click()
        tab.wait_for_url(re.compile(r"/pours/\d+/$"))
    assert other.url == page.url
    page.go_back()
    expect(page.get_by_label("Length", exact=True)).to_have_value("")
    page.get_by_role("button", name="Book it", exact=True).first.click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing is booked yet")
    assert Pour.objects.count() == before + 1
