"""Who may do what at this door: every address against everybody who might knock."""

import re

import pytest
from django.db import transaction
from django.urls import get_resolver
from rest_framework.test import APIClient

from scheduling.roles import Role
from tests import factories
from tests.api.conftest import Caller

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

SITE = {"name": "New", "address": "1 New St"}
MIX = {"code": "new", "strength": "4000 psi", "aggregate": "3/4 in"}
VERSION = {"version": 1}

# Method, address, body; then what the office, a dispatcher, the pour's own crew lead and another crew's lead
# are answered. Nobody else gets anything but 401. "{x}" stands for the id of a row of that kind.
MATRIX: list[tuple[str, str, dict, int, int, int, int]] = [
    ("GET", "pours/", {}, 200, 200, 200, 200),
    ("POST", "pours/", {}, 400, 400, 403, 403),
    ("GET", "pours/{pour}/", {}, 200, 200, 200, 404),
    ("PATCH", "pours/{pour}/", VERSION, 200, 200, 403, 403),
    ("DELETE", "pours/{pour}/", {}, 405, 405, 403, 403),
    ("POST", "pours/{pour}/move/", {**VERSION, "starts_at": "2026-08-28T09:00"}, 200, 200, 403, 403),
    ("POST", "pours/{pour}/hold/", VERSION, 200, 200, 403, 403),
    ("POST", "pours/{pour}/release/", VERSION, 400, 400, 403, 403),
    ("POST", "pours/{pour}/cancel/", VERSION, 200, 200, 403, 403),
    ("POST", "pours/{pour}/ask-paper/", {"kind": "inspection"}, 200, 200, 403, 403),
    ("POST", "pours/{pour}/pass-paper/", {"kind": "forms", "passed_by": "Lee"}, 200, 200, 403, 403),
    ("POST", "pours/{pour}/drop-paper/", {"kind": "forms"}, 200, 200, 403, 403),
    ("POST", "pours/{pour}/plan/", VERSION, 200, 200, 403, 403),
    ("GET", "pours/{pour}/plans/", {}, 200, 200, 200, 404),
    ("GET", "pours/{pour}/starts/", {}, 200, 200, 200, 404),
    ("GET", "pours/{pour}/standing/", {}, 200, 200, 200, 404),
    ("GET", "pours/{pour}/notes/", {}, 200, 200, 200, 404),
    ("POST", "pours/{pour}/notes/", {}, 400, 400, 400, 404),
    ("POST", "pours/{pour}/notes/{note}/undo/", {}, 200, 200, 200, 404),
    ("GET", "pours/{pour}/events/", {}, 200, 200, 200, 404),
    ("GET", "plans/{plan}/", {}, 200, 200, 200, 404),
    ("POST", "pour-previews/", {}, 400, 400, 403, 403),
    ("GET", "orders/", {}, 200, 200, 200, 200),
    ("GET", "orders/{order}/", {}, 200, 200, 200, 404),
    ("POST", "orders/{order}/call-in/", {}, 200, 200, 403, 403),
    ("POST", "orders/{order}/confirm/", {}, 200, 200, 403, 403),
    ("GET", "conflicts/?from=2026-08-24&to=2026-08-30", {}, 200, 200, 403, 403),
    ("GET", "conflicts/cures/?key=people_short:place:1.1", {}, 400, 400, 403, 403),
    ("GET", "week-proposals/", {}, 200, 200, 403, 403),
    ("POST", "week-proposals/", {"day": "2026-08-28"}, 202, 202, 403, 403),
    ("GET", "week-proposals/{proposal}/", {}, 200, 200, 403, 403),
    ("POST", "week-proposals/{proposal}/stop/", {}, 400, 400, 403, 403),
    ("POST", "week-proposals/{proposal}/accept/", {}, 400, 400, 403, 403),
    ("GET", "messages/", {}, 200, 200, 200, 200),
    ("GET", "messages/{message}/", {}, 200, 200, 200, 404),
    ("POST", "messages/{message}/arrived/", {}, 400, 400, 403, 403),
    ("POST", "messages/{message}/send-again/", {}, 400, 400, 403, 403),
    ("GET", "morning-drafts/?day=2026-08-28", {}, 200, 200, 200, 200),
    ("GET", "own-language/", {}, 200, 200, 200, 200),
    ("PUT", "own-language/", {"language": "es"}, 200, 200, 200, 200),
    ("POST", "users/{user}/language/", {"language": "es"}, 200, 403, 403, 403),
    ("GET", "pour-sheet/?first=2026-08-24&last=2026-08-30", {}, 200, 200, 200, 200),
    ("POST", "pour-sheet/preview/", {"text": ""}, 400, 400, 403, 403),
    ("POST", "pour-sheet/import/", {"text": ""}, 400, 400, 403, 403),
    ("GET", "company/", {}, 200, 200, 403, 403),
    ("PATCH", "company/", {**VERSION, "age_limit": "75 min"}, 200, 403, 403, 403),
    ("GET", "on-call/", {}, 200, 200, 403, 403),
    ("GET", "replies/", {}, 200, 200, 403, 403),
    ("GET", "replies/{reply}/", {}, 200, 200, 403, 403),
    ("POST", "replies/{reply}/seen/", {}, 200, 200, 403, 403),
    ("POST", "users/{user}/texts-agreed/", {"way": "on_paper"}, 200, 403, 403, 403),
    ("POST", "users/{user}/texts-stopped/", {}, 200, 403, 403, 403),
    ("GET", "sites/", {}, 200, 200, 403, 403),
    ("POST", "sites/", SITE, 201, 201, 403, 403),
    ("GET", "sites/{site}/", {}, 200, 200, 403, 403),
    ("PATCH", "sites/{site}/", {"name": "B"}, 200, 200, 403, 403),
    ("DELETE", "sites/{site}/", {}, 409, 409, 403, 403),
    ("GET", "sites/{site}/forecasts/", {}, 200, 200, 403, 403),
    ("POST", "sites/{site}/forecasts/", {"text": ""}, 400, 400, 403, 403),
    ("GET", "sites/{site}/weather/", {}, 200, 200, 403, 403),
    ("POST", "sites/{site}/weather/", {}, 400, 400, 403, 403),
    ("GET", "site-hours/", {}, 200, 200, 403, 403),
    ("POST", "site-hours/", {}, 400, 400, 403, 403),
    ("GET", "site-hours/{site_hours}/", {}, 200, 200, 403, 403),
    ("PATCH", "site-hours/{site_hours}/", {"on_holidays": True}, 200, 200, 403, 403),
    ("DELETE", "site-hours/{site_hours}/", {}, 204, 204, 403, 403),
    ("GET", "absences/", {}, 200, 200, 403, 403),
    ("POST", "absences/", {}, 400, 400, 403, 403),
    ("GET", "absences/{absence}/", {}, 200, 200, 403, 403),
    ("PATCH", "absences/{absence}/", {"reason": "B"}, 200, 200, 403, 403),
    ("DELETE", "absences/{absence}/", {}, 204, 204, 403, 403),
    ("GET", "road-seasons/", {}, 200, 200, 403, 403),
    ("POST", "road-seasons/", {}, 400, 400, 403, 403),
    ("GET", "road-seasons/{road_season}/", {}, 200, 200, 403, 403),
    ("PATCH", "road-seasons/{road_season}/", {"limit": "20 t"}, 200, 200, 403, 403),
    ("DELETE", "road-seasons/{road_season}/", {}, 204, 204, 403, 403),
    ("GET", "jobs/", {}, 200, 200, 403, 403),
    ("POST", "jobs/", {"name": "B"}, 400, 400, 403, 403),
    ("GET", "jobs/{job}/", {}, 200, 200, 403, 403),
    ("PATCH", "jobs/{job}/", {"name": "B"}, 200, 200, 403, 403),
    ("DELETE", "jobs/{job}/", {}, 409, 409, 403, 403),
    ("GET", "crews/", {}, 200, 200, 403, 403),
    ("POST", "crews/", {"name": "B"}, 201, 403, 403, 403),
    ("GET", "crews/{crew}/", {}, 200, 200, 403, 403),
    ("PATCH", "crews/{crew}/", {"name": "B"}, 200, 403, 403, 403),
    ("DELETE", "crews/{crew}/", {}, 409, 403, 403, 403),
    ("GET", "people/", {}, 200, 200, 403, 403),
    ("POST", "people/", {"name": "B"}, 201, 403, 403, 403),
    ("GET", "people/{person}/", {}, 200, 200, 403, 403),
    ("PATCH", "people/{person}/", {"name": "B"}, 200, 403, 403, 403),
    ("DELETE", "people/{person}/", {}, 204, 403, 403, 403),
    ("GET", "equipment/", {}, 200, 200, 403, 403),
    ("POST", "equipment/", {"name": "B", "kind": "saw"}, 201, 403, 403, 403),
    ("GET", "equipment/{equipment}/", {}, 200, 200, 403, 403),
    ("PATCH", "equipment/{equipment}/", {"name": "B"}, 200, 403, 403, 403),
    ("DELETE", "equipment/{equipment}/", {}, 204, 403, 403, 403),
    ("GET", "crews/{crew}/rates/", {}, 200, 200, 403, 403),
    ("POST", "crews/{crew}/rates/reset/", {"method": "chute"}, 201, 201, 403, 403),
    ("GET", "plants/", {}, 200, 200, 403, 403),
    ("POST", "plants/", {"name": "B"}, 201, 403, 403, 403),
    ("GET", "plants/{plant}/", {}, 200, 200, 403, 403),
    ("PATCH", "plants/{plant}/", {"name": "B"}, 200, 403, 403, 403),
    ("DELETE", "plants/{plant}/", {}, 409, 403, 403, 403),
    ("GET", "mixes/", {}, 200, 200, 403, 403),
    ("POST", "mixes/", MIX, 400, 403, 403, 403),
    ("GET", "mixes/{mix}/", {}, 200, 200, 403, 403),
    ("PATCH", "mixes/{mix}/", {"code": "B"}, 200, 403, 403, 403),
    ("DELETE", "mixes/{mix}/", {}, 409, 403, 403, 403),
    ("GET", "users/", {}, 200, 403, 403, 403),
    ("GET", "users/{user}/", {}, 200, 403, 403, 403),
    ("DELETE", "tokens/current/", {}, 204, 204, 204, 204),
]
WHO = ("office", "dispatcher", "own lead", "other lead")


