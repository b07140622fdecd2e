"""Whatever goes wrong is told in one shape, and nothing a caller sends makes the service stumble."""

from unittest import mock

import pytest

from scheduling.services import booking as booking_service
from tests import factories

pytestmark = pytest.mark.django_db

SHAPE = {"type", "title", "status", "detail", "code", "errors"}


def assert_problem(answer, status: int, code: str = "") -> dict:
    assert answer.status_code == status, answer.content
    assert answer.headers["Content-Type"] == "application/problem+json"
    problem = answer.json()
    assert problem.keys() >= SHAPE
    assert problem["status"] == status
    assert not code or problem["code"] == code
    return problem


def test_no_such_address(office):
    assert_problem(office.get("nowhere/"), 404, "not_found")


def test_no_such_row(office):
    assert_problem(office.get("pours/99/"), 404, "not_found")


def test_an_address_that_is_missing_and_a_row_that_is_read_alike(office):
    assert office.get("pours/abc/").json() == office.get("pours/99/").json()


def test_a_method_that_is_not_taken(office):
    answer = office.delete("conflicts/")
    assert_problem(answer, 405, "method_not_allowed")
    assert "GET" in answer.headers["Allow"]


def test_options_tell_nothing(office):
    assert_problem(office.options("pours/"), 405)


def test_a_body_that_is_no_json(office):
    answer = office.generic("POST", "jobs/", "{", content_type="application/json")
    assert_problem(answer, 400, "parse_error")


@pytest.mark.parametrize("body", ["[]", "7", "null", '"text"', "true"])
def test_a_body_that_is_no_object(office, body):
    assert_problem(office.generic("POST", "jobs/", body, content_type="application/json"), 400, "invalid")


def test_a_body_of_another_kind(office):
    answer = office.generic("POST", "jobs/", "name=A", content_type="application/x-www-form-urlencoded")
    assert_problem(answer, 415, "unsupported_media_type")


def test_a_form_in_a_browser_is_not_rendered(office):
    answer = office.get("crews/", headers={"Accept": "text/html"})
    assert answer.status_code == 406
    assert_problem(answer, 406)


def test_a_stranger_is_told_how_to_sign_in(anonymous):
    answer = anonymous.get("pours/")
    assert_problem(answer, 401, "not_authenticated")
    assert answer.headers["WWW-Authenticate"] == "Bearer"


def test_a_host_that_is_not_ours(office):
    answer = office.get("pours/", headers={"Host": "attacker.example"})
    assert_problem(answer, 400, "bad_request")
    assert b"attacker" not in answer.content


def test_a_crash_says_nothing_of_its_cause(office, booking):
    with mock.patch.object(booking_service, "book_pour", side_effect=RuntimeError("password 123")):
        answer = office.post("pours/", booking)
    assert_problem(answer, 500, "server_error")
    assert b"123" not in answer.content


def test_several_faults_are_told_at_once_each_with_its_field(office):
    problem = assert_problem(office.post("jobs/", {"name": "", "site": 77, "notes": 5}), 400, "invalid")
    assert [error["field"] for error in problem["errors"]] == ["name", "site", "notes"]
    assert problem["detail"] == "3 things are wrong with the request: see “errors”."


def test_a_slip_of_the_pen_is_told_beside_what_else_is_wrong(office):
    problem = assert_problem(office.post("jobs/", {"nam": "A", "site": 77}), 400)
    assert {error["field"] for error in problem["errors"]} == {"nam", "name", "site"}
    assert problem["errors"][0]["message"] == "There is no such field here. Did you mean “name”?"


def test_one_fault_is_told_with_its_field(office, booking):
    problem = assert_problem(office.post("pours/", {**booking, "crew_size": 0}), 400)
    assert problem["detail"].startswith("crew_size: ")


def test_an_address_without_its_slash_loses_no_body(office):
    problem = assert_problem(office.post("jobs", {"name": "A"}), 404)
    assert problem["detail"] == "Addresses here end with a slash."
    assert office.get("jobs").headers["Location"] == "/api/v1/jobs/"


@pytest.mark.parametrize("name", ["crew_sise", "state", "id", "plan", "_x"])
def test_a_field_that_cannot_be_set_is_told(office, booking, name):
    problem = assert_problem(office.post("pours/", {**booking, name: 1}), 400)
    assert problem["errors"][0]["field"] == name


