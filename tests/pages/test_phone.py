"""A crew lead's day on the phone: opened by a link alone, in the lead's language, for that day alone."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from scheduling.models import Language, NoteKind, SiteNote
from scheduling.pages import phone
from scheduling.roles import Role
from scheduling.services import booking, daylinks
from scheduling.texting.phone import NOTED
from tests import factories
from tests.pages.conftest import THURSDAY
from tests.pages.reading import html_of, text_of

pytestmark = [pytest.mark.django_db]

MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _on_the_day(_thursday_morning):
    """Five past seven on the day of the pour, with nobody's misses counted."""
    cache.clear()
    with time_machine.travel(THURSDAY + 5 * MINUTE, tick=False):
        yield


@pytest.fixture
def lead(crew):
    return crew.lead


@pytest.fixture
def link(pour, crew, lead):
    return daylinks.issue(crew=crew, lead=lead, pours=[pour], now=THURSDAY)


@pytest.fixture
def there():
    """A phone: no cookies, nobody signed in."""
    return Client(enforce_csrf_checks=True)


def at(link, rest=""):
    return f"/d/{daylinks.token_of(link)}{rest}"


def pressing(there, link, pour, **said):
    return there.post(at(link, f"/{pour.pk}/note"), {"key": "one", **said})


def script(there, link, pour, **said):
    headers = {"x-requested-by": "phone.js"}
    return there.post(at(link, f"/{pour.pk}/note"), {"key": "one", **said}, headers=headers)


# --- the first view ---------------------------------------------------------------------------


def test_it_opens_without_signing_in_and_shows_four_facts_and_three_buttons(there, link, pour):
    answer = there.get(at(link))
    assert answer.status_code == 200
    html = html_of(answer)
    facts = re.search(r'<dl class="facts".*?</dl>', html, re.S)[0]
    assert facts.count("<dt>") == 4
    assert "Be there 6am" in facts
    assert pour.job.site.address in facts
    assert "Trowel" in facts
    assert "Cut" in facts
    big = re.search(r'<section class="big".*?</section>', html, re.S)[0]
    assert len(re.findall(r"<button>|big-link", big)) == 3
    assert [words.strip() for words in re.findall(r"<button>(.*?)</button>", big)] == [
        "All 5 here",
        "Load 1 is here",
        "Rain",
    ]


def test_no_cookie_no_referrer_no_cache_and_nothing_from_elsewhere(there, link):
    answer = there.get(at(link))
    assert not answer.cookies
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["Cache-Control"] == "private, no-store"
    assert "noindex" in answer["X-Robots-Tag"]
    assert "Cookie" not in answer.get("Vary", "")
    assert re.findall(r'(?:src|href)="(https?:)?//', html_of(answer)) == []


def test_it_speaks_the_leads_language_whatever_the_browser_asks(there, link, lead):
    assert "Trucks" in text_of(there.get(at(link), headers={"accept-language": "es"}))
    lead.language = Language.SPANISH
    lead.save()
    answer = there.get(at(link), headers={"accept-language": "en"})
    assert '<html lang="es">' in html_of(answer)
    assert answer["Content-Language"] == "es"
    text = text_of(answer)
    assert "Camiones" in text
    assert not re.search(r"\b(Trucks|Noted|Problem|Call|Be there|Trowel|Rain)\b", text)


def test_another_crews_or_days_pour_is_not_there(there, link, pour, book, crew):
    theirs = book(crew=factories.crew())
    tomorrow = book(starts_at=THURSDAY + timedelta(days=1))
    for other in (theirs, tomorrow):
        assert there.get(at(link), {"pour": other.pk}).status_code == 404
        assert pressing(there, link, other, kind="rain").status_code == 404
        assert other.job.site.name not in text_of(there.get(at(link)))
        note = factories.site_note(other, noted_at=THURSDAY + 5 * MINUTE)
        assert there.post(at(link, f"/{pour.pk}/undo/{note.pk}")).status_code == 404
        assert there.post(at(link, f"/{other.pk}/undo/{note.pk}")).status_code == 404
    assert SiteNote.objects.filter(undone_at__isnull=False).count() == 0


