"""How it stands with a pour's weather: how old its forecast is, whether newer come, what they changed."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from scheduling.errors import Refusal
from scheduling.models import EventKind, ForecastWatch, Pour, SiteForecast, User
from scheduling.pages.access import needs, person, pour_or_404
from scheduling.pages.clashes import site_zone
from scheduling.pages.records import Row
from scheduling.pages.wording import Words
from scheduling.queries.forecasts import Age, age_h, age_of, site_weather, watches_in_trouble
from scheduling.roles import Right
from scheduling.services import forecastwatch

# Who gave it, as the page says it; anything else was handed in.
SAID_BY = {
    "nws": "by the U.S. National Weather Service",
    "open_meteo": "by Open-Meteo.com, CC BY 4.0",
    "sample": "made up for the demo",
}
MOST_CHANGES = 3


@dataclass(frozen=True)
class WeatherPanel:
    """`trouble` and `can_fetch` are for those who look after forecasts."""

    forecast: str
    is_old: bool
    changes: tuple[Row, ...]
    trouble: str
    can_fetch: bool


@require_POST
@needs(Right.IMPORT_WEATHER)
def fetch_weather(request: HttpRequest, pk: int) -> HttpResponse:
    """Have the forecast of the pour's site fetched; the page does not wait for it."""
    pour = pour_or_404(request, pk)
    try:
        forecastwatch.ask_now(site=pour.job.site, by=person(request), now=timezone.now())
    except Refusal as refused:
        messages.error(request, refused.message)
    else:
        messages.success(request, "Asked for. Look again in a minute: a new forecast plans the pour afresh.")
    return redirect("pour", pk)


def weather_panel(pour: Pour, reader: User, words: Words, now: datetime) -> WeatherPanel:
    zone = site_zone(pour)
    minds_it = reader.may(Right.IMPORT_WEATHER) and settings.WEATHER_PROVIDER != forecastwatch.NOBODY
    forecast, is_old = _forecast(pour, words, zone, now)
    return WeatherPanel(
        forecast=forecast,
        is_old=is_old,
        changes=_changes(pour, words, zone),
        trouble=_trouble(pour, words, zone, now) if minds_it else "",
        can_fetch=minds_it,
    )


def _forecast(pour: Pour, words: Words, zone: ZoneInfo, now: datetime) -> tuple[str, bool]:
    """What the plan's forecast is, and whether its age is to be minded."""
    forecast = pour.plan.forecast if pour.plan else None
    if forecast is None:
        return "The plan rests on no forecast, but on a mild day.", True
    said_by = SAID_BY.get(forecast.provider, "handed in")
    said = f"The plan rests on the forecast of {words.day_and_time(forecast.fetched_at, zone)}, {said_by}."
    age = age_of(forecast, now)
    if age is Age.FRESH:
        return said, False
    hours = round(age_h(forecast, now) or 0)
    if age is Age.OLD:
        return f"{said} It is {hours} hours old: look at the sky, and at another forecast, too.", True
    return f"{said} It is {hours} hours old: too old to rely on.", True


def _changes(pour: Pour, words: Words, zone: ZoneInfo) -> tuple[Row, ...]:
    events = pour.events.filter(kind=EventKind.WEATHER_CHANGED).order_by("-at", "-id")[:MOST_CHANGES]
    return tuple(Row(words.day_and_time(e.at, zone), str(e.facts.get("reason", ""))) for e in events)


def _trouble(pour: Pour, words: Words, zone: ZoneInfo, now: datetime) -> str:
    """Why no newer forecast comes; empty where the last try went well."""
    told = site_weather(pour.job.site, now)
    if not told.failures or told.failed_at is None:
        return ""
    tries = "" if told.failures == 1 else f", the {_nth(told.failures)} time in a row"
    said = f"No newer one came on {words.day_and_time(told.failed_at, zone)}{tries}: {told.failure}"
    if told.next_try_at is None:
        return said
    return f"{said} Next try: {words.day_and_time(told.next_try_at, zone)}."


def _nth(number: int) -> str:
    endings = {1: "st", 2: "nd", 3: "rd"}
    return f"{number}{'th' if number % 100 in (11, 12, 13) else endings.get(number % 10, 'th')}"


def weather_trouble(reader: User, now: datetime) -> str:
    """For the week: that sites have had no new forecast for so long that their plans suffer."""
    if not reader.may(Right.IMPORT_WEATHER) or settings.WEATHER_PROVIDER == forecastwatch.NOBODY:
        return ""
    suffering = [watch for watch in watches_in_trouble() if _suffers(watch, now)]
    if not suffering:
        return ""
    names = [watch.site.name for watch in suffering[:MOST_CHANGES]]
    left = len(suffering) - len(names)
    listed = ", ".join([*names, f"{left} more"] if left else names)
    return (
        f"No new forecast comes for {listed}. {suffering[0].failure} Plans there rest on the last good one."
    )


def _suffers(watch: ForecastWatch, now: datetime) -> bool:
    newest = SiteForecast.objects.defer("hours").filter(site=watch.site_id).order_by("-fetched_at").first()
    return newest is None or age_of(newest, now) is not Age.FRESH
