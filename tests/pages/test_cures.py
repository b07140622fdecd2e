"""Rules a week breaks, and what would cure a clash: read, tried, done."""

import re
from datetime import timedelta

import pytest
import time_machine

from scheduling.engine.weekcures import WORTH_TRYING, Remedy
from scheduling.pages import broken, cures
from scheduling.queries.weekrules import BOOKED_TWICE
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import html_of, text_of

pytestmark = pytest.mark.slow

WEEK = "/week/?day=2026-09-03"


def cures_address(page):
    return re.search(r'href="(/week/cures/\?clash=[^"]+)"', html_of(page.get(WEEK)))[1].replace("&amp;", "&")


def forms_on(html):
    """The forms that apply a cure, each with what it sends."""
    for action, inner in re.findall(
        r'<form method="post" action="(/week/cures/\d+/[^"]*)">(.*?)</form>', html, re.S
    ):
        yield action, dict(re.findall(r'name="(version|starts_at|crew|saw)" value="([^"]*)"', inner))


def test_a_clash_leads_to_cures_that_were_tried_and_one_is_done(page, pour, clashing):
    factories.crew(people=6, name="Birch")
    answer = page.get(cures_address(page))
    text = text_of(answer)
    assert any(f"Give {one.job.name} to Birch" in text for one in (pour, clashing))
    action, said = next(
        (action, said) for action, said in forms_on(html_of(answer)) if said["crew"] != str(pour.crew_id)
    )
    done = page.post(action, said, follow=True)
    assert "is changed, and planned afresh." in text_of(done)
    assert "needed, the crew has" not in text_of(done)


def test_of_two_who_apply_a_cure_the_second_is_told(page, pour, clashing, office):
    address = cures_address(page)
    (action, said), *_ = forms_on(html_of(page.get(address)))
    first = page.post(action, said)
    assert first.status_code == 302
    other = signed_in(factories.user(factories.Role.DISPATCHER))
    second = other.post(action, said)
    assert second.status_code == 412
    assert "Somebody changed this pour" in text_of(second)
    assert other.get(address).status_code == 400


def test_a_rule_the_week_breaks_is_told_with_its_pours(page, pour, book):
    factories.equipment(kind="saw", name="Saw 1")
    other = book(crew=factories.crew(name="Birch"))
    text = text_of(page.get("/week/rules/?day=2026-09-03"))
    assert "Rules this week breaks" in text
    assert "Saw: 2 needed at once, 1 there" in text
    assert other.job.name in text


def test_a_rule_that_many_pours_break_is_said_once_with_the_first_and_the_rest_folded(page, book):
    for day in range(4):
        book(starts_at=THURSDAY - timedelta(hours=2, days=day - 1), crew=factories.crew())
    html = html_of(page.get("/week/rules/?day=2026-09-03"))
    assert html.count("Placed in the dark") == 1
    dark = html.split("Placed in the dark")[1].split("</li>")[0]
    assert dark.count(">Cures</a>") == 4
    assert dark.split("<details>")[1].count(">Cures</a>") == 1


def test_a_lead_is_offered_no_cures(pour, clashing, crew):
    lead = signed_in(crew.lead)
    assert "/week/cures/" not in html_of(lead.get(WEEK))
    assert lead.get("/week/cures/?clash=x").status_code == 403
    assert lead.post(f"/week/cures/{pour.pk}/", {}).status_code == 403


def test_nonsense_is_refused_in_words(page, pour):
    assert page.get("/week/cures/?clash=x").status_code == 400
    assert page.post(f"/week/cures/{pour.pk}/", {"version": 1}).status_code == 400


def test_what_no_change_of_plan_cures_is_said_with_the_way_to_it(page, pour, crew):
    factories.paper(pour)
    (key,) = re.findall(r'clash=(forms_not_released[^"&]*)', html_of(page.get("/week/rules/?day=2026-09-03")))
    answer = page.get(f"/week/cures/?clash={key}")
    assert f"Have the forms of {pour.job.name} looked at and released" in text_of(answer)
    assert f'href="/pours/{pour.pk}/#papers"' in html_of(answer)
    assert "Tried on the week" not in text_of(answer)
    order = pour.orders.get()
    with time_machine.travel(order.order_by):
        answer = page.get(f"/week/cures/?clash=order_not_called:place:{pour.pk}.{pour.version}")
    assert f"Call the order of {pour.job.name} in now: the time to call was Wed" in text_of(answer)


def test_every_rule_and_every_remedy_has_its_words():
    assert set(cures.REMEDIES) == {remedy.value for remedy in Remedy}
    assert set(broken.RULES) | {"worker_twice", "unit_twice"} == set(WORTH_TRYING) - set(BOOKED_TWICE)