def test_two_pours_of_a_day_are_chosen_between(there, link, pour, book):
    second = book(starts_at=THURSDAY + timedelta(hours=5))
    html = html_of(there.get(at(link)))
    assert f"?pour={second.pk}" in html
    assert there.get(at(link), {"pour": second.pk}).status_code == 200


@pytest.mark.parametrize("asked", ["x", "-1", "²", "9" * 40, "0"])
def test_a_pour_that_is_none_does_no_harm(there, link, asked):
    assert there.get(at(link), {"pour": asked}).status_code in (200, 404)


def test_on_hold_called_off_and_given_away_are_said_and_nothing_can_be_noted(there, link, pour, office):
    booking.hold_pour(pour=pour, version=pour.version, reason="frost", by=office, now=THURSDAY)
    assert "ON HOLD, do not go." in text_of(there.get(at(link)))
    assert "data-press" not in html_of(there.get(at(link)))
    pour.refresh_from_db()
    booking.cancel_pour(pour=pour, version=pour.version, reason="frost", by=office, now=THURSDAY)
    html = html_of(there.get(at(link)))
    assert "CALLED OFF" in html
    assert "data-press" not in html
    answer = pressing(there, link, pour, key="two", kind="rain")
    assert answer.status_code == 400
    assert "This pour is not on any more." in text_of(answer)
    pour.crew = factories.crew()
    pour.save()
    assert "Nothing is planned for your crew" in text_of(there.get(at(link)))


def test_a_pour_without_a_plan_says_so(there, link, pour):
    pour.plan = None
    pour.save()
    assert "There is no plan yet." in text_of(there.get(at(link)))


def test_cautions_stand_where_the_work_is_assigned(there, crew, lead, book):
    pour = book(job=factories.job(site=factories.site(power_lines=True)))
    link = daylinks.issue(crew=crew, lead=lead, pours=[pour], now=THURSDAY)
    assert "Power lines overhead" in text_of(there.get(at(link)))


def test_whatever_is_noted_has_words_in_the_list():
    assert set(NOTED) == set(NoteKind.values)


# --- links that open nothing ------------------------------------------------------------------


def test_a_link_taken_back_or_over_says_what_to_do_in_both_languages(there, link, office):
    with time_machine.travel(THURSDAY + timedelta(days=3)):
        over = there.get(at(link))
    assert over.status_code == 410
    assert "a day that is over" in text_of(over)
    daylinks.revoke(link=link, by=office, now=THURSDAY)
    answer = there.get(at(link))
    assert answer.status_code == 410
    assert "This link was taken back." in text_of(answer)
    assert "Call dispatch" in text_of(answer)
    assert 'lang="es"' in html_of(answer)
    assert answer["Referrer-Policy"] == "no-referrer"


def test_what_is_no_link_is_told_kindly_and_who_guesses_is_held(there, link):
    for n in range(phone.MOST_MISSES):
        answer = there.get(f"/d/guess{n}")
        assert answer.status_code == 404
    assert "opens nothing" in text_of(answer)
    held = there.get("/d/guess")
    assert held.status_code == 429
    assert held["Retry-After"] == "600"
    assert there.get(at(link)).status_code == 429
    cache.clear()
    assert there.get(at(link)).status_code == 200


def test_a_link_that_ended_takes_no_presses(there, link, pour, office):
    daylinks.revoke(link=link, by=office, now=THURSDAY)
    assert pressing(there, link, pour, kind="rain").status_code == 410
    assert script(there, link, pour, kind="rain").json()["told"] == "This link was taken back."
    assert not SiteNote.objects.exists()


# --- pressing ---------------------------------------------------------------------------------


def test_a_press_is_noted_in_the_leads_name_and_two_are_one(there, link, pour, lead):
    for _ in range(2):
        assert pressing(there, link, pour, kind="truck_arrived", load=1, batched="06:40").status_code == 302
    made = SiteNote.objects.get()
    assert (made.by, made.load, made.happened_at) == (lead, 1, THURSDAY + 5 * MINUTE)
    assert made.batch_at == THURSDAY - 20 * MINUTE
    text = text_of(there.get(at(link)))
    assert "Load 1 is here, 6:40am" in text
    assert "Start load 1" in text


