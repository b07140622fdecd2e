"""What each of the three does in a day, from the door to done, as they do it."""

import re

import pytest
from playwright.sync_api import expect

from scheduling.models import Pour, SiteNote
from tests.browser.served import MONDAY
from tests.browser.visits import WEDNESDAY, say_the_walk, sign_in

WIDTHS = pytest.mark.parametrize("width", [1440, 320])


@WIDTHS
def test_the_office_books_a_pour_as_said_on_the_phone(browser_page, width):
    page = browser_page(None, width=width)
    sign_in(page, "office")
    page.get_by_role("link", name="Book a pour").first.click()
    say_the_walk(page)
    page.get_by_role("button", name="Show the plan").last.click()
    # 52 by 38 feet by 5 inches is 30.49 cubic yards, and 5 % more in steps of a quarter (arithmetic).
    expect(page.locator("#plan")).to_contain_text("32¼ yd³")
    page.get_by_role("button", name="Book it").last.click()
    expect(page.get_by_role("heading", name="Order", exact=True)).to_be_visible()
    booked = Pour.objects.latest("pk")
    assert page.url.endswith(f"/pours/{booked.pk}/")
    assert booked.starts_at.isoformat() == "2026-09-04T12:00:00+00:00"
    assert booked.sections.get().length_m == pytest.approx(52 * 0.3048)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")


@WIDTHS
def test_the_dispatcher_sees_a_clash_reads_its_cures_and_applies_one(browser_page, width):
    page = browser_page(None, width=width)
    sign_in(page, "dispatch", f"/sign-in/?next=/week/?day={MONDAY}")
    twice = page.get_by_role("heading", name="Booked twice, and accepted")
    expect(twice).to_be_visible()
    page.get_by_role("link", name="What would cure it").first.click()
    cure = page.get_by_role("listitem").filter(has=page.get_by_role("button", name="Do it")).first
    expect(cure).to_contain_text(re.compile("Old Depot|Harrow Street|Linden Court"))
    before = {pour.pk: pour.version for pour in Pour.objects.all()}
    cure.get_by_role("button", name="Do it").click()
    expect(page.get_by_role("status")).to_be_visible()
    expect(twice).to_have_count(0)
    assert sum(pour.version != before[pour.pk] for pour in Pour.objects.all()) == 1


@WIDTHS
def test_a_lead_notes_a_truck_and_takes_it_back(browser_page, clock, width):
    clock(WEDNESDAY)
    page = browser_page(None, width=width)
    pour = Pour.objects.get(title="garage")
    sign_in(page, "ash", f"/sign-in/?next=/pours/{pour.pk}/day/")
    truck = page.get_by_role("form", name="Load 1").first
    truck.locator("button.main-button").click()
    expect(page.get_by_role("status")).to_have_text("Noted.")
    assert SiteNote.objects.get().load == 1
    page.get_by_role("button", name="Take back").click()
    expect(page.get_by_role("status")).to_have_text("Taken back.")


def test_of_two_tabs_the_second_is_told_and_what_was_typed_stays(browser_context):
    context = browser_context("office")
    first, second = context.new_page(), context.new_page()
    address = f"/pours/{Pour.objects.get(title='ramp').pk}/"
    for tab in (first, second):
        tab.goto(address)
    for tab, clock_time in ((first, "09:00"), (second, "10:15")):
        tab.locator("#move").get_by_label("First truck at").fill(clock_time)
        tab.get_by_role("button", name="Move it").click()
    expect(first.get_by_role("status")).to_contain_text("Moved")
    expect(second.get_by_role("alert")).to_contain_text("changed")
    expect(second.locator("#move").get_by_label("First truck at")).to_have_value("10:15")
    assert Pour.objects.get(title="ramp").starts_at.isoformat() == "2026-09-04T14:00:00+00:00"


def test_a_tab_of_an_earlier_sign_in_is_refused_on_a_page_of_ours(browser_context):
    context = browser_context(None)
    old, new = context.new_page(), context.new_page()
    sign_in(old, "office")
    address = f"/pours/{Pour.objects.get(title='ramp').pk}/"
    old.goto(address)
    new.goto("/")
    new.get_by_role("button", name="Sign out").click()
    sign_in(new, "office")
    new.get_by_role("button", name="Sign out").wait_for()
    old.get_by_role("button", name="Move it").click()
    expect(old.get_by_role("heading", level=1)).to_have_text("This page was open too long")


def test_going_back_and_forth_after_booking_books_nothing_twice(browser_page):
    page = browser_page("office")
    page.goto("/pours/book/")
    say_the_walk(page)
    page.get_by_role("button", name="Book it").last.click()
    page.wait_for_url(re.compile(r"/pours/\d+/$"))
    booked = Pour.objects.count()
    page.go_back()
    expect(page.get_by_role("heading", level=1)).to_have_text("Book a pour")
    page.go_forward()
    page.wait_for_url(re.compile(r"/pours/\d+/$"))
    assert Pour.objects.count() == booked


def test_what_cannot_be_read_is_told_beside_it_and_stays_as_typed(browser_page):
    page = browser_page("office")
    page.goto("/pours/book/")
    say_the_walk(page)
    page.get_by_label("Length", exact=True).fill("52 paces")
    page.get_by_role("button", name="Book it").last.click()
    expect(page.get_by_role("alert").first).to_contain_text("Nothing is booked yet")
    expect(page.get_by_label("Length", exact=True)).to_have_value("52 paces")
    expect(page.get_by_label("Width", exact=True)).to_have_value("38'")


def test_a_pours_sheet_prints_on_one_page_without_the_frame(browser_page):
    page = browser_page("ash")
    page.goto(f"/pours/{Pour.objects.get(title='floor, to the doors').pk}/sheet/")
    assert pages_of(page.pdf(format="Letter")) == 1
    page.emulate_media(media="print")
    expect(page.get_by_role("link", name="Pourplan")).to_be_hidden()


def pages_of(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_a_week_prints_on_one_page_across(browser_page):
    page = browser_page("dispatch")
    page.goto(f"/week/?day={MONDAY}")
    assert pages_of(page.pdf(format="Letter", prefer_css_page_size=True)) == 1
