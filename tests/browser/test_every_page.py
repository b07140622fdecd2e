"""Every page at three widths: for everybody's eyes and ears, by keyboard alone, light."""

import json

import pytest
from django.urls import reverse

from scheduling.pages.urls import urlpatterns
from tests.browser.conftest import WIDTHS
from tests.browser.keyboard import walk_by_tab
from tests.browser.looking import overflow, serious_faults
from tests.browser.visits import FORMS, MACHINES, PIECES, VISITS, Visit

# What htmx sends along must be JSON: with the wrong quotes it sends nothing, and says nothing.
SENT_ALONG = """['hx-headers', 'hx-vals'].flatMap(name =>
    [...document.querySelectorAll(`[${name}]`)].map(e => e.getAttribute(name)))"""
LIGHT = 200_000  # bytes as they come over the line, nothing compressed, nothing kept from before


def named(visit: Visit) -> str:
    return f"{visit.name}: {visit.of}"


def test_every_address_is_visited_or_no_page():
    """A page added without a visit fails here."""
    visited = {visit.name for visit in VISITS}
    assert visited | FORMS | MACHINES | PIECES == {pattern.name for pattern in urlpatterns}
    assert not visited & (FORMS | MACHINES | PIECES)


def test_what_only_takes_forms_is_no_page(browser_context):
    browser = browser_context("office").request
    said = {name: browser.get(address_of(name)).status for name in FORMS}
    assert {name: status for name, status in said.items() if status not in (404, 405)} == {}


def test_what_machines_ask_for_is_no_page(browser_context):
    browser = browser_context("office").request
    answers = [browser.get(address_of(name)) for name in MACHINES]
    pages = [one for one in answers if one.ok and one.headers["content-type"].startswith("text/html")]
    assert pages == []


def address_of(name: str) -> str:
    pattern = next(pattern for pattern in urlpatterns if pattern.name == name)
    return reverse(name, kwargs=dict.fromkeys(pattern.pattern.converters, 1))


@pytest.mark.parametrize("visit", VISITS, ids=named)
def test_page(browser_page, clock, visit):
    clock(visit.at)
    page = browser_page(visit.username)
    weight = Weight(page)
    page.goto(visit.address())
    if visit.then:
        visit.then(page)
    page.wait_for_load_state("networkidle")
    wrong = {name: look(page, width) for name, width in WIDTHS.items()}
    assert not any(wrong.values()), json.dumps({name: said for name, said in wrong.items() if said}, indent=1)
    assert 0 < weight.bytes < LIGHT
    assert page.locator("html").get_attribute("lang") == visit.language
    for said in page.evaluate(SENT_ALONG):
        json.loads(said)


def look(page, width: int) -> dict[str, list[str]]:
    """What is wrong with the page at a width."""
    page.set_viewport_size({"width": width, "height": 900})
    walk = walk_by_tab(page)
    found = {
        "axe": serious_faults(page),
        "sticks out": overflow(page),
        "not reached by Tab": walk.missed,
        "focus not seen": walk.unseen,
        "Tab leads up": walk.backwards if width == WIDTHS["phone"] else [],
    }
    return {what: said for what, said in found.items() if said}


class Weight:
    """Bytes that came over the line for the newest page of a tab."""

    def __init__(self, page) -> None:
        self.bytes = 0
        line = page.context.new_cdp_session(page)
        line.send("Network.enable")
        line.on("Network.requestWillBeSent", self.begun)
        line.on("Network.loadingFinished", self.came)

    def begun(self, event) -> None:
        if event["type"] == "Document":
            self.bytes = 0

    def came(self, event) -> None:
        self.bytes += int(event["encodedDataLength"])
