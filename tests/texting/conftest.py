"""A text service that stands in for the real ones."""

import pytest

from tests import smsstub


@pytest.fixture
def desk():
    return smsstub.Desk()


@pytest.fixture
def service(desk, settings):
    """The stand-in's address, with the settings that send texts there by Twilio's client."""
    with smsstub.running(desk) as address:
        settings.TEXT_GATEWAY = "twilio"
        settings.TWILIO_ACCOUNT_SID = "AC" + "0" * 32
        settings.TWILIO_AUTH_TOKEN = desk.token
        settings.TWILIO_FROM = "+19135550100"
        settings.TWILIO_API_URL = address
        yield address