@pytest.fixture
def rows(company) -> dict[str, int]:
    """One of everything, about one pour, and the people who knock."""
    crew = factories.crew()
    pour = factories.pour(crew=crew)
    plan = factories.plan(pour)
    message = factories.message(recipient=crew.lead)
    note = factories.site_note(pour)
    factories.paper(pour, kind="forms", passed_at=factories.NOW, passed_by="Lee")
    return {
        "pour": pour.pk,
        "plan": plan.pk,
        "note": note.pk,
        "order": pour.orders.get().pk,
        "message": message.pk,
        "proposal": factories.proposal().pk,
        "reply": factories.reply(person=crew.lead).pk,
        "site": pour.job.site_id,
        "site_hours": factories.site_hours(pour.job.site).pk,
        "absence": factories.absence(crew=crew).pk,
        "road_season": factories.road_season(site=pour.job.site).pk,
        "job": pour.job_id,
        "crew": crew.pk,
        "person": crew.workers.first().pk,
        "equipment": factories.equipment(crew=crew).pk,
        "plant": pour.plant_id,
        "mix": pour.mix_id,
        "user": crew.lead_id,
    }


@pytest.fixture
def people(rows) -> dict[str, Caller]:
    own = factories.User.objects.get(pk=rows["user"])
    others = (factories.user(Role.OFFICE), factories.user(Role.DISPATCHER), own, factories.crew().lead)
    return {who: Caller(user) for who, user in zip(WHO, others, strict=True)}


