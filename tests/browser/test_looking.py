"""What looks pages over sees the faults it is there for."""

from tests.browser.keyboard import walk_by_tab
from tests.browser.looking import overflow, serious_faults


def test_an_inline_script_is_blocked_and_told(browser_page, watch):
    page = browser_page(None)
    page.goto("/sign-in/")
    page.evaluate(
        "document.body.append(Object.assign(document.createElement('script'), {text: 'window.ran = 1'}))"
    )
    assert page.evaluate("window.ran") is None
    assert any("Content Security Policy" in fault for fault in watch.faults)
    watch.faults.clear()


def test_an_inline_style_is_blocked_and_told(browser_page, watch):
    page = browser_page(None)
    page.goto("/sign-in/")
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color:red\">x</p>')")
    assert any("Content Security Policy" in fault for fault in watch.faults)
    watch.faults.clear()


def test_a_lost_file_and_an_error_in_a_script_are_told(browser_page, watch):
    page = browser_page(None)
    page.goto("/sign-in/")
    page.evaluate("setTimeout(() => { throw new Error('on purpose') })")
    page.evaluate("fetch('/nowhere/')")
    page.wait_for_timeout(200)
    assert any("on purpose" in fault for fault in watch.faults)
    assert any(fault.startswith("404") for fault in watch.faults)
    watch.faults.clear()


def test_a_field_without_a_name_and_grey_on_grey_are_serious(browser_page):
    page = browser_page(None)
    page.goto("/sign-in/")
    assert serious_faults(page) == []
    page.evaluate("document.querySelectorAll('label').forEach(label => label.remove())")
    page.evaluate("document.querySelector('h1').style.color = '#ccc'")
    assert {fault.split(":")[0] for fault in serious_faults(page)} >= {"label", "color-contrast"}


def test_what_sticks_out_to_the_right_is_told(browser_page):
    page = browser_page(None, width=320)
    page.goto("/sign-in/")
    assert overflow(page) == []
    page.evaluate("document.querySelector('h1').style.width = '400px'")
    assert overflow(page)


def test_a_way_by_tab_that_is_unseen_leads_up_or_passes_something_by_is_told(browser_page):
    page = browser_page(None, width=320)
    page.goto("/sign-in/")
    walk = walk_by_tab(page)
    assert (walk.missed, walk.unseen, walk.backwards) == ([], [], [])
    page.evaluate("document.querySelector('main button').style.outline = 'none'")
    page.evaluate(
        "document.querySelector('main form').style.cssText = 'display:flex;flex-flow:column-reverse'"
    )
    page.evaluate("document.querySelector('header').inert = true")
    walk = walk_by_tab(page)
    assert walk.unseen == ["button “Sign in”"]
    assert walk.backwards
    assert walk.missed == ["a “Pourplan”"]
