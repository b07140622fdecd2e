"""What is not of our making, the company's records and the API's description, works under our policy too."""

import pytest
from playwright.sync_api import expect

from scheduling.models import Crew


def test_the_office_adds_a_crew_in_the_records(browser_page):
    page = browser_page("office")
    page.goto("/admin/scheduling/crew/add/")
    page.get_by_label("Name:", exact=True).first.fill("Dogwood")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("was added successfully")).to_be_visible()
    assert Crew.objects.filter(name="Dogwood").exists()


@pytest.mark.parametrize("place", ["/admin/", "/admin/scheduling/crew/", "/admin/scheduling/plant/1/change/"])
def test_the_records_open_without_an_error(browser_page, place):
    page = browser_page("office")
    assert page.goto(place).status == 200
    page.wait_for_load_state("networkidle")


def test_the_apis_description_shows_its_addresses(browser_page, watch):
    page = browser_page("office")
    page.goto("/api/docs/")
    expect(page.get_by_text("/api/v1/pours/", exact=True).first).to_be_visible(timeout=15_000)
    # A line of style it brings along is blocked, and not missed.
    watch.faults[:] = [fault for fault in watch.faults if "inline style" not in fault]
