"""Today renews itself under whoever looks at it, and takes nothing out of their hands."""

from datetime import timedelta

import pytest

from scheduling.models import OrderState, PlantOrder
from scheduling.services import live, ordering
from tests.browser.looking import no_serious_faults, overflow

RENEW = "htmx.ajax('GET', '/today/?part=now', {target: '#now', swap: 'outerHTML'})"


@pytest.fixture
def late_order(rows, clock):
    """An hour before its first truck, of the first order that nobody has called in."""
    order = PlantOrder.objects.filter(state=OrderState.TO_CALL).order_by("first_on_site_at", "pk").first()
    clock(order.first_on_site_at - timedelta(hours=1))
    return order


def test_a_half_typed_form_stays_while_the_rest_is_renewed(browser_page, late_order):
    page = browser_page("dispatch")
    page.goto("/today/")
    form = page.locator(f"#order-{late_order.pk}-to_call")
    form.locator("summary").click()
    field = form.locator("input[name=taken_by]")
    field.fill("Ilse at the")
    others = late_order.pour.title
    with page.expect_response("**/today/?part=now"):
        page.evaluate(RENEW)
    page.evaluate("document.querySelector('#now').dataset.marked = 'old'")
    with page.expect_response("**/today/?part=now"):
        page.evaluate(RENEW)
    page.wait_for_function("document.querySelector('#now').dataset.marked === undefined")
    assert others in page.locator("#now").inner_text()
    assert field.input_value() == "Ilse at the"
    field.press_sequentially(" desk")
    assert field.input_value() == "Ilse at the desk"
    form.locator("button").click()
    page.wait_for_url("**/today/")
    late_order.refresh_from_db()
    assert (late_order.state, late_order.taken_by) == (OrderState.CALLED, "Ilse at the desk")


def test_what_somebody_else_settled_waits_for_whoever_is_typing(browser_page, late_order):
    page = browser_page("dispatch")
    page.goto("/today/")
    form = page.locator(f"#order-{late_order.pk}-to_call")
    form.locator("summary").click()
    form.locator("input[name=taken_by]").fill("Ilse")
    office = late_order.pour.booked_by
    ordering.call_in(order=late_order, taken_by="Ruth", by=office, now=late_order.first_on_site_at)
    with page.expect_response("**/today/?part=now"):
        page.evaluate(RENEW)
    page.locator("#settled").wait_for()
    assert form.locator("input[name=taken_by]").input_value() == "Ilse"


def test_a_server_that_does_not_answer_is_said_with_since_when(browser_page, late_order, watch):
    page = browser_page("dispatch")
    page.goto("/today/")
    since = page.locator("#now").get_attribute("data-as-of")
    page.route("**/today/?part=now", lambda route: route.abort())
    page.evaluate(f"{RENEW}.catch(() => null)")
    page.locator("#stale").wait_for()
    assert f"No answer from the server since {since}" in page.locator("#stale").inner_text()
    page.unroute("**/today/?part=now")
    page.evaluate(RENEW)
    page.locator("#stale").wait_for(state="hidden")
    watch.faults.clear()  # the answer that was kept from coming is told as an error, as it should be


def test_an_answer_that_is_the_sign_in_page_is_not_taken_for_the_day(browser_page, late_order):
    page = browser_page("dispatch")
    page.goto("/today/")
    page.context.clear_cookies()
    page.evaluate(RENEW)
    page.locator("#stale").wait_for()
    assert page.locator("#now").count() == 1


@pytest.mark.parametrize("width", [1440, 768, 320])
def test_the_day_under_way_fits_and_has_no_serious_fault(browser_page, late_order, width):
    pour = late_order.pour
    seen_at = late_order.first_on_site_at - timedelta(hours=1)
    live.note(pour=pour, kind="rain", key="one", happened_at=seen_at, by=pour.booked_by, now=seen_at)
    page = browser_page("dispatch", width=width)
    page.goto("/today/")
    assert overflow(page) == []
    no_serious_faults(page)
