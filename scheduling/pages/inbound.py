"""Where the text service calls: what became of a text, what people text back. It signs; nobody signs in."""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from http import HTTPStatus

from axes.helpers import get_client_ip_address
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST
from twilio.twiml.messaging_response import MessagingResponse

from scheduling.services import webhooks
from scheduling.services.inbox import take_in
from scheduling.services.receipts import note_receipt

MOST_BYTES = 16_384
# Unsigned calls from one address within so many seconds; then they are not even looked at (our choice).
MOST_UNSIGNED, WITHIN_S = 20, 60

View = Callable[[HttpRequest], HttpResponse]


def signed(view: View) -> View:
    """Let in what the text service signed, of a sensible size; strangers soon get no answer worth having."""

    @csrf_exempt
    @require_POST
    @wraps(view)
    def guarded(request: HttpRequest) -> HttpResponse:
        if not webhooks.takes_calls():
            return HttpResponse(status=HTTPStatus.NOT_FOUND)
        tally = f"unsigned-calls-{get_client_ip_address(request)}"
        if cache.get(tally, 0) >= MOST_UNSIGNED:
            return HttpResponse(status=HTTPStatus.TOO_MANY_REQUESTS)
        if int(request.META.get("CONTENT_LENGTH") or 0) > MOST_BYTES:
            return HttpResponse(status=HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
        signature = request.headers.get("X-Twilio-Signature", "")
        if not webhooks.is_genuine(path=request.get_full_path(), given=request.POST, signature=signature):
            count(tally)
            return HttpResponse(status=HTTPStatus.FORBIDDEN)
        return view(request)

    return guarded


def count(tally: str, within_s: int = WITHIN_S) -> None:
    """One more; a tally that ran out just now begins anew with the next."""
    cache.add(tally, 0, within_s)
    with suppress(ValueError):
        cache.incr(tally)


def number(given: str) -> int | None:
    """A row's or error's number; None where there is none or it is no number."""
    return int(given) if given.isascii() and given.isdigit() and len(given) < 16 else None


@signed
def receipts(request: HttpRequest) -> HttpResponse:
    """What became of a text; answered alike whether it is known, so that it is not sent over and over."""
    note_receipt(
        gateway_key=request.POST.get("MessageSid", "")[:120],
        status=request.POST.get("MessageStatus", ""),
        code=number(request.POST.get("ErrorCode", "")),
        text=number(request.GET.get("text", "")),
        again=number(request.GET.get("again", "")) or 0,
        now=timezone.now(),
    )
    return HttpResponse(status=HTTPStatus.NO_CONTENT)


@signed
def replies(request: HttpRequest) -> HttpResponse:
    """What somebody texted; the answer is what to text back, in the service's own markup."""
    answer = take_in(
        gateway_key=request.POST.get("MessageSid", "")[:120],
        phone=request.POST.get("From", "")[:40],
        body=request.POST.get("Body", ""),
        service_heard=request.POST.get("OptOutType", ""),
        now=timezone.now(),
    )
    markup = MessagingResponse()
    if answer:
        markup.message(answer)
    return HttpResponse(str(markup), content_type="application/xml")
