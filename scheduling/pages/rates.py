"""How fast a crew places by its own record, method by method, and which pours say so."""

from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import Refusal
from scheduling.models import Company, Crew
from scheduling.pages.access import needs, person
from scheduling.pages.clock import long_day
from scheduling.pages.wording import Words
from scheduling.quantities import Dimension
from scheduling.queries.rates import CrewRate, Lesson, crew_rates
from scheduling.roles import Right
from scheduling.services import rates

WHY_NOT = {
    "too_short": "under 20 min of the crew's own time",
    "not_the_crew": "the truck or the pump set the pace",
    "unlikely": "three times off what was expected: noted wrongly?",
    "outlier": "far from the others",
}
METHODS = {
    "chute": "Down the chute",
    "extended_chute": "Down an extended chute",
    "barrow": "By barrow",
    "power_buggy": "By power buggy",
    "line_pump": "By line pump",
    "boom_pump": "By boom pump",
    "conveyor": "By belt",
}


@dataclass(frozen=True)
class LessonRow:
    pour: int
    name: str
    day: str
    placed: str
    took: str
    rate: str
    against: str
    why_not: str


@dataclass(frozen=True)
class RateCard:
    """What is known of one method; `against` is the learned factor as it is said."""

    method: str
    title: str
    pours: int
    rate: str
    between: str
    against: str
    spread: str
    since: str
    lessons: tuple[LessonRow, ...]


@needs(Right.SEE_WEEK)
def crew(request: HttpRequest, pk: int) -> HttpResponse:
    """Everybody who plans sees every crew's; a lead their own crew's."""
    kept = _crew_or_404(request, pk)
    words = Words.of(Company.objects.first())
    cards = tuple(_card(rate, words) for rate in crew_rates(kept, timezone.now()))
    shown = {"pk": pk, "name": kept.name, "cards": cards, "entered": _against(kept.rate_factor)}
    return render(request, "pages/rates.html", shown)


@require_POST
@needs(Right.ASSIGN)
def reset(request: HttpRequest, pk: int) -> HttpResponse:
    kept = get_object_or_404(Crew, pk=pk)
    try:
        rates.reset(crew=kept, method=request.POST.get("method", ""), by=person(request), now=timezone.now())
    except Refusal as refused:
        messages.error(request, refused.message)
    else:
        messages.success(request, "Forgotten. Pours from now on count.")
    return redirect("crew-rates", pk)


def _crew_or_404(request: HttpRequest, pk: int) -> Crew:
    kept = get_object_or_404(Crew, pk=pk)
    if not person(request).may(Right.SEE_ALL_POURS) and kept.lead_id != person(request).pk:
        raise Http404
    return kept


def _card(rate: CrewRate, words: Words) -> RateCard:
    usual = rate.usual_m3_h
    zone = words.office
    since = f"{long_day(rate.since.astimezone(zone).date(), words.units)}" if rate.since else ""
    return RateCard(
        method=rate.method.value,
        title=METHODS[rate.method.value],
        pours=rate.learned.pours,
        rate=_rate(usual * rate.learned.factor, words) if usual else "",
        between=f"{_rate(usual * rate.low, words)} to {_rate(usual * rate.high, words)}" if usual else "",
        against=_against(rate.learned.factor),
        spread=f"{rate.learned.unload_cv:.0%}",
        since=f"{since}, by {rate.reset_by}" if since and rate.reset_by else since,
        lessons=tuple(_lessons(rate.lessons, words)),
    )


def _lessons(lessons: tuple[Lesson, ...], words: Words) -> Iterator[LessonRow]:
    for lesson in lessons:
        day = lesson.starts_at.astimezone(ZoneInfo(lesson.time_zone)).date()
        yield LessonRow(
            pour=lesson.pour,
            name=lesson.name,
            day=long_day(day, words.units),
            placed=words.volume(lesson.m3),
            took=f"{lesson.minutes:.0f} min",
            rate=_rate(lesson.rate_m3_h, words),
            against=_against(lesson.factor) if lesson.factor else "–",
            why_not=WHY_NOT[lesson.why_not.value] if lesson.why_not else "",
        )


def _rate(rate_m3_h: float, words: Words) -> str:
    return words.amount(rate_m3_h, Dimension.VOLUME_RATE)


def _against(factor: float) -> str:
    """A factor as people say it: 12 % faster."""
    percent = round(100 * (factor - 1))
    return "as the default" if percent == 0 else f"{abs(percent)} % {'faster' if percent > 0 else 'slower'}"
