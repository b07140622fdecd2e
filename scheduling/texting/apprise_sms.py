"""Texts by any SMS service that Apprise knows, through one address that names service, account and sender."""

import logging
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http import HTTPStatus
from urllib.parse import quote
from uuid import uuid4

from apprise import Apprise, NotifyBase
from django.conf import settings

from scheduling.texting.handover import Fault, PerhapsSent, TextFailed

LOGGER = logging.getLogger("apprise")
PLACE = "{phone}"
STATUS = re.compile(r"error=(\d{3})")
PASSING = frozenset(
    {
        HTTPStatus.UNAUTHORIZED,
        HTTPStatus.PAYMENT_REQUIRED,
        HTTPStatus.FORBIDDEN,
        HTTPStatus.TOO_MANY_REQUESTS,
        HTTPStatus.INTERNAL_SERVER_ERROR,
        HTTPStatus.SERVICE_UNAVAILABLE,
    }
)
PERHAPS = frozenset({HTTPStatus.BAD_GATEWAY, HTTPStatus.GATEWAY_TIMEOUT})


def service_for(phone: str) -> NotifyBase | None:
    """The service of the settings, set to text this number; None where the address makes no sense."""
    url = settings.TEXT_APPRISE_URL.replace(PLACE, quote(phone, safe=""))
    service: NotifyBase | None = Apprise.instantiate(url, suppress_exceptions=True)
    return service


class OwnThread(logging.Handler):
    """Keeps what is logged by the thread that made it: others send at the same time."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.told: list[str] = []
        self._thread = threading.get_ident()

    def emit(self, record: logging.LogRecord) -> None:
        if record.thread == self._thread:
            self.told.append(record.getMessage())


@contextmanager
def told_by_this_thread() -> Iterator[list[str]]:
    """What Apprise logs meanwhile."""
    handler = OwnThread()
    LOGGER.addHandler(handler)
    try:
        yield handler.told
    finally:
        LOGGER.removeHandler(handler)


class AppriseGateway:
    """One way only: these services say neither what became of a text nor what was texted back."""

    @classmethod
    def wrong_settings(cls) -> Iterator[str]:
        """The address is tried with a number out of the range kept for stories."""
        if PLACE not in settings.TEXT_APPRISE_URL:
            yield f"TEXT_GATEWAY=apprise needs TEXT_APPRISE_URL, an address of Apprise's with {PLACE} in it."
        elif service_for("+19135550100") is None:
            yield "TEXT_APPRISE_URL is no address that Apprise knows."

    def send(self, *, phone: str, body: str, key: str, text: int, again: int) -> str:
        service = service_for(phone)
        if service is None:
            raise TextFailed(f"{phone} is no number this service can text", fault=Fault.LASTING)
        with told_by_this_thread() as told:
            taken = service.notify(body=body)
        if not taken:
            raise refusal(" ".join(told))
        return f"apprise-{uuid4().hex[:12]}"


def refusal(told: str) -> TextFailed | PerhapsSent:
    """What Apprise's log says of a text that was not taken: it keeps the answer nowhere else."""
    status = STATUS.search(told)
    if status is None or int(status[1]) in PERHAPS:
        return PerhapsSent("the text service did not say whether it took the text")
    lasting = int(status[1]) not in PASSING
    return TextFailed(
        f"the text service answered {status[1]}", fault=Fault.LASTING if lasting else Fault.PASSING
    )
