"""What every test stands on: settings that no shell can change, and a queue that nobody works through."""

import os
from collections.abc import Iterator
from datetime import UTC, datetime

import hypothesis
import pytest
from django.conf import settings
from django.core.cache import cache

from pourplan.celery import app
from tests.weather.server import WeatherService

# A busy machine is no fault of the code. Where a change is judged, the same code always gets the same answer;
# elsewhere each run looks at new examples.
hypothesis.settings.register_profile("pourplan", deadline=None, derandomize=bool(os.environ.get("CI")))
hypothesis.settings.register_profile("quick", deadline=None, max_examples=10)
hypothesis.settings.load_profile("pourplan")

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "live_server"}


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "database: touches rows (given to tests by conftest.py, not by hand)")
    settings.PUBLIC_URL = "http://localhost:8000"
    settings.ALLOWED_HOSTS = ["localhost", "127.0.0.1"]
    settings.TEXT_GATEWAY = "console"
    settings.TEXTS_A_MINUTE = settings.TEXTS_A_PERSON_AN_HOUR = 1000
    settings.WEATHER_PROVIDER = "none"
    settings.WHITENOISE_AUTOREFRESH = True  # else each test's client looks through all static files first
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # Nudges go into this process's memory: no test waits for a broker or leaves work behind for a worker.
    app.conf.update(broker_url="memory://", broker_transport=None, broker_transport_options={})


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what has to hold on PostgreSQL too, before `-m database` picks it out."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        if item.get_closest_marker("django_db") or fixtures & DATABASE_FIXTURES:
            item.add_marker(pytest.mark.database)


@pytest.fixture(autouse=True)
def _no_memory_of_other_tests() -> Iterator[None]:
    """Throttles count in the cache."""
    yield
    cache.clear()


@pytest.fixture
def service() -> Iterator[WeatherService]:
    """A weather service to ask."""
    running = WeatherService()
    yield running
    running.stop()


@pytest.fixture
def other_service() -> Iterator[WeatherService]:
    """One that nobody named, and that must not be asked."""
    running = WeatherService()
    yield running
    running.stop()


@pytest.fixture
def now() -> datetime:
    """Tuesday, seven in the morning in Kansas City."""
    return datetime(2026, 6, 9, 12, 0, tzinfo=UTC)


def address_of(name: str) -> str:
    address = os.environ.get(name)
    if not address:
        pytest.fail(f"{name} is not set: this test needs a real server, which tests/run starts.")
    return address


@pytest.fixture
def postgres_url() -> str:
    """A PostgreSQL server that tests may fill as they like."""
    return address_of("POURPLAN_TEST_POSTGRES_URL")


@pytest.fixture
def redis_url() -> str:
    """A Redis server that tests may fill as they like."""
    return address_of("POURPLAN_TEST_REDIS_URL")
