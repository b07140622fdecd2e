"""A company whose weather comes from a service on this machine."""

from datetime import timedelta

import pytest

from tests import factories
from tests.factories import NOW
from tests.weather.server import Reply, grid, hourly, points

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
POINTS, GRID, HOURLY = "/points/38.88,-94.82", "/gridpoints/ABC/1,2", "/gridpoints/ABC/1,2/forecast/hourly"


@pytest.fixture
def weather_chosen(settings, service):
    factories.company()
    settings.WEATHER_PROVIDER = "nws"
    settings.WEATHER_CONTACT = "office@kaw.example"
    settings.NWS_URL = settings.OPEN_METEO_URL = service.url
    settings.WEATHER_TIMEOUT_S = 1


def answers(service, now=NOW, air_c=20.0, headers=None, **told):
    service.answers(POINTS, Reply(points(service.url)))
    service.answers(GRID, Reply(grid(now, air_c=air_c, **told), headers=headers or {}))
    service.answers(HOURLY, Reply(hourly(now), headers=headers or {}))


def fails(service, reply=None):
    for path in (POINTS, GRID, HOURLY):
        service.answers(path, reply or Reply("", 403))


def planned(**columns):
    pour = factories.pour(**columns)
    factories.plan(pour)
    return pour


def codes(pour):
    pour.refresh_from_db()
    return {finding["code"] for finding in pour.plan.result["findings"]}
