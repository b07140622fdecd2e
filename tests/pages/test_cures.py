"""Rules a week breaks, and what would cure a clash: read, tried, done."""

import re

import pytest

from tests import factories
from tests.pages.conftest import signed_in
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
    assert "saw: 2 needed at once, 1 there" in text
    assert other.job.name in text


def test_a_lead_is_offered_no_cures(pour, clashing, crew):
    lead = signed_in(crew.lead)
    assert "/week/cures/" not in html_of(lead.get(WEEK))
    assert lead.get("/week/cures/?clash=x").status_code == 403
    assert lead.post(f"/week/cures/{pour.pk}/", {}).status_code == 403


def test_nonsense_is_refused_in_words(page, pour):
    assert page.get("/week/cures/?clash=x").status_code == 400
    assert page.post(f"/week/cures/{pour.pk}/", {"version": 1}).status_code == 400
