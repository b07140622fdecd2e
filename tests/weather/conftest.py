"""A weather service to ask."""

from collections.abc import Iterator

import pytest

from tests.weather.server import WeatherService


@pytest.fixture
def service() -> Iterator[WeatherService]:
    running = WeatherService()
    yield running
    running.stop()


@pytest.fixture
def other_service() -> Iterator[WeatherService]:
    """One that nobody named, and that must not be asked."""
    running = WeatherService()
    yield running
    running.stop()