def test_a_press_that_waited_for_signal_is_noted_when_it_was_pressed(there, link, pour):
    answer = script(there, link, pour, kind="rain", ago=240)
    assert answer.json() == {"told": "Noted."}
    assert SiteNote.objects.get().happened_at == THURSDAY + MINUTE


def test_a_press_refused_tells_the_script_in_the_leads_words(there, link, pour, lead):
    lead.language = Language.SPANISH
    lead.save()
    answer = script(there, link, pour, kind="truck_arrived", load=99)
    assert answer.status_code == 400
    assert "despacho" in answer.json()["told"]


@pytest.mark.parametrize(
    "said",
    [
        {"kind": "no_such"},
        {"kind": "rain", "at": "25:00"},
        {"kind": "rain", "ago": "-5"},
        {"kind": "rain", "ago": "soon"},
        {"kind": "slump", "load": 1, "slump": "wet"},
        {"kind": "slump", "load": 1, "slump": "40"},
        {"kind": "temperature", "load": 1, "temperature": "700"},
        {"kind": "people_there", "people": "all"},
        {"kind": "problem", "words": "   "},
        {"kind": "problem", "words": "x" * 301},
        {"kind": "photo"},
        {"kind": "truck_arrived", "load": "x"},
        {"kind": "rain", "key": ""},
        {"kind": "rain", "key": "x" * 81},
    ],
)
def test_what_cannot_be_is_said_on_the_page(there, link, pour, said):
    answer = pressing(there, link, pour, **said)
    assert answer.status_code == 400
    assert 'class="alert stop" role="alert"' in html_of(answer)
    assert not SiteNote.objects.exists()


def test_what_was_typed_of_a_problem_stays(there, link, pour):
    answer = pressing(there, link, pour, kind="problem", words="gate is locked", at="99:00")
    assert answer.status_code == 400
    assert ">gate is locked</textarea>" in html_of(answer)


def test_a_note_is_taken_back_for_ten_minutes(there, link, pour):
    pressing(there, link, pour, kind="rain")
    note = SiteNote.objects.get()
    assert "Take back" in text_of(there.get(at(link)))
    with time_machine.travel(THURSDAY + 16 * MINUTE, tick=False):
        assert "Take back" not in text_of(there.get(at(link)))
        answer = there.post(at(link, f"/{pour.pk}/undo/{note.pk}"))
        assert answer.status_code == 400
        assert "more than ten minutes ago" in text_of(answer)
    assert there.post(at(link, f"/{pour.pk}/undo/{note.pk}")).status_code == 302
    assert "Nothing noted yet." in text_of(there.get(at(link)))
    again = there.post(at(link, f"/{pour.pk}/undo/{note.pk}"))
    assert again.status_code == 404


def test_finishing_done_is_one_press(there, link, pour):
    assert "Finishing done" in text_of(there.get(at(link)))
    assert pressing(there, link, pour, kind="finishing_done").status_code == 302
    assert SiteNote.objects.get().kind == NoteKind.FINISHING_DONE


# --- trucks and tickets -----------------------------------------------------------------------


def test_a_load_is_not_started_before_its_batch_time_is_there(there, link, pour):
    # Trade report: a pump blocked by a load that had stood since noon
    pressing(there, link, pour, kind="truck_arrived", load=1)
    text = text_of(there.get(at(link)))
    assert "nobody knows its age" in text
    assert "Read the batch time off the ticket first" in text
    refused = pressing(there, link, pour, key="two", kind="truck_started", load=1)
    assert refused.status_code == 400
    assert "nobody takes a load of unknown age" in text_of(refused)
    start = {"key": "two", "kind": "truck_started", "load": 1, "batched": "06:40"}
    assert pressing(there, link, pour, **start).status_code == 302
    assert [note.kind for note in SiteNote.objects.order_by("pk")] == [
        NoteKind.TRUCK_ARRIVED,
        NoteKind.TICKET,
        NoteKind.TRUCK_STARTED,
    ]
    pressing(there, link, pour, **start)
    assert SiteNote.objects.count() == 3