def knock(caller: APIClient, method: str, path: str, body: dict):
    more = {} if method == "GET" else {"data": body}
    return getattr(caller, method.lower())(path, **more)


def status_of(caller: APIClient, method: str, path: str, body: dict) -> int:
    """What a knock is answered; what it did is taken back, so that the next one finds the same rows."""
    with transaction.atomic():
        answer = knock(caller, method, path, body)
        transaction.set_rollback(True)
    return answer.status_code


@pytest.mark.parametrize("row", MATRIX, ids=lambda row: f"{row[0]} {row[1]}")
def test_everybody_gets_what_their_role_includes_and_nobody_else_anything(rows, people, anonymous, row):
    method, path, body, *expected = row
    asked = method, path.format(**rows), body
    answers = {who: status_of(caller, *asked) for who, caller in people.items()}
    assert answers == dict(zip(WHO, expected, strict=True))
    assert status_of(anonymous, *asked) == 401


@pytest.mark.parametrize("method", ["GET", "PATCH", "POST", "DELETE"])
def test_somebody_who_has_left_gets_nothing(rows, method):
    gone = factories.user(Role.OFFICE, is_active=False)
    assert knock(Caller(gone), method, f"pours/{rows['pour']}/", {}).status_code == 403


def test_the_matrix_names_every_address():
    asked = {re.sub(r"\?.*", "", re.sub(r"\{\w+\}", "{}", path)) for _, path, *_ in MATRIX}
    door = next(p for p in get_resolver().url_patterns if str(p.pattern) == "api/v1/")
    there = {re.sub(r"<[^>]+>", "{}", path) for path in paths_under(door)}
    assert there - asked == {"tokens/"}