# --- what PostgreSQL, JSON or Unicode cannot carry --------------------------------------------


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("GET", "pours/?state=%00", ""),
        ("GET", "pours/?%00=1", ""),
        ("GET", "pours/%00/", ""),
        ("POST", "jobs/", '{"name": "a\\u0000b", "site": 1}'),
        ("POST", "jobs/", '{"a\\u0000b": 1}'),
        ("POST", "jobs/", '{"name": "a\x00b"}'),
    ],
)
def test_nul_is_refused_wherever_it_stands(office, method, path, body):
    assert_problem(office.generic(method, path, body, content_type="application/json"), 400)


@pytest.mark.parametrize(
    "body",
    [
        '{"name": "\\ud800", "site": 1}',
        '{"\\ud800": 1}',
        '{"name": "A", "site": "\\ud800"}',
        '{"name": "A", "address": "B", "road_limit": "5 \\ud800"}',
    ],
)
def test_half_a_character_is_refused(office, body):
    path = "sites/" if "address" in body else "jobs/"
    assert_problem(office.generic("POST", path, body, content_type="application/json"), 400)


def test_half_a_character_for_a_word_is_refused(office):
    body = '{"name": "Saw 1", "kind": "\\ud800"}'
    problem = assert_problem(office.generic("POST", "equipment/", body, content_type="application/json"), 400)
    assert problem["errors"][0]["field"] == "kind"


HUGE = [10**30, 2**63, 10**400]


@pytest.mark.parametrize("number", HUGE)
@pytest.mark.parametrize("path", ["pours/{}/", "sites/{}/", "pours/{}/events/", "plans/{}/", "orders/{}/"])
def test_a_huge_id_is_not_found(office, path, number):
    assert_problem(office.get(path.format(number)), 404)


@pytest.mark.parametrize("digits", ["١", "1_0", "+1", "-1", "1.0", "0x1", "1e0"])
def test_an_id_of_other_digits_is_not_found(office, digits):
    factories.pour()
    assert_problem(office.get(f"pours/{digits}/"), 404)


@pytest.mark.parametrize("number", [*HUGE, 2**31, 61, 0, -1])
def test_a_crew_size_that_no_crew_has_is_refused(office, booking, number):
    problem = assert_problem(office.post("pours/", {**booking, "crew_size": number}), 400)
    assert problem["errors"][0]["field"] == "crew_size"


@pytest.mark.parametrize("given", [True, "5", "1_0", "٥", 5.5, None, [], {}, "NaN"])
def test_a_whole_number_is_a_number_and_whole(office, booking, given):
    problem = assert_problem(office.post("pours/", {**booking, "crew_size": given}), 400)
    assert problem["errors"][0]["field"] == "crew_size"


@pytest.mark.parametrize("given", [True, "1", "1_0", "٣", [], 10**400])
def test_a_number_is_a_number(office, given):
    problem = assert_problem(office.post("sites/", {"name": "A", "address": "B", "latitude": given}), 400)
    assert problem["errors"][0]["field"] == "latitude"


@pytest.mark.parametrize("given", ["yes", "true", 1, 0, None, "on"])
def test_a_yes_is_a_true(office, given):
    problem = assert_problem(office.post("sites/", {"name": "A", "address": "B", "power_lines": given}), 400)
    assert problem["errors"][0]["field"] == "power_lines"


@pytest.mark.parametrize("given", [True, "1", 1.0, 10**30, 2**63, -1, [], {}])
def test_a_reference_is_an_id(office, given):
    problem = assert_problem(office.post("jobs/", {"name": "A", "site": given}), 400)
    assert problem["errors"][0]["field"] == "site"


@pytest.mark.parametrize("page", ["0", "-1", "x", "9" * 30, "٢"])
def test_a_page_that_is_not_there_is_not_found(office, page):
    assert_problem(office.get("pours/", {"page": page}), 404)


def test_a_token_that_is_no_text_is_refused(anonymous):
    answer = anonymous.get("pours/", headers={"Authorization": "Bearer \xff\xfe"})
    assert_problem(answer, 401)
