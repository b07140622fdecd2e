"""Texts by Twilio, which also tells what became of each and hands over what people text back."""

import re
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode, urlsplit, urlunsplit

from django.conf import settings
from requests.exceptions import ConnectionError as NoConnection
from requests.exceptions import ConnectTimeout, RequestException
from twilio.base.exceptions import TwilioRestException, TwilioServiceException
from twilio.http.http_client import TwilioHttpClient
from twilio.http.response import Response
from twilio.request_validator import RequestValidator
from twilio.rest import Client
from urllib3.exceptions import ConnectTimeoutError, MaxRetryError, NewConnectionError

from scheduling.texting.handover import Fault, PerhapsSent, TextFailed

RECEIPTS_PATH = "/texts/receipts/"
ANSWER_S = 10.0
LONGEST_WAIT_S = 3600.0
NEEDED = ("TWILIO_ACCOUNT_SID", "TWILIO_AUTH_TOKEN", "TWILIO_FROM")
MESSAGING_SERVICE = re.compile(r"MG[0-9a-fA-F]{32}")

# Twilio's error codes, from its published list.
BAD_NUMBER_CODES = frozenset({21211, 21214, 21217, 21614, 30005, 30006})
OPTED_OUT_CODES = frozenset({21610})

# Answered by something in front of the service, which may have taken the text all the same.
PERHAPS_TAKEN = frozenset({HTTPStatus.BAD_GATEWAY, HTTPStatus.GATEWAY_TIMEOUT})
# The account's own trouble, which no text is to blame for: somebody sets it right and the texts go.
ACCOUNT_TROUBLE = frozenset({HTTPStatus.UNAUTHORIZED, HTTPStatus.PAYMENT_REQUIRED, HTTPStatus.FORBIDDEN})


def fault_of_code(code: int | None) -> Fault | None:
    """What an error code of Twilio's says of the number or the person; None where it says nothing."""
    if code in BAD_NUMBER_CODES:
        return Fault.BAD_NUMBER
    return Fault.OPTED_OUT if code in OPTED_OUT_CODES else None


def is_signed(*, url: str, given: Any, signature: str) -> bool:
    """Whether Twilio signed these fields for this address with our account's own token."""
    return bool(RequestValidator(settings.TWILIO_AUTH_TOKEN).validate(url, given, signature))


class TwilioGateway:
    """Twilio's own client, with a connection of its own for each text.

    A kept connection that the other side has just closed would leave a text perhaps sent.
    """

    @classmethod
    def wrong_settings(cls) -> Iterator[str]:
        for needed in NEEDED:
            if not getattr(settings, needed):
                yield f"TEXT_GATEWAY=twilio needs {needed}."
        base = urlsplit(settings.TWILIO_API_URL)
        if settings.TWILIO_API_URL and (base.scheme not in {"http", "https"} or not base.hostname):
            yield "TWILIO_API_URL must read https://host, or be empty."

    def send(self, *, phone: str, body: str, key: str, text: int, again: int) -> str:
        client = Client(
            settings.TWILIO_ACCOUNT_SID, settings.TWILIO_AUTH_TOKEN, http_client=Caller(idempotency_key=key)
        )
        by_service = MESSAGING_SERVICE.fullmatch(settings.TWILIO_FROM)
        sender = {"messaging_service_sid" if by_service else "from_": settings.TWILIO_FROM}
        receipt = f"{settings.PUBLIC_URL}{RECEIPTS_PATH}?{urlencode({'text': text, 'again': again})}"
        try:
            return str(client.messages.create(to=phone, body=body, status_callback=receipt, **sender).sid)
        except (TwilioRestException, TwilioServiceException) as refused:
            raise refusal(refused) from refused
        except RequestException as fault:
            raise no_answer(fault) from fault


class Caller(TwilioHttpClient):
    """Calls the service, or whatever stands at TWILIO_API_URL, and heeds how long it asks to wait."""

    def __init__(self, *, idempotency_key: str) -> None:
        super().__init__(pool_connections=False)
        self._key = idempotency_key

    def request(
        self, method: str, url: str, *args: Any, headers: dict[str, str] | None = None, **more: Any
    ) -> Response:
        more["timeout"] = ANSWER_S
        headers = {**(headers or {}), "Idempotency-Key": self._key}
        answer = super().request(method, address(url), *args, headers=headers, **more)
        if answer.status_code in (HTTPStatus.TOO_MANY_REQUESTS, HTTPStatus.SERVICE_UNAVAILABLE):
            asked = asked_wait_s(answer.headers or {})
            raise TextFailed(
                f"the text service is busy ({answer.status_code})", fault=Fault.PASSING, wait_s=asked
            )
        return answer


def address(url: str) -> str:
    """The same path at TWILIO_API_URL, where one is set."""
    if not settings.TWILIO_API_URL:
        return url
    base, asked = urlsplit(settings.TWILIO_API_URL), urlsplit(url)
    return urlunsplit((base.scheme, base.netloc, asked.path, asked.query, ""))


def asked_wait_s(headers: Mapping[str, str]) -> float:
    """Seconds of a Retry-After header, within an hour; none told is none asked beyond being busy."""
    told = next((value for name, value in headers.items() if name.lower() == "retry-after"), "")
    return min(float(told), LONGEST_WAIT_S) if told.isascii() and told.isdigit() else 0.0


def refusal(refused: TwilioRestException | TwilioServiceException) -> TextFailed | PerhapsSent:
    """What an answer that is no success says of the text."""
    status, code = int(refused.status), refused.code
    said = f"the text service answered {status}" + (f", error {code}" if code else "")
    if status in PERHAPS_TAKEN:
        return PerhapsSent(said)
    known = fault_of_code(code)
    if known:
        return TextFailed(said, fault=known)
    if status in ACCOUNT_TROUBLE:
        return TextFailed(f"{said}: see to the account", fault=Fault.PASSING)
    passing = status >= HTTPStatus.INTERNAL_SERVER_ERROR
    return TextFailed(said, fault=Fault.PASSING if passing else Fault.LASTING)


def no_answer(fault: RequestException) -> TextFailed | PerhapsSent:
    """Nothing was sent where no connection came about; otherwise the text may have been taken."""
    cause = fault.args[0] if fault.args else None
    reason = cause.reason if isinstance(cause, MaxRetryError) else cause
    never_connected = isinstance(fault, ConnectTimeout) or (
        isinstance(fault, NoConnection) and isinstance(reason, NewConnectionError | ConnectTimeoutError)
    )
    if never_connected:
        return TextFailed("the text service could not be reached", fault=Fault.PASSING)
    return PerhapsSent("the text service did not answer")
