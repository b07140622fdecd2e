"""From the door to the page asked for, in a real browser."""

import pytest

from tests.browser.looking import no_serious_faults
from tests.browser.visits import sign_in


@pytest.mark.parametrize("username", ["office", "dispatch", "ash"])
def test_people_sign_in_and_stand_before_their_week(browser_page, username):
    page = browser_page(None)
    sign_in(page, username)
    page.get_by_role("button", name="Sign out").wait_for()
    no_serious_faults(page)


@pytest.mark.parametrize(
    "elsewhere",
    [
        "//evil.example", "///evil.example", "////evil.example", "https:evil.example",
        "/%5Cevil.example", "%09//evil.example",
    ],
)  # fmt: skip
def test_signing_in_never_leads_the_browser_elsewhere(browser_page, address, elsewhere):
    page = browser_page(None)
    sign_in(page, "office", f"/sign-in/?next={elsewhere}")
    page.get_by_role("button", name="Sign out").wait_for()
    assert page.url == f"{address}/"


def test_signing_in_leads_to_the_page_asked_for(browser_page, address):
    page = browser_page(None)
    sign_in(page, "dispatch", "/week/?day=2026-09-03")
    page.get_by_role("heading", level=1).wait_for()
    assert page.url == f"{address}/week/?day=2026-09-03"
