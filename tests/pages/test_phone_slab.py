# ruff: noqa: F811 (fixtures of another module)
"""On the lead's phone: strips found ready one by one, what is left to place, pours that went elsewhere."""

import re

import pytest
import time_machine

from scheduling.models import Language, NoteKind, SiteNote
from scheduling.services import booking
from tests import factories
from tests.pages.conftest import THURSDAY
from tests.pages.reading import html_of, text_of
from tests.pages.test_phone import MINUTE, _on_the_day, at, lead, link, pressing, script, there  # noqa: F401

pytestmark = [pytest.mark.django_db]

YD3_M3 = 0.764554857984  # exact, from the international yard


@pytest.fixture
def all_out(pour, lead):
    """Every load came a quarter of an hour late, and all are empty."""
    for load in pour.plan.result["delivery"]["loads"]:
        for kind, name in (("truck_started", "starts_at"), ("truck_empty", "ends_at")):
            came_at = factories.datetime.fromisoformat(load[name]) + 15 * MINUTE
            factories.site_note(
                pour, kind=kind, load=load["number"], key=f"{kind}{load['number']}", happened_at=came_at
            )
    return pour.plan.placed_at + 20 * MINUTE


def strips(html):
    return re.search(r'<ol class="strips">.*?</ol>', html, re.S)[0]


# --- strip by strip ---------------------------------------------------------------------------


def test_before_concrete_is_out_there_are_no_strips_and_then_each_says_when_it_wants_what(there, link, pour):
    assert 'class="strips"' not in html_of(there.get(at(link)))
    pressing(there, link, pour, kind="truck_started", load=1, batched="06:40")
    shown = strips(html_of(there.get(at(link))))
    assert shown.count("<li") > 1
    for words in ("load 1", "ready about", "finished about", "cut ", "Strip 1 is ready"):
        assert words in shown


def test_the_second_strip_ready_speaks_for_itself_alone(there, link, pour, all_out):
    # Trade magazine: part of a slab may set slow, so that one strip ready releases no other
    with time_machine.travel(all_out + 180 * MINUTE, tick=False):
        assert "found ready" not in strips(html_of(there.get(at(link))))
        pressing(there, link, pour, kind="ready_to_finish", strip=2)
        html = html_of(there.get(at(link)))
    after = strips(html)
    assert SiteNote.objects.get(kind=NoteKind.READY_TO_FINISH).strip == 2
    assert after.count("found ready") == 1
    assert "Strip 2 is ready" not in after
    assert "Strip 1 is ready" in after
    assert "Strip 2 ready to finish" in text_of(there.get(at(link)))
    big = re.search(r'<section class="big".*?</section>', html, re.S)[0]
    assert "Strip 1 is ready" in big


def test_finish_and_cut_go_by_the_actual_placing(there, link, pour, all_out):
    def facts():
        return re.search(r'<dl class="facts".*?</dl>', html_of(there.get(at(link))), re.S)[0]

    with time_machine.travel(all_out + 60 * MINUTE, tick=False):
        late = facts()
        pressing(there, link, pour, key="r", kind="rain")
        with time_machine.travel(all_out + 300 * MINUTE, tick=False):
            pressing(there, link, pour, key="o", kind="rain_over")
            wet = facts()
    SiteNote.objects.all().delete()
    assert len({facts(), late, wet}) == 3
    assert "Rain takes" in wet
    assert "the crew stays" in wet


def test_rain_is_over_is_offered_while_it_rains(there, link, pour):
    assert "Rain is over" not in text_of(there.get(at(link)))
    pressing(there, link, pour, kind="rain")
    assert "Rain is over" in text_of(there.get(at(link)))
    pressing(there, link, pour, key="two", kind="rain_over")
    assert "<button>Rain is over" not in html_of(there.get(at(link)))


# --- what is left to place --------------------------------------------------------------------


def test_what_is_short_is_asked_for_with_the_amount_filled_in_and_a_second_yes(there, link, pour, all_out):
    with time_machine.travel(all_out, tick=False):
        pressing(there, link, pour, kind="measured", amount="0.5")
        html = html_of(there.get(at(link)))
        assert "0.5 yd3 was left" in html
        amount = re.search(r'name="amount"[^>]*value="([^"]*)"', html)[1]
        assert amount == "0.75 yd3"  # half a yard and the plan's allowance, in the plant's quarter yards
        # A story of 2013: four yards called in in a rush, not needed three minutes later, loaded already
        asked = {"key": "two", "kind": "balance_asked", "amount": "4"}
        refused = pressing(there, link, pour, **asked)
        assert refused.status_code == 400
        assert "That is over twice what was measured" in text_of(refused)
        assert 'name="confirmed"' in html_of(refused)
        assert script(there, link, pour, **asked).json()["asks_again"] is True
        assert pressing(there, link, pour, **asked, confirmed="on").status_code == 302
        assert SiteNote.objects.get(kind=NoteKind.BALANCE_ASKED).m3 == pytest.approx(4 * YD3_M3)
        text = text_of(there.get(at(link)))
        assert "Balance load of 4 yd3 asked for. It can still be cancelled." in text
        pressing(there, link, pour, key="three", kind="balance_loading")
        text = text_of(there.get(at(link)))
        assert "is loading: it is ours now" in text
        assert "It is cancelled" not in text


