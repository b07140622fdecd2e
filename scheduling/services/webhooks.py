"""Whether a call from outside is the text service's own."""

from typing import Any

from django.conf import settings

from scheduling.texting.twilio_sms import is_signed


def takes_calls() -> bool:
    """Whether the gateway in use calls back at all."""
    return str(settings.TEXT_GATEWAY) == "twilio"


def is_genuine(*, path: str, given: Any, signature: str) -> bool:
    """Whether the service signed these fields for our public address and this path."""
    return bool(signature) and is_signed(url=f"{settings.PUBLIC_URL}{path}", given=given, signature=signature)