def test_a_load_that_came_early_or_is_old_asks_to_call_or_refuse(there, link, pour):
    # Trade report: a load an hour early, two hours old, nobody there to take it
    with time_machine.travel(THURSDAY - 55 * MINUTE, tick=False):
        pressing(there, link, pour, kind="truck_arrived", load=1, batched="04:10")
        html = html_of(there.get(at(link)))
        assert "came 55 min early" in html
        assert "is 115 min old, its limit is 90. Refuse it, or call who may decide." in html
        assert "Refused, sent back" in html
        assert f'href="tel:{pour.plant.phone}"' in html
        pressing(there, link, pour, key="two", kind="refused", load=1)
        html = html_of(there.get(at(link)))
        assert "came 55 min early" not in html
        assert "Load 1 refused" in html
        assert "Load 1 is here" in html


def ticket(**said):
    right = {"kind": "ticket", "load": 1, "batched": "06:40"}
    return {**right, "mix_as": "ordered", "address_as": "ordered", "yards_as": "ordered", **said}


def test_a_ticket_that_fits_is_noted_and_one_that_does_not_stops_the_load_before_it_starts(there, link, pour):
    # Trade magazine: the right truck at the wrong site, its ticket unread
    pressing(there, link, pour, key="a", kind="truck_arrived", load=1)
    assert pressing(there, link, pour, key="b", **ticket()).status_code == 302
    assert "Do not start" not in text_of(there.get(at(link)))
    said = ticket(
        mix_as="other", mix="3000", address_as="other", address="12 Elm St", yards_as="other", yards="4"
    )
    assert pressing(there, link, pour, key="c", **said).status_code == 302
    text = text_of(there.get(at(link)))
    assert "Load 1: the ticket says mix 3000, ordered is 4000-75-WR. Do not start." in text
    assert "the ticket is for 12 Elm St" in text
    assert "4 yd3 on the ticket" in text
    assert text.index("Do not start") < text.index("Start load 1")


@pytest.mark.parametrize("left_out", ["batched", "mix_as", "address_as", "yards_as"])
def test_every_line_of_a_ticket_must_be_read(there, link, pour, left_out):
    said = ticket()
    del said[left_out]
    answer = pressing(there, link, pour, **said)
    assert answer.status_code == 400
    assert "Say for each line of the ticket" in text_of(answer)


def test_slump_and_temperature_are_read_in_the_companys_units(there, link, pour):
    pressing(there, link, pour, key="a", kind="slump", load=1, slump="4 1/2")
    pressing(there, link, pour, key="b", kind="temperature", load=1, temperature="72")
    slump, warm = SiteNote.objects.order_by("pk")
    assert slump.slump_mm == pytest.approx(4.5 * 25.4)
    assert warm.concrete_c == pytest.approx((72 - 32) / 1.8)
    text = text_of(there.get(at(link)))
    assert "Slump of load 1: 4 1/2 in" in text
    assert "Load 1: 72 °F" in text


# --- what it costs ----------------------------------------------------------------------------


def test_it_is_light_and_asks_the_database_little_however_much_was_noted(
    there, link, pour, django_assert_max_num_queries
):
    for n in range(40):
        factories.site_note(pour, key=f"n{n}", happened_at=THURSDAY, noted_at=THURSDAY)
    with django_assert_max_num_queries(15):
        answer = there.get(at(link))
    assert len(answer.content) < 60_000


def test_nothing_inline_that_the_security_policy_would_block(there, link):
    html = html_of(there.get(at(link)))
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle\s*=|\son[a-z]+\s*=|javascript:", html)
    policy = there.get(at(link))["Content-Security-Policy"]
    assert "script-src 'self'" in policy.split("; ")
    assert "unsafe" not in policy
    worker = there.get("/d/worker.js")
    assert worker["Content-Type"].startswith("text/javascript")


def test_a_signed_in_browser_gets_no_more_by_it(link, pour, page):
    assert page.get(at(link)).status_code == 200
    stranger = factories.user(Role.CREW_LEAD)
    assert stranger != link.lead
