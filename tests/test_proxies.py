"""Whose request it is behind proxies, and that invented headers do not get a guesser further."""

import pytest
from django.test import RequestFactory

from pourplan.proxies import client_address
from scheduling.models import User

PASSWORD = "a long enough one"


@pytest.mark.parametrize(
    ("proxies", "header", "address"),
    [
        (0, "", "10.0.0.9"),
        (0, "203.0.113.7", "10.0.0.9"),
        (1, "203.0.113.7", "203.0.113.7"),
        (1, "198.51.100.1, 203.0.113.7", "203.0.113.7"),
        (2, "198.51.100.1, 203.0.113.7, 10.0.0.2", "203.0.113.7"),
        (2, "203.0.113.7", "203.0.113.7"),
        (1, "", "10.0.0.9"),
        (1, " , ", "10.0.0.9"),
    ],
)
def test_only_what_our_own_proxies_saw_is_believed(settings, proxies, header, address):
    settings.PROXY_COUNT = proxies
    request = RequestFactory().get("/", REMOTE_ADDR="10.0.0.9", HTTP_X_FORWARDED_FOR=header)
    assert client_address(request) == address


@pytest.fixture
def dispatcher(db):
    return User.objects.create_user("dee", password=PASSWORD)


def sign_in(client, address: str, password: str, forwarded: str = "") -> int:
    fields = {"username": "dee", "password": password}
    headers = {"REMOTE_ADDR": address, "HTTP_X_FORWARDED_FOR": forwarded}
    return client.post("/admin/login/", fields, **headers).status_code


@pytest.mark.parametrize(
    ("proxies", "forged"),
    [(0, "198.51.100.{n}"), (1, "198.51.100.{n}, 203.0.113.7")],
    ids=["direct", "behind one"],
)
def test_a_new_invented_header_with_every_guess_still_locks_the_account(
    client, dispatcher, settings, proxies, forged
):
    settings.PROXY_COUNT = proxies
    answers = [sign_in(client, "203.0.113.7", "guess", forged.format(n=n)) for n in range(20)]
    assert answers[-1] == 429
    assert sign_in(client, "203.0.113.7", PASSWORD, forged.format(n=99)) == 429


def test_the_person_guessed_at_still_gets_in_from_elsewhere(client, dispatcher):
    for _ in range(20):
        sign_in(client, "203.0.113.7", "guess")
    assert sign_in(client, "192.0.2.1", PASSWORD) != 429
