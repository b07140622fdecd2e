"""Every form carries the token of whoever has just signed in: none is refused for want of it."""

import re
from urllib.parse import urlsplit

from playwright.sync_api import Page, Response

from tests.browser.conftest import WIDTHS
from tests.browser.visits import VISITS, sign_in

# The booking form has a field called “method”, which hides the property of that name.
POSTS = "[...document.querySelectorAll('form[method=post]')]"
ACTIONS = f"{POSTS}.map(form => form.getAttribute('action') || location.pathname)"
ONE = f"action => {POSTS}.find(form => (form.getAttribute('action') || location.pathname) === action)"
SEND = "form => HTMLFormElement.prototype.submit.call(form)"


def test_every_form_is_taken_after_signing_in(browser_page, clock):
    """One form of each kind is really sent; `403` would be a token that is missing or stale."""
    page = browser_page(None, width=WIDTHS["tablet"])
    taken: dict[str, int] = {}
    page.on("response", lambda answer: note(answer, taken))
    for username in ("office", "dispatch", "ash"):
        page.context.clear_cookies()
        sign_in(page, username)
        page.get_by_role("button", name="Sign out").wait_for()
        for visit in VISITS:
            if visit.username == username and not visit.then:
                clock(visit.at)
                send_forms(page, visit.address(), taken)
    assert 403 not in taken.values(), taken
    asked = {"/pours/N/move/", "/pours/N/hold/", "/pours/book/", "/week/better/", "/pours/N/day/note/"}
    assert asked | {"/sign-in/"} <= set(taken)


def kind_of(address: str) -> str:
    return re.sub(r"\d+", "N", urlsplit(address).path)


def note(answer: Response, taken: dict[str, int]) -> None:
    if answer.request.method == "POST":
        taken[kind_of(answer.url)] = answer.status


def send_forms(page: Page, address: str, taken: dict[str, int]) -> None:
    """Each form of the page that was not sent before, on a fresh page each time."""
    page.goto(address)
    for action in page.evaluate(ACTIONS):
        if kind_of(action) in {*taken, "/sign-out/"}:
            continue
        page.goto(address)
        form = page.evaluate_handle(ONE, action).as_element()
        if form is None:  # what was sent before has settled it
            continue
        with page.expect_navigation():
            form.evaluate(SEND)
