"""The API's description: complete, steady, and kept by what the service answers."""

import io
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import HealthCheck, given, settings
from knox.models import AuthToken
from schemathesis import APIOperation
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from pourplan.wsgi import application
from scheduling.roles import Role
from tests import factories
from tests.api.test_access import rows  # noqa: F401 (a fixture)

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]


def describe() -> dict[str, Any]:
    out = io.StringIO()
    call_command("spectacular", "--validate", "--fail-on-warn", "--format", "openapi-json", stdout=out)
    return schemathesis.core.deserialization.deserialize_yaml(out.getvalue())


def test_the_description_is_whole_and_the_same_every_time():
    first = describe()
    assert first == describe()
    assert first["openapi"].startswith("3.")


def test_the_words_of_columns_are_named_for_what_they_are():
    """Two columns called state or kind would otherwise get names that change with every new column."""
    parts = describe()["components"]["schemas"]
    words = {name for name, part in parts.items() if "enum" in part}
    assert words == {
        "Admixture", "AgreementWay", "BalanceStep", "CellsPartedBy", "DateOrder", "DepthKind",
        "EquipmentKind", "EventKind", "FeeDay", "Finish", "ForecastAge", "Language", "LoadStand",
        "MessageKind", "MessageState", "Method", "NoteKind", "OrderState", "PaperKind", "PhaseKind",
        "PourState", "ProposalState", "Reinforcement", "Role", "SawType", "Screed", "Severity",
        "Shape", "SiteHoursKind", "TruckSide", "Units", "WaitCounted", "Weekday",
    }  # fmt: skip


def test_every_operation_is_described_and_says_what_can_go_wrong():
    for path, operations in describe()["paths"].items():
        for method, operation in operations.items():
            assert operation["operationId"], (method, path)
            assert operation.get("description"), (method, path)
            problem = operation["responses"]["default"]["content"]["application/problem+json"]
            assert problem["schema"] == {"$ref": "#/components/schemas/Problem"}


def test_a_quantity_names_the_units_it_takes():
    parts = describe()["components"]["schemas"]
    assert parts["DepthGiven"]["oneOf"][0]["properties"]["unit"]["enum"] == ["ft", "in", "m", "cm", "mm"]
    assert parts["Section"]["properties"]["depth"]["allOf"] == [{"$ref": "#/components/schemas/Quantity"}]


def test_the_examples_of_a_booking_and_a_preview_are_taken(office):
    paths = describe()["paths"]
    factories.mix(pk=1)
    factories.job(pk=1, site=factories.site(pk=1))
    factories.crew(pk=1)
    for path, status in (("pours/", 201), ("pour-previews/", 200)):
        content = paths[f"/api/v1/{path}"]["post"]["requestBody"]["content"]["application/json"]
        for example in content["examples"].values():
            later = {**example["value"], "starts_at": "2026-09-10T07:00"}
            answer = office.post(path, later)
            assert answer.status_code == status, answer.json()


def test_the_description_can_be_read_without_signing_in(client, company):
    assert client.get("/api/schema/").status_code == 200
    assert client.get("/api/docs/").status_code == 200


# --- what is generated from it ----------------------------------------------------------------


KINDS = {
    "pours": "pour", "plans": "plan", "orders": "order", "messages": "message", "sites": "site",
    "jobs": "job", "crews": "crew", "people": "person", "equipment": "equipment", "plants": "plant",
    "mixes": "mix", "site-hours": "site_hours", "absences": "absence", "road-seasons": "road_season",
    "users": "user", "replies": "reply", "week-proposals": "proposal",
}  # fmt: skip


def operations() -> Iterator[APIOperation]:
    described = schemathesis.openapi.from_wsgi("/api/schema/?format=json", application)
    return (found.ok() for found in described.get_all_operations())


def assert_answered_as_described(operation: APIOperation, ids: dict[str, int], token: str) -> None:
    @settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
    @given(case=operation.as_strategy())
    def holds(case: Any) -> None:
        cache.clear()  # where throttles count
        if "id" in case.path_parameters:
            case.path_parameters["id"] = ids[KINDS[case.path.split("/")[3]]]
        answer = case.call(headers={"Authorization": f"Bearer {token}"})
        case.validate_response(answer, checks=CHECKS)

    holds()


@pytest.fixture
def _connection_stays():
    """Called as by a server, Django ends a request by closing the connection that the test still needs."""
    for moment in (request_started, request_finished):
        moment.disconnect(close_old_connections)
    yield
    for moment in (request_started, request_finished):
        moment.connect(close_old_connections)


@pytest.mark.slow
@pytest.mark.usefixtures("_connection_stays")
def test_whatever_fits_the_description_is_answered_as_described(rows):  # noqa: F811
    asked = 0
    for operation in operations():
        token = AuthToken.objects.create(user=factories.user(Role.OFFICE))[1]
        assert_answered_as_described(operation, rows, token)
        asked += 1
    assert asked > 50
