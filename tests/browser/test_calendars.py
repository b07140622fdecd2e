"""A lead's calendar link in a real browser: made, shown once, fetched by a program, taken back."""

from playwright.sync_api import expect

from tests.browser.looking import no_serious_faults, overflow


def test_a_link_is_made_shown_once_and_taken_back(browser_page, browser_context, watch):
    page, program = browser_page("ash", width=320), browser_context(None).request
    page.goto("/")
    page.get_by_role("link", name="My calendar").click()
    page.get_by_role("button", name="Make the link").click()
    link = page.get_by_label("Copy it now")
    address = link.input_value()
    assert address.endswith(".ics")
    no_serious_faults(page)
    assert not overflow(page)
    fed = program.get(f"/calendar/{address.rsplit('/', 1)[1]}")
    assert fed.headers["content-type"].startswith("text/calendar")
    assert "BEGIN:VEVENT" in fed.text()
    page.goto("/calendar/")
    expect(link).to_have_count(0)
    expect(page.get_by_text("a calendar last asked")).to_be_visible()
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_role("status")).to_contain_text("The link opens nothing any more.")
    assert program.get(f"/calendar/{address.rsplit('/', 1)[1]}").status == 404
