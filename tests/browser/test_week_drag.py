"""A pour moved on the week: dragged, by keyboard, into a clash, from a stale tab; and the week on paper."""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from scheduling.models import Crew, Pour, PourState
from scheduling.services import planning
from tests import factories
from tests.browser.served import MONDAY, NOW

WEEK = f"/week/?day={MONDAY}"
ZONE = ZoneInfo("America/Chicago")
THURSDAY = "2026-09-03"


def pour(title):
    return Pour.objects.select_related("crew").get(title=title)


def stands(title):
    """Where it stands on its site's clock, and with whom."""
    found = pour(title)
    return f"{found.starts_at.astimezone(ZONE):%a %H:%M}", found.crew.name


def card(page, title):
    return page.locator(f"#pour-{pour(title).pk}")


def drag(page, start, end, let_go=True):
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, steps=3)
    page.mouse.move(*end, steps=3)
    if let_go:
        page.mouse.up()


def middle(locator):
    box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


@pytest.fixture
def page(browser_page):
    page = browser_page("dispatch")
    page.set_viewport_size({"width": 1440, "height": 3000})
    page.goto(WEEK)
    return page


def test_dragged_by_its_name_to_a_free_crew_of_another_day_it_keeps_its_time(page):
    assert stands("round plaza") == ("Fri 07:30", "Cedar")
    chip = page.locator(f'[data-day="{THURSDAY}"] .free [data-said="Cedar"]')
    drag(page, middle(card(page, "round plaza").locator(".facts b").first), middle(chip))
    expect(page.get_by_role("status")).to_contain_text(
        "is moved, and planned afresh: Thu, Sep 3, 7:30 am, with Cedar"
    )
    assert stands("round plaza") == ("Thu 07:30", "Cedar")


def test_dragged_along_the_clock_it_changes_its_hour_by_quarters(page):
    strip = card(page, "ramp").locator(".strip")
    hour = strip.bounding_box()["width"] / float(page.locator(".board").get_attribute("data-hours"))
    x, y = middle(strip)
    drag(page, (x, y), (x + 1.03 * hour, y + 3))
    expect(page.get_by_role("status")).to_contain_text("9:00 am, with Birch")
    assert stands("ramp") == ("Fri 09:00", "Birch")


def test_escape_and_a_drop_beside_the_days_leave_it_where_it_is(page):
    before = stands("ramp")
    start = middle(card(page, "ramp").locator(".facts b").first)
    drag(page, start, middle(page.locator(f'[data-day="{THURSDAY}"] h2')), let_go=False)
    expect(page.locator(".ghost")).to_contain_text("Thu, Sep 3, 8:00 AM, Birch")
    page.keyboard.press("Escape")
    expect(page.locator(".ghost")).to_have_count(0)
    page.mouse.up()
    drag(page, start, middle(page.get_by_role("heading", level=1)))
    page.wait_for_timeout(200)
    assert stands("ramp") == before
    assert page.url.endswith(WEEK)


def test_a_drop_that_clashes_moves_nothing_and_offers_ways_out_with_what_was_dropped(page):
    row = page.locator(f'[data-day="{THURSDAY}"] .crew-line[data-said="Ash"]')
    drag(page, middle(card(page, "round plaza").locator(".facts b").first), middle(row.locator("h3")))
    panel = page.locator("#move")
    expect(panel.get_by_role("alert")).to_contain_text("This clashes with what is booked.")
    assert panel.get_by_label("Day").input_value() == THURSDAY
    assert panel.get_by_label("Crew").evaluate("e => e.selectedOptions[0].text") == "Ash"
    assert stands("round plaza") == ("Fri 07:30", "Cedar")
    panel.get_by_role("button", name="instead").first.click()
    expect(page.get_by_role("status")).to_contain_text("is moved, and planned afresh: Thu, Sep 3")
    assert stands("round plaza")[1] == "Ash"


