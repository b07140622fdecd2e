"""Whose request it is, when proxies stand in front."""

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The address our outermost proxy saw; what a caller wrote into the header further left is ignored."""
    direct = request.META.get("REMOTE_ADDR", "")
    seen = [hop.strip() for hop in request.META.get("HTTP_X_FORWARDED_FOR", "").split(",") if hop.strip()]
    if settings.PROXY_COUNT == 0 or not seen:
        return direct
    return seen[-min(settings.PROXY_COUNT, len(seen))]