def test_what_is_asked_as_reckoned_needs_no_second_yes(there, link, pour, all_out):
    with time_machine.travel(all_out, tick=False):
        pressing(there, link, pour, kind="measured", amount="3")
        asked = pressing(there, link, pour, key="two", kind="balance_asked", amount="3.25 yd3")
    assert asked.status_code == 302


def test_it_is_said_in_spanish_too(there, link, pour, lead, all_out):
    lead.language = Language.SPANISH
    lead.save()
    with time_machine.travel(all_out, tick=False):
        pressing(there, link, pour, kind="measured", amount="2")
        pressing(there, link, pour, key="two", kind="ready_to_finish", strip=1)
        pressing(there, link, pour, key="three", kind="rain")
        text = text_of(there.get(at(link)))
    for words in ("La losa", "Lo que falta", "Faltan 2.25 yd3", "La franja 2 está lista", "Ya no llueve"):
        assert words in text
    assert not re.search(r"\b(strip|Strip|short|ready|finished|Balance|Measured)\b", text)


# --- one truck, one alert ---------------------------------------------------------------------


def test_a_load_that_is_too_old_and_early_is_one_alert(there, link, pour):
    # Trade report: at seven for eight o'clock, ticket 5:10: 110 min old at the gate
    with time_machine.travel(THURSDAY - 60 * MINUTE, tick=False):
        pressing(there, link, pour, kind="truck_arrived", load=1, batched="04:10")
        html = html_of(there.get(at(link)))
    assert "Load 1 is 110 min old, its limit is 90. Refuse it, or call who may decide." in html
    assert "It came 60 min early." in html
    assert html.count('<li class="alert') == 1


# --- gone elsewhere ---------------------------------------------------------------------------


def moved(pour, by, **fields):
    return booking.change_pour(
        pour=pour, version=pour.version, by=by, now=THURSDAY + 3 * MINUTE, accept_clashes=True, **fields
    )


def test_a_pour_that_went_to_another_crew_is_said_to_have_gone_there(there, link, pour, office):
    moved(pour, office, crew=factories.crew(name="Birch"))
    said = f"{pour.job.site.name} went to Birch at 7:03am."
    assert said in text_of(there.get(at(link)))
    assert said in text_of(there.get(at(link), {"pour": pour.pk}))
    assert script(there, link, pour, kind="rain").json()["told"] == said
    assert pressing(there, link, pour, kind="rain").status_code == 409
    assert not SiteNote.objects.exists()


def test_a_pour_taken_off_the_crew_or_moved_to_another_day_is_said_to_be_so(there, link, pour, office):
    moved(pour, office, crew=None)
    assert "was taken off your crew at 7:03am." in text_of(there.get(at(link)))
    pour.refresh_from_db()
    moved(pour, office, crew=link.crew, starts_at=THURSDAY + factories.timedelta(days=1))
    pour.refresh_from_db()
    moved(pour, office, starts_at=THURSDAY + factories.timedelta(hours=1))
    assert "your crew at" not in text_of(there.get(at(link)))  # it came back
    pour.refresh_from_db()
    moved(pour, office, starts_at=THURSDAY + factories.timedelta(days=1))
    assert "was moved to Fri Sep 4, 7am." in text_of(there.get(at(link)))


# --- measuring --------------------------------------------------------------------------------


def test_near_the_end_the_lead_is_asked_to_measure(there, link, pour):
    # NRMCA CIP 8: measure near the end, so that the last two or three loads can still be changed
    asked = f"{pour.plan.loads - 1} loads left: measure what is still to place."
    pressing(there, link, pour, key="s", kind="truck_started", load=1, batched="06:40")
    assert asked not in text_of(there.get(at(link)))
    pressing(there, link, pour, key="e", kind="truck_empty", load=1)
    assert asked in text_of(there.get(at(link)))
    pressing(there, link, pour, key="m", kind="measured", amount="20")
    assert asked not in text_of(there.get(at(link)))


def test_the_cut_is_offered_large_only_when_it_is_near(there, link, pour, all_out):
    def big(at_moment):
        with time_machine.travel(at_moment, tick=False):
            return re.search(r'<section class="big".*?</section>', html_of(there.get(at(link))), re.S)[0]

    assert "Cut ravels" not in big(all_out)
    assert "Cut ravels" in big(THURSDAY + factories.timedelta(hours=14))
