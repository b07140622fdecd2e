import pytest
from django.test import Client

from scheduling.roles import Role
from tests import factories
from tests.pages.conftest import signed_in
from tests.pages.reading import html_of, text_of

PASSWORD = "wet-slab-at-dawn"


@pytest.fixture
def guest(db: None) -> Client:
    factories.user(username="maren", password=PASSWORD)
    return Client()


def sign_in(guest: Client, next_page: str = "", password: str = PASSWORD):
    return guest.post("/sign-in/", {"username": "maren", "password": password, "next": next_page})


def test_signing_in_leads_to_the_page_asked_for(guest):
    assert sign_in(guest, "/week/?day=2026-09-03").headers["Location"] == "/week/?day=2026-09-03"


# Forms of an address that browsers follow to another site; from bug reports of other services.
@pytest.mark.parametrize(
    "elsewhere",
    [
        "//evil.example", "///evil.example", "////evil.example", "https:evil.example", "https://evil.example",
        "\\\\evil.example", "/\\evil.example", "javascript:alert(1)", "\thttps://evil.example", "http:///x.y",
    ],
)  # fmt: skip
def test_signing_in_never_leads_to_another_site(guest, elsewhere):
    assert sign_in(guest, elsewhere).headers["Location"] == "/"


def test_a_wrong_password_keeps_the_name_and_does_not_say_which_was_wrong(guest):
    wrong = sign_in(guest, password="no")
    unknown = guest.post("/sign-in/", {"username": "nobody", "password": "no"})
    assert 'value="maren"' in html_of(wrong)
    for answer in (wrong, unknown):
        assert "That name and password do not belong together." in text_of(answer)


def test_the_next_page_is_kept_over_a_wrong_password(guest):
    assert 'name="next" value="/messages/"' in html_of(sign_in(guest, "/messages/", password="no"))


def test_after_too_many_tries_even_the_right_password_is_refused_on_a_page_of_ours(guest):
    for _ in range(8):
        sign_in(guest, password="no")
    answer = sign_in(guest)
    assert answer.status_code == 429
    assert "Too many tries" in text_of(answer)


def test_signing_out_takes_a_button_and_ends_the_session(guest):
    sign_in(guest)
    assert guest.get("/sign-out/").status_code == 405
    assert guest.post("/sign-out/").headers["Location"] == "/sign-in/"
    assert guest.get("/").headers["Location"] == "/sign-in/?next=/"


def test_who_is_signed_in_is_not_asked_again(page):
    assert page.get("/sign-in/").headers["Location"] == "/"


def test_the_records_are_linked_for_staff_of_the_office_alone(page):
    assert "Company records" in text_of(page.get("/"))
    dispatcher = signed_in(factories.user(Role.DISPATCHER, is_staff=True))
    assert "Company records" not in text_of(dispatcher.get("/"))
