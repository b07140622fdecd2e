"""Settings that can be read but not worked with, said in a sentence before anything starts."""

from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import CheckMessage, Error
from django.http.request import validate_host

from scheduling.texting.gateways import GATEWAYS, wrong_settings
from scheduling.weather.fetch import FETCHERS
from scheduling.weather.web import WeatherUnavailable, origin_of

SECRET_LENGTH = 32  # our choice: half of what Django itself makes


def settings_make_sense(**_: Any) -> list[CheckMessage]:
    """The check that is registered with Django."""
    return [
        *public_url_can_be_followed(settings.PUBLIC_URL),
        *secret_is_long_enough(settings.SECRET_KEY),
        *gateway_is_known(settings.TEXT_GATEWAY),
        *gateway_has_what_it_needs(settings.TEXT_GATEWAY),
        *provider_is_known(settings.WEATHER_PROVIDER),
        *weather_service_knows_who_asks(settings.WEATHER_PROVIDER, settings.WEATHER_CONTACT),
        *weather_address_can_be_asked("NWS_URL", settings.NWS_URL),
        *weather_address_can_be_asked("OPEN_METEO_URL", settings.OPEN_METEO_URL),
    ]


def public_url_can_be_followed(public_url: str) -> Iterator[CheckMessage]:
    """Texts carry links that begin with this address, and whoever follows one must be let in."""
    address = urlsplit(public_url)
    if address.scheme not in {"http", "https"} or not address.hostname or address.path or address.query:
        yield Error(
            f"PUBLIC_URL must read http://host or https://host, with nothing after it, not {public_url!r}.",
            id="pourplan.E001",
        )
    elif not validate_host(address.hostname, settings.ALLOWED_HOSTS):
        yield Error(
            f"PUBLIC_URL sends people to {address.hostname!r}, which ALLOWED_HOSTS does not name.",
            id="pourplan.E002",
        )


def secret_is_long_enough(secret: str) -> Iterator[CheckMessage]:
    """Sign-ins are signed with it; a short one can be guessed."""
    if len(secret) < SECRET_LENGTH:
        yield Error(f"SECRET_KEY must have at least {SECRET_LENGTH} characters.", id="pourplan.E003")


def gateway_is_known(name: str) -> Iterator[CheckMessage]:
    """Found out now rather than with the first text of the morning."""
    if name not in GATEWAYS:
        yield Error(
            f"TEXT_GATEWAY must be one of {', '.join(sorted(GATEWAYS))}, not {name!r}.", id="pourplan.E004"
        )


def gateway_has_what_it_needs(name: str) -> Iterator[CheckMessage]:
    """Each way out says itself what it lacks; no sentence repeats a value, for some are secret."""
    if name in GATEWAYS:
        yield from (Error(sentence, id="pourplan.E005") for sentence in wrong_settings(name))


def provider_is_known(name: str) -> Iterator[CheckMessage]:
    """With a slip of the pen here no forecast would ever come, and nobody would be told why."""
    known = ["none", *sorted(FETCHERS)]
    if name not in known:
        yield Error(f"WEATHER_PROVIDER must be one of {', '.join(known)}, not {name!r}.", id="pourplan.E010")


def weather_service_knows_who_asks(provider: str, contact: str) -> Iterator[CheckMessage]:
    """The U.S. service refuses whoever does not say how to be reached; the contact goes into a header."""
    if provider == "nws" and not contact:
        yield Error(
            "WEATHER_CONTACT must be a mail address or a page: the U.S. weather service asks who is asking.",
            id="pourplan.E011",
        )
    if not (contact.isascii() and contact.isprintable()):
        yield Error("WEATHER_CONTACT must be plain characters of one line.", id="pourplan.E012")


def weather_address_can_be_asked(name: str, url: str) -> Iterator[CheckMessage]:
    try:
        origin_of(url)
    except WeatherUnavailable:
        yield Error(
            f"{name} must begin with https:// or http:// and a host, not {url!r}.", id="pourplan.E013"
        )
