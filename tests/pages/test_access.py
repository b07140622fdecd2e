import pytest
from django.test import Client

from scheduling.models import PourEvent
from scheduling.roles import Role
from tests import factories
from tests.pages.conftest import form_of, signed_in
from tests.pages.reading import html_of, text_of

pytestmark = pytest.mark.slow

PAGES = [
    "/",
    "/today/",
    "/week/",
    "/messages/",
    "/messages/due/",
    "/messages/morning/",
    "/calendar/",
    "/pours/book/",
    "/pours/{pk}/",
    "/pours/{pk}/plans/",
    "/pours/{pk}/sheet/",
]
POSTS = ["move", "spotter", "hold", "release", "cancel", "plan", "order/called", "order/confirmed"]


@pytest.mark.parametrize("address", PAGES)
def test_a_stranger_is_asked_to_sign_in_and_told_nothing(pour, address):
    address = address.format(pk=pour.pk)
    answer = Client().get(address)
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"/sign-in/?next={address}"


@pytest.mark.parametrize("action", POSTS)
def test_a_stranger_changes_nothing(pour, action):
    answer = Client().post(f"/pours/{pour.pk}/{action}/", form_of(pour, reason="x"))
    assert answer.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("action", POSTS)
def test_what_changes_a_pour_cannot_be_asked_by_a_link(page, pour, action):
    assert page.get(f"/pours/{pour.pk}/{action}/").status_code == 405


@pytest.fixture
def lead(crew) -> Client:
    return signed_in(crew.lead)


def test_a_lead_sees_the_pours_of_the_own_crew_and_no_button_that_changes_them(lead, pour):
    answer = lead.get(f"/pours/{pour.pk}/")
    assert answer.status_code == 200
    assert "Tell the plant" in text_of(answer)
    assert "<form" not in html_of(answer).replace('<form method="post" action="/sign-out/">', "")


def test_another_crews_pour_answers_a_lead_as_one_that_is_not_there(book, lead):
    other = book(crew=factories.crew())
    answers = [lead.get(f"/pours/{pk}/") for pk in (other.pk, 10**9)]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert text_of(answers[0]) == text_of(answers[1])


def test_a_huge_number_of_a_pour_is_not_there(page):
    assert page.get(f"/pours/{10**30}/").status_code == 404


def test_a_lead_does_not_see_other_crews_on_the_week(book, pour, lead):
    other = book(crew=factories.crew(name="Birch"), job=factories.job(name="Secret barn"))
    text = text_of(lead.get(f"/week/?day={other.starts_at:%Y-%m-%d}"))
    assert pour.job.name in text
    assert "Secret barn" not in text
    assert "Birch" not in text


def test_a_lead_is_not_told_of_clashes_with_pours_that_are_not_theirs_to_see(clashing, lead):
    assert "clash" not in text_of(lead.get("/week/?day=2026-09-03")).lower().replace("booked twice", "")


@pytest.mark.parametrize("action", POSTS)
def test_a_lead_changes_nothing(lead, pour, action):
    before = PourEvent.objects.count()
    answer = lead.post(f"/pours/{pour.pk}/{action}/", form_of(pour, reason="x"))
    assert answer.status_code == 403
    assert PourEvent.objects.count() == before
    assert "Your role does not include this" in text_of(answer)


def test_a_lead_cannot_book(lead):
    assert lead.get("/pours/book/").status_code == 403
    assert lead.post("/pours/book/", {"book": "1"}).status_code == 403


def test_a_dispatcher_books(office):
    assert signed_in(factories.user(Role.DISPATCHER)).get("/pours/book/").status_code == 200


def test_a_form_from_another_site_is_refused_on_a_page_of_ours(office, pour):
    client = Client(enforce_csrf_checks=True)
    client.force_login(office, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post(f"/pours/{pour.pk}/hold/", form_of(pour, reason="x"))
    assert answer.status_code == 403
    assert "This page was open too long" in text_of(answer)
