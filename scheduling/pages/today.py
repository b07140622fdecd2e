"""Today on one page: whom to call next, and every pour on one clock; what shows renews itself."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from scheduling.models import Company
from scheduling.pages.access import needs, person
from scheduling.pages.clock import long_day
from scheduling.pages.todayboard import today_board
from scheduling.pages.todaycalls import call_list
from scheduling.pages.wording import Words
from scheduling.queries.today import today_view
from scheduling.roles import Right
from scheduling.services import alarms, live


@needs(Right.SEE_WEEK)
def today(request: HttpRequest) -> HttpResponse:
    """The day as it stands; `?part=now` gives what renews itself alone."""
    now = timezone.now()
    words = Words.of(Company.objects.first())
    view = today_view(person(request), now)
    runs = live.under_way(pours=view.pours, now=now)
    raised = alarms.alarms_of(view.pours)
    shown = {
        "here": "today",
        "day": long_day(view.day, words.units),
        "as_of": words.clock(now, view.zone),
        "calls": call_list(view, runs, raised, words),
        "board": today_board(view, runs, words),
    }
    part = request.GET.get("part") == "now"
    return render(request, "pages/now.html" if part else "pages/today.html", shown)
