"""Signing in with a token, and what stops who guesses."""

from datetime import timedelta

import pytest
import time_machine
from knox.models import AuthToken

from tests import factories
from tests.api.conftest import Caller

pytestmark = pytest.mark.django_db

PASSWORD = "slab-on-grade-52x38"


@pytest.fixture
def person(company):
    return factories.user(username="dana", password=PASSWORD)


def sign_in(caller: Caller, password: str = PASSWORD, **headers: str):
    return caller.post("tokens/", {"username": "dana", "password": password}, headers=headers)


def test_a_token_opens_the_api(anonymous, person):
    answer = sign_in(anonymous)
    assert answer.status_code == 201
    assert answer.json()["expires_at"] == "2026-09-26T10:00:00-05:00"
    bearer = {"Authorization": f"Bearer {answer.json()['token']}"}
    assert anonymous.get("pours/", headers=bearer).status_code == 200


def test_only_a_hash_of_the_token_is_kept(anonymous, person):
    token = sign_in(anonymous).json()["token"]
    assert token not in str(AuthToken.objects.values_list())


def test_a_token_is_worthless_once_it_is_given_back(anonymous, person):
    bearer = {"Authorization": f"Bearer {sign_in(anonymous).json()['token']}"}
    other = {"Authorization": f"Bearer {sign_in(anonymous).json()['token']}"}
    assert anonymous.delete("tokens/current/", headers=bearer).status_code == 204
    assert anonymous.get("pours/", headers=bearer).status_code == 401
    assert anonymous.get("pours/", headers=other).status_code == 200


def test_a_token_ends_thirty_days_after_its_last_use(anonymous, person):
    bearer = {"Authorization": f"Bearer {sign_in(anonymous).json()['token']}"}
    for days in (20, 40):
        with time_machine.travel(factories.NOW + timedelta(days=days)):
            assert anonymous.get("pours/", headers=bearer).status_code == 200
    with time_machine.travel(factories.NOW + timedelta(days=71)):
        assert anonymous.get("pours/", headers=bearer).status_code == 401


@pytest.mark.parametrize(("name", "password"), [("dana", "wrong"), ("nobody", PASSWORD)])
def test_a_wrong_name_and_a_wrong_password_read_alike(anonymous, person, name, password):
    answer = anonymous.post("tokens/", {"username": name, "password": password})
    assert (answer.status_code, answer.json()["code"]) == (401, "wrong_password")
    assert answer.json()["detail"] == "That name and password do not fit."


def test_somebody_who_has_left_gets_no_token(anonymous, person):
    person.is_active = False
    person.save()
    assert sign_in(anonymous).status_code == 401


@pytest.mark.parametrize("body", [{}, {"username": "dana"}, {"username": 5, "password": PASSWORD}, []])
def test_a_body_without_name_and_password_is_refused(anonymous, person, body):
    assert anonymous.post("tokens/", body).status_code == 400


def test_many_wrong_passwords_lock_the_name_whatever_addresses_are_made_up(anonymous, person):
    """With no proxy in front, X-Forwarded-For is the caller's own invention."""
    answers = [sign_in(anonymous, "wrong", **{"X-Forwarded-For": f"10.0.0.{n}"}) for n in range(20)]
    assert answers[-1].status_code == 429
    assert answers[-1].json()["code"] == "locked_out"
    locked = sign_in(anonymous, **{"X-Forwarded-For": "10.0.1.1"})
    assert (locked.status_code, locked.json()["code"]) == (429, "locked_out")


def test_behind_a_proxy_the_address_it_saw_counts(anonymous, person, settings):
    """The outermost proxy of ours writes last; what stands further left is invented."""
    settings.PROXY_COUNT = 1
    for n in range(20):
        sign_in(anonymous, "wrong", **{"X-Forwarded-For": f"10.0.0.{n}, 203.0.113.7"})
    assert sign_in(anonymous, **{"X-Forwarded-For": "10.0.1.1, 203.0.113.7"}).status_code == 429
    assert sign_in(anonymous, **{"X-Forwarded-For": "203.0.113.7, 198.51.100.4"}).status_code == 201


def test_the_lock_opens_by_itself(anonymous, person):
    for _ in range(20):
        sign_in(anonymous, "wrong")
    with time_machine.travel(factories.NOW + timedelta(minutes=16)):
        assert sign_in(anonymous).status_code == 201


def test_other_names_stay_open(anonymous, person):
    factories.user(username="lou", password=PASSWORD)
    for _ in range(12):
        sign_in(anonymous, "wrong")
    assert anonymous.post("tokens/", {"username": "lou", "password": PASSWORD}).status_code == 201


def test_whoever_tries_many_names_is_slowed_down(anonymous, company):
    answers = [anonymous.post("tokens/", {"username": f"n{n}", "password": "x"}) for n in range(40)]
    assert answers[-1].status_code == 429
    assert answers[-1].json()["code"] == "too_many_requests"
    assert int(answers[-1].headers["Retry-After"]) <= 60