def paths_under(resolver, prefix: str = "") -> list[str]:
    found = []
    for pattern in resolver.url_patterns:
        if hasattr(pattern, "url_patterns"):
            found += paths_under(pattern, prefix + str(pattern.pattern))
        else:
            found.append(prefix + str(pattern.pattern))
    return found


# --- ids tell nothing -------------------------------------------------------------------------

NESTED = [
    "pours/{}/",
    "pours/{}/plans/",
    "pours/{}/starts/",
    "pours/{}/events/",
    "plans/{}/",
    "orders/{}/",
    "messages/{}/",
]


@pytest.mark.parametrize("path", NESTED)
def test_a_row_of_others_and_one_that_is_not_there_read_alike(rows, people, path):
    kind = {"pours": "pour", "plans": "plan", "orders": "order", "messages": "message"}[path.split("/")[0]]
    foreign = people["other lead"].get(path.format(rows[kind]))
    missing = people["other lead"].get(path.format(987654))
    assert foreign.status_code == missing.status_code == 404
    assert foreign.content == missing.content


@pytest.mark.parametrize("method", ["PATCH", "DELETE", "POST"])
@pytest.mark.parametrize("path", ["pours/{}/", "pours/{}/hold/", "orders/{}/confirm/", "sites/{}/"])
def test_what_may_not_be_changed_reads_alike_whether_it_is_there(rows, people, path, method):
    kind = {"pours": "pour", "orders": "order", "sites": "site"}[path.split("/")[0]]
    foreign = knock(people["other lead"], method, path.format(rows[kind]), {})
    missing = knock(people["other lead"], method, path.format(987654), {})
    assert foreign.status_code == missing.status_code == 403
    assert foreign.content == missing.content


def test_an_id_that_is_not_there_is_told_as_not_found(office, booking):
    answer = office.post("pours/", {**booking, "crew": 987654})
    assert answer.json()["errors"] == [{"field": "crew", "code": "does_not_exist", "message": "Not found."}]


def test_a_filter_by_a_crew_of_others_finds_as_little_as_by_none(rows, people):
    foreign = people["other lead"].get("pours/", {"crew": rows["crew"]})
    missing = people["other lead"].get("pours/", {"crew": 987654})
    assert foreign.status_code == missing.status_code == 200
    assert foreign.content == missing.content


def test_a_session_may_read_and_needs_the_csrf_token_to_change(company):
    browser = Caller()
    browser.handler.enforce_csrf_checks = True
    browser.force_login(factories.user(Role.OFFICE), backend="django.contrib.auth.backends.ModelBackend")
    assert browser.get("sites/").status_code == 200
    answer = browser.post("sites/", SITE)
    assert answer.status_code == 403
    assert "CSRF" in answer.json()["detail"]
    browser.cookies["csrftoken"] = "a" * 32
    assert browser.post("sites/", SITE, headers={"X-CSRFToken": "a" * 32}).status_code == 201
