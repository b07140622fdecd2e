"""My calendar: the link that a phone's calendar fetches one's pours from, and what it fetches."""

import hashlib

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import http_date
from django.views.decorators.http import require_POST, require_safe

from scheduling.models import Company
from scheduling.pages.access import needs, person
from scheduling.pages.calendarfile import calendar_document
from scheduling.pages.wording import Words
from scheduling.queries.calendars import calendar_of, last_change
from scheduling.roles import Right
from scheduling.services import calendars


@needs(Right.SEE_WEEK)
def my_calendar(request: HttpRequest) -> HttpResponse:
    """Whether there is a link, and what it is for."""
    return _page(request)


@require_POST
@needs(Right.SEE_WEEK)
def make_link(request: HttpRequest) -> HttpResponse:
    """Make a link and show it, this once: it is kept nowhere."""
    secret = calendars.make_link(person=person(request), now=timezone.now())
    answer = _page(request, settings.PUBLIC_URL + reverse("calendar-feed", args=[secret]))
    answer["Cache-Control"] = "no-store"
    return answer


@require_POST
@needs(Right.SEE_WEEK)
def take_back(request: HttpRequest) -> HttpResponse:
    calendars.take_back(person=person(request), now=timezone.now())
    messages.success(request, "The link opens nothing any more.")
    return redirect("my-calendar")


def _page(request: HttpRequest, address: str = "") -> HttpResponse:
    words = Words.of(Company.objects.first())
    link = calendars.link_of(person=person(request))
    shown = {
        "address": address,
        "made": words.day_and_time(link.made_at, words.office) if link else "",
        "used": words.day_and_time(link.last_used_at, words.office) if link and link.last_used_at else "",
        "sees_all": person(request).may(Right.SEE_ALL_POURS),
        "here": "calendar",
    }
    return render(request, "pages/calendar.html", shown)


@require_safe
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The pours of whoever the secret was made for; one that opens nothing is not there."""
    now = timezone.now()
    reader = calendars.whose(secret=secret, now=now)
    if reader is None:
        raise Http404
    company = Company.objects.first()
    name = f"Pours, {company.name}" if company else "Pours"
    body = calendar_document(name, calendar_of(reader, now), Words.of(company))
    etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    changed_at = int(last_change(now).timestamp())
    answer = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="pours.ics"'
    answer["ETag"] = etag
    answer["Last-Modified"] = http_date(changed_at)
    answer["Cache-Control"] = "private, no-cache"
    return get_conditional_response(request, etag=etag, last_modified=changed_at, response=answer) or answer
