"""Callers of the API."""

from typing import Any

import pytest
import time_machine
from rest_framework.test import APIClient

from scheduling.models import User
from scheduling.roles import Role
from tests import factories


class Caller(APIClient):
    """A client with short paths, whose crashes come back as answers the way a server gives them."""

    def __init__(self, user: User | None = None) -> None:
        super().__init__(raise_request_exception=False)
        self.user = user
        if user:
            self.force_authenticate(user)

    def generic(self, method: str, path: str, *args: Any, **more: Any) -> Any:
        return super().generic(method, path if path.startswith("/") else f"/api/v1/{path}", *args, **more)


@pytest.fixture(autouse=True)
def _clock():
    """Ten on a Thursday morning in Kansas City."""
    with time_machine.travel(factories.NOW, tick=False):
        yield


@pytest.fixture
def company(db):
    return factories.company()


@pytest.fixture
def office(company) -> Caller:
    return Caller(factories.user(Role.OFFICE))


@pytest.fixture
def dispatcher(company) -> Caller:
    return Caller(factories.user(Role.DISPATCHER))


@pytest.fixture
def lead(company) -> Caller:
    """The lead of a crew."""
    return Caller(factories.crew().lead)


@pytest.fixture
def anonymous(company) -> Caller:
    return Caller()


@pytest.fixture
def slab() -> dict[str, Any]:
    """52 by 38 ft, 5 in thick, falling 2 in with its base."""
    return {
        "length": "52 ft",
        "width": "38 ft",
        "depth": "5 in",
        "depth_kind": "falling_base",
        "fall": {"value": 2, "unit": "in"},
    }


@pytest.fixture
def booking(company, slab) -> dict[str, Any]:
    """What books the slab: 4000 psi with 3/4 in stone and water reducer, by chute, a crew of five."""
    mix = factories.mix(strength_mpa=27.579, aggregate_mm=19.05, admixtures=["water_reducer"])
    return {
        "job": factories.job().pk,
        "mix": mix.pk,
        "crew": factories.crew().pk,
        "crew_size": 5,
        "method": "chute",
        "starts_at": "2026-08-28T07:00",
        "sections": [slab],
    }
