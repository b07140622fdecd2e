"""Moving a pour on the week by its form, which the drag fills in too."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import Pour
from scheduling.services import booking
from tests import factories
from tests.pages.conftest import THURSDAY, signed_in
from tests.pages.reading import Fields, html_of, text_of

CHICAGO = ZoneInfo("America/Chicago")
WEEK = "/week/?day=2026-09-03"


def send(page, pour, query="?day=2026-09-03", **said):
    typed = {"version": pour.version, "day": "2026-09-04", "time": "07:00", "crew": pour.crew_id, **said}
    return page.post(f"/week/move/{pour.pk}/{query}", typed)


def typed_in(answer):
    """What the form holds; other forms of the page have fields of the same names."""
    form = html_of(answer).split('id="move"')[1].split("</section>")[0]
    return Fields(form).values


def test_every_card_has_a_form_that_is_filled_in_with_what_stands(page, pour):
    assert f'href="/week/?move={pour.pk}#move"' in html_of(page.get(WEEK))
    form = page.get(f"/week/?move={pour.pk}")
    assert f"Move {pour.job.name}" in text_of(form)
    assert "It stands Thu, Sep 3, 7:00 am, with Ash." in text_of(form)
    said = typed_in(form)
    assert (said["day"], said["time"], said["version"]) == ("2026-09-03", "07:00", "1")


def test_a_pour_moves_to_another_day_and_crew_and_the_page_goes_there(page, pour):
    birch = factories.crew(people=6, name="Birch")
    answer = send(page, pour, crew=birch.pk, day="2026-09-08")
    assert answer.headers["Location"] == f"/week/?day=2026-09-08#pour-{pour.pk}"
    moved = Pour.objects.get(pk=pour.pk)
    assert (moved.crew, moved.starts_at) == (birch, THURSDAY + timedelta(days=5))


def test_a_crew_can_be_taken_off(page, pour):
    send(page, pour, crew="none", day="2026-09-03")
    assert Pour.objects.get(pk=pour.pk).crew is None


def test_nothing_moved_changes_nothing(page, pour):
    answer = page.post(
        f"/week/move/{pour.pk}/",
        {"version": 1, "day": "2026-09-03", "time": "07:00", "crew": pour.crew_id},
        follow=True,
    )
    assert "stays where it is" in text_of(answer)
    assert Pour.objects.get(pk=pour.pk).version == 1


def test_a_clash_moves_nothing_keeps_what_was_typed_and_offers_ways_out(page, pour, book):
    other = book(starts_at=THURSDAY + timedelta(days=1, hours=1))
    answer = send(page, other, day="2026-09-03", time="08:00")
    assert answer.status_code == 409
    assert "10 needed, the crew has 5 people" in text_of(answer)
    assert typed_in(answer)["time"] == "08:00"
    assert Pour.objects.get(pk=other.pk).version == 1
    free = html_of(answer).split('name="free" value="')[1].split('"')[0]
    assert send(page, other, day="2026-09-03", time="08:00", free=free).status_code == 302
    assert f"{Pour.objects.get(pk=other.pk).starts_at.astimezone(CHICAGO):%Y-%m-%dT%H:%M}" == free


def test_a_clash_may_be_taken_all_the_same(page, pour, book):
    other = book(starts_at=THURSDAY + timedelta(days=1, hours=1))
    assert send(page, other, day="2026-09-03", time="08:00", move_anyway="1").status_code == 302
    assert "Booked twice, and accepted" in text_of(page.get(WEEK))


def test_a_stale_tab_is_told_who_did_what_and_keeps_what_was_typed(page, pour, office):
    booking.move_pour(
        pour=pour, version=1, starts_at=THURSDAY + timedelta(hours=2), by=office, now=factories.NOW
    )
    answer = send(page, pour, version=1, time="06:30")
    text = text_of(answer)
    assert answer.status_code == 412
    assert "Maren Tollgard has moved this pour since you looked" in text
    assert "It stands Thu, Sep 3, 9:00 am, with Ash." in text
    said = typed_in(answer)
    assert (said["time"], said["day"], said["version"]) == ("06:30", "2026-09-04", "2")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"day": "2026-08-20"}, "That start is already past."),
        ({"day": "soon"}, "That is not a day"),
        ({"time": ""}, "Give the time."),
        ({"crew": "99999"}, "That is not one of those there are any more"),
        ({"day": "2027-03-14", "time": "02:30"}, "clock"),  # an hour that day does not have (IANA database)
    ],
)
def test_what_cannot_be_is_said_beside_what_was_typed(page, pour, wrong, words):
    answer = send(page, pour, **wrong)
    assert answer.status_code == 400
    assert words in text_of(answer)
    assert Pour.objects.get(pk=pour.pk).version == 1


def test_a_lead_moves_nothing_and_is_offered_no_form(pour, crew):
    lead = signed_in(crew.lead)
    assert "Move" not in text_of(lead.get(WEEK))
    assert "It stands" not in text_of(lead.get(f"/week/?move={pour.pk}"))
    assert send(lead, pour).status_code == 403


def test_what_is_looked_at_is_kept_through_weeks_moves_and_cures(page, pour, clashing):
    kept = f"?day=2026-09-03&crew={pour.crew_id}&plant={pour.plant_id}"
    html = html_of(page.get(f"/week/{kept}"))
    more = f"crew={pour.crew_id}&amp;plant={pour.plant_id}"
    assert f"/week/?day=2026-09-07&amp;{more}" in html
    assert f"/week/?move={pour.pk}&amp;{more}#move" in html
    assert f"/week/move/{pour.pk}/?day=2026-09-03&amp;{more}" in html
    assert html.count("/week/cures/?clash=") == html.count(f'&amp;{more}">What would cure it')
    answer = send(page, pour, query=kept, day="2026-09-08")
    assert answer.headers["Location"] == f"/week/?day=2026-09-08&{more.replace('&amp;', '&')}#pour-{pour.pk}"


def test_only_the_crew_or_plant_that_is_asked_for_is_shown(page, pour, book):
    birch = factories.crew(people=6, name="Birch")
    other = book(crew=birch)
    text = text_of(page.get(f"{WEEK}&crew={birch.pk}"))
    assert other.job.name in text.split("Show", 1)[1].split("dark", 1)[1]
    assert "1 pour" in text
    elsewhere = factories.plant(name="Riverbend plant")
    empty = text_of(page.get(f"{WEEK}&plant={elsewhere.pk}"))
    assert "Nothing of that is booked this week" in empty
    assert "Riverbend plant" in empty
    assert "2 pours" in text_of(page.get(f"{WEEK}&crew=&plant=x"))