def test_by_keyboard_alone_a_pour_is_moved(page):
    card(page, "ramp").get_by_role("link", name="Move").focus()
    page.keyboard.press("Enter")
    panel = page.locator("#move")
    panel.get_by_label("First truck at").focus()
    page.keyboard.type("0915AM")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("9:15 am, with Birch")
    assert stands("ramp") == ("Fri 09:15", "Birch")


def test_of_two_tabs_the_stale_one_is_told_who_did_what_and_keeps_its_drop(page, browser_page):
    other = browser_page("office")
    other.goto(f"/week/?move={pour('ramp').pk}#move")
    other.get_by_label("First truck at").fill("10:00")
    other.get_by_role("button", name="Move it").click()
    expect(other.get_by_role("status")).to_contain_text("10:00 am")
    chip = page.locator(f'[data-day="{THURSDAY}"] .free [data-said="Cedar"]')
    drag(page, middle(card(page, "ramp").locator(".facts b").first), middle(chip))
    panel = page.locator("#move")
    expect(panel.get_by_role("alert")).to_contain_text("Maren Tollgard has moved this pour since you looked")
    expect(panel.get_by_role("alert")).to_contain_text("It stands Fri, Sep 4, 10:00 am, with Birch")
    assert panel.get_by_label("Day").input_value() == THURSDAY
    assert stands("ramp") == ("Fri 10:00", "Birch")
    panel.get_by_role("button", name="Move it", exact=True).click()
    # Six place the ramp, and Cedar has four.
    expect(panel.get_by_role("alert")).to_contain_text("6 needed, the crew has 4 people")
    panel.get_by_role("button", name="Move it all the same").click()
    expect(page.get_by_role("status")).to_contain_text("is moved")
    assert stands("ramp") == ("Thu 08:00", "Cedar")


@pytest.mark.parametrize("width", [768, 1024])
def test_a_finger_drags_by_the_word_move_on_a_tablet(browser_page, width):
    page = browser_page("dispatch", width=width, has_touch=True)
    page.set_viewport_size({"width": width, "height": 6500})
    page.goto(WEEK)
    page.wait_for_load_state("networkidle")  # the rules of the week push the board down
    chip = page.locator(f'[data-day="{THURSDAY}"] .free [data-said="Cedar"]')
    finger = page.context.new_cdp_session(page)
    start, end = middle(card(page, "round plaza").locator(".grip")), middle(chip)
    for kind, (x, y) in (
        ("touchStart", start),
        ("touchMove", (start[0] + 20, start[1] - 20)),
        ("touchMove", end),
        ("touchEnd", end),
    ):
        points = [] if kind == "touchEnd" else [{"x": x, "y": y}]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    expect(page.get_by_role("status")).to_contain_text("Thu, Sep 3, 7:30 am, with Cedar")
    assert stands("round plaza") == ("Thu 07:30", "Cedar")


def pages_of(page):
    page.wait_for_load_state("networkidle")
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    return len(re.findall(rb"/Type\s*/Page[^s]", printed))


def test_the_week_prints_on_one_landscape_page(page):
    assert pages_of(page) == 1


def test_five_days_of_six_crews_print_on_one_page_too(page):
    job = pour("ramp").job
    crews = [*Crew.objects.order_by("name"), *(factories.crew(people=6) for _ in range(3))]
    monday = datetime.fromisoformat(f"{MONDAY}T07:00").replace(tzinfo=ZONE)
    Pour.objects.update(state=PourState.CANCELLED)
    for n, crew in enumerate(crews * 5):
        made = factories.pour(
            job=job, mix=pour("ramp").mix, crew=crew, starts_at=monday + timedelta(days=n // 6)
        )
        planning.plan_pour(pour=made, by=None, now=NOW)
    page.goto(WEEK)
    expect(page.locator("article.card")).to_have_count(30)
    assert pages_of(page) == 1
