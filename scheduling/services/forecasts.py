"""Weather that comes in: kept as it came, and the pours it speaks of planned afresh."""

import logging
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F

from scheduling import bridge
from scheduling.engine.forecast import OLD_AFTER_H
from scheduling.engine.inputs import WeatherHour
from scheduling.errors import NotAllowed, Refusal
from scheduling.models import STANDING, Pour, Site, SiteForecast, User
from scheduling.queries.forecasts import Age, age_of, forecast_for
from scheduling.roles import Right
from scheduling.services import booking
from scheduling.weather.document import WeatherUnreadable, in_order
from scheduling.weather.reading import read_document

log = logging.getLogger(__name__)

HOUR = timedelta(hours=1)


@transaction.atomic
def import_forecast(
    *, site: Site, text: str, by: User, now: datetime, columns: Mapping[str, str] | None = None
) -> SiteForecast:
    """Keep a weather document for a site, and plan afresh the coming pours whose start it covers.

    `columns` tells what a file's headers mean where they do not say so themselves. Times without an
    offset are on the site's clock.

    Raises
    ------
    Refusal
        If the document cannot be read; nothing of it is kept then.
    """
    if not by.may(Right.IMPORT_WEATHER):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    with refusing_unreadable("text"):
        document = read_document(text, columns, ZoneInfo(site.time_zone))
    # From here on nobody changes a pour, so none slips through between the old weather and the new.
    booking.one_at_a_time()
    forecast = keep(site=site, provider=document.provider, hours=document.hours, given_at=now)
    for pour in pours_covered(forecast, now):
        _plan_afresh(pour, by, now)
    return forecast


def keep(*, site: Site, provider: str, hours: tuple[WeatherHour, ...], given_at: datetime) -> SiteForecast:
    """Keep hours of weather for a site; said again by the same provider they only count as newer."""
    said = bridge.to_json(hours)
    last = SiteForecast.objects.filter(site=site, provider=provider).order_by("-fetched_at", "-id").first()
    if last and last.hours == said:
        last.fetched_at = max(last.fetched_at, given_at)
        last.save(update_fields=["fetched_at"])
        return last
    return SiteForecast.objects.create(
        site=site,
        provider=provider,
        fetched_at=given_at,
        starts_at=hours[0].at,
        ends_at=hours[-1].at + HOUR,
        hours=said,
    )


def pours_covered(forecast: SiteForecast, now: datetime) -> Iterable[Pour]:
    """The standing pours at its site that start after now and within its hours."""
    starts = {"starts_at__gt": now, "starts_at__gte": forecast.starts_at, "starts_at__lt": forecast.ends_at}
    return Pour.objects.filter(job__site=forecast.site_id, state__in=STANDING, **starts)


def plan_with_newest(*, now: datetime) -> int:
    """Plan afresh the coming pours that rest on other weather than they now would; how many.

    That is so where a newer forecast has come, where the one there is has become old or useless, and
    where one that was old has been given again.
    """
    coming = Pour.objects.filter(state__in=STANDING, starts_at__gt=now, plan__isnull=False)
    rows = coming.select_related("job__site", "plan__forecast").defer("plan__inputs", "plan__result")
    rows = rows.annotate(planned_age_h=F("plan__inputs__forecast_age_h")).order_by("starts_at", "id")
    return sum(_plan_afresh(pour, None, now) for pour in rows if _rests_on_other_weather(pour, now))


def _rests_on_other_weather(pour: Any, now: datetime) -> bool:
    """Of a pour with `planned_age_h`, how old its forecast was when it was planned."""
    newest = forecast_for(pour.job.site, pour.starts_at, now)
    if newest is None:
        return pour.plan.forecast_id is not None
    if newest.pk != pour.plan.forecast_id:
        return True
    was_old = (pour.planned_age_h or 0.0) > OLD_AFTER_H
    return was_old != (age_of(newest, now) is Age.OLD)


def _plan_afresh(pour: Pour, by: User | None, now: datetime) -> bool:
    """A pour that cannot be planned keeps the plan it has, and does not keep the weather from the others."""
    try:
        booking.replan_pour(pour=pour, version=pour.version, by=by, now=now)
    except Refusal as refusal:
        log.warning("Pour %s could not be planned with new weather: %s", pour.pk, refusal)
        return False
    return True


def weather_hours(rows: Iterable[Mapping[str, Any]], *, field: str) -> tuple[WeatherHour, ...]:
    """Hours of weather from rows with the engine's names, in order of time.

    Raises
    ------
    Refusal
        If there are none, or two overlap; it names `field`.
    """
    with refusing_unreadable(field):
        return in_order(WeatherHour(**row) for row in rows)


@contextmanager
def refusing_unreadable(field: str) -> Iterator[None]:
    """Turn what is wrong with a document into a refusal that tells every fault with its line."""
    try:
        yield
    except WeatherUnreadable as unreadable:
        told = [str(problem) for problem in unreadable.problems]
        raise Refusal(
            str(unreadable), code="weather_unreadable", field=field, facts={"problems": told}
        ) from unreadable
