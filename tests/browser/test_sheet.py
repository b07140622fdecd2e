"""The clipboard sheet comes out of the printer as one page, whatever the paper."""

import re

import pytest

from scheduling.models import Crew, Mix, Pour
from scheduling.services import booking
from tests.browser.looking import no_serious_faults, overflow
from tests.browser.served import NOW

PAGE = re.compile(rb"/Type\s*/Page\b(?!s)")
FT, IN = 0.3048, 0.0254


def pages_of(page, pour, paper):
    page.goto(f"/pours/{pour.pk}/sheet/")
    return len(PAGE.findall(page.pdf(format=paper)))


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_every_pour_of_the_company_is_one_page(browser_page, paper):
    page = browser_page("dispatch")
    counts = {str(pour): pages_of(page, pour, paper) for pour in Pour.objects.all()}
    assert len(counts) >= 12
    assert set(counts.values()) == {1}, counts


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_twelve_loads_in_eight_bays_with_long_notes_are_one_page(browser_page, paper):
    known = Pour.objects.order_by("pk").first()
    mix = Mix.objects.get(code="4000-75-WR")
    pour = booking.book_pour(
        job=known.job,
        title="deep",
        by=known.booked_by,
        now=NOW,
        accept_clashes=True,
        plant=mix.plant,
        mix=mix,
        crew=Crew.objects.get(name="Ash"),
        people=8,
        starts_at=known.starts_at,
        notes="Mind the dog. " * 40,
        sections=[{"length_m": 128 * FT, "width_m": 12 * FT, "depth_m": 24 * IN}],
    )
    assert pour.plan.loads >= 12
    assert len(pour.plan.result["bays"]["bays"]) >= 8
    assert pages_of(browser_page("dispatch"), pour, paper) == 1


@pytest.mark.parametrize("width", [1440, 768, 320])
def test_the_sheet_can_be_read_on_a_screen_and_asks_to_be_printed(browser_page, width):
    page = browser_page("dispatch", width=width)
    page.goto(f"/pours/{Pour.objects.order_by('pk').first().pk}/sheet/")
    assert overflow(page) == []
    no_serious_faults(page)
    page.evaluate("window.print = () => { document.body.dataset.printed = 'yes' }")
    page.locator("#print").click()
    assert page.locator("body").get_attribute("data-printed") == "yes"
