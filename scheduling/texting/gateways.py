"""The ways a text leaves the house, by the name the settings give them."""

from collections.abc import Iterator

from django.utils.module_loading import import_string

from scheduling.texting.handover import Gateway

# By path, so that only the client of the one in use is loaded.
GATEWAYS = {
    "console": "scheduling.texting.console.ConsoleGateway",
    "apprise": "scheduling.texting.apprise_sms.AppriseGateway",
    "twilio": "scheduling.texting.twilio_sms.TwilioGateway",
}


def gateway_named(name: str) -> Gateway:
    """A gateway by the name the settings give it."""
    if name not in GATEWAYS:
        raise ValueError(f"No text gateway is called {name!r}; there is: {', '.join(sorted(GATEWAYS))}.")
    return _kind(name)()


def wrong_settings(name: str) -> Iterator[str]:
    """What keeps this gateway from working, a sentence each."""
    return _kind(name).wrong_settings()


def _kind(name: str) -> type[Gateway]:
    kind: type[Gateway] = import_string(GATEWAYS[name])
    return kind
