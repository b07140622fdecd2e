"""Which forecast may be planned with, how old it is, and whether newer ones come."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from django.db.models import Q

from scheduling.engine.forecast import OLD_AFTER_H, USELESS_AFTER_H
from scheduling.models import MADE_UP, STANDING, ForecastWatch, Pour, Site, SiteForecast

OLD_AFTER = timedelta(hours=OLD_AFTER_H)
USELESS_AFTER = timedelta(hours=USELESS_AFTER_H)
# Our choice: no service tells more, and what it tells of days further off changes with every forecast.
LOOK_AHEAD = timedelta(days=8)


class Age(StrEnum):
    """What the age of a forecast makes of it."""

    FRESH = "fresh"
    OLD = "old"
    USELESS = "useless"


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteWeather:
    """How it stands with the forecasts of a site.

    `age` is that of the newest forecast, None without one. The rest is of the asking for it on the web.
    """

    age: Age | None
    fetched_at: datetime | None
    provider: str
    next_try_at: datetime | None
    failures: int
    failed_at: datetime | None
    failure: str


def forecast_for(site: Site, moment: datetime, now: datetime) -> SiteForecast | None:
    """The newest forecast kept for the site that speaks of the moment; one given over a day ago is none."""
    in_time = Q(fetched_at__gte=now - USELESS_AFTER) | Q(provider=MADE_UP)
    covering = SiteForecast.objects.filter(in_time, site=site, starts_at__lte=moment, ends_at__gt=moment)
    return covering.order_by("-fetched_at", "-id").defer("hours").first()


def forecasts_for(pours: Iterable[Pour], now: datetime) -> dict[int, SiteForecast]:
    """What `forecast_for` has for each of these pours at its plan's start, in two readings."""
    planned = {pour: pour.plan.starts_at for pour in pours if pour.plan}
    in_time = Q(fetched_at__gte=now - USELESS_AFTER) | Q(provider=MADE_UP)
    kept = SiteForecast.objects.filter(in_time, site__in={pour.job.site_id for pour in planned})
    newest = list(kept.order_by("-fetched_at", "-id").defer("hours"))
    chosen: dict[int, int] = {}
    for pour, at in planned.items():
        of_site = (one for one in newest if one.site_id == pour.job.site_id)
        if found := next((one for one in of_site if one.starts_at <= at < one.ends_at), None):
            chosen[pour.pk] = found.pk
    whole = SiteForecast.objects.in_bulk(set(chosen.values()))
    return {pour: whole[pk] for pour, pk in chosen.items()}


def age_of(forecast: SiteForecast, now: datetime) -> Age:
    """What the forecast's age makes of it at `now`; exactly six hours are not old yet."""
    old = timedelta(0) if forecast.provider == MADE_UP else now - forecast.fetched_at
    if old > USELESS_AFTER:
        return Age.USELESS
    return Age.OLD if old > OLD_AFTER else Age.FRESH


def age_h(forecast: SiteForecast, now: datetime) -> float | None:
    """Hours since the forecast was given; None for made-up weather."""
    if forecast.provider == MADE_UP:
        return None
    return max(0.0, (now - forecast.fetched_at) / timedelta(hours=1))


def site_weather(site: Site, now: datetime) -> SiteWeather:
    """How it stands with the forecasts of the site."""
    newest = site.forecasts.defer("hours").order_by("-fetched_at", "-id").first()
    watch = ForecastWatch.objects.filter(site=site).first() or ForecastWatch(site=site)
    return SiteWeather(
        age=age_of(newest, now) if newest else None,
        fetched_at=newest.fetched_at if newest else None,
        provider=newest.provider if newest else "",
        next_try_at=watch.next_try_at,
        failures=watch.failures,
        failed_at=watch.failed_at,
        failure=watch.failure,
    )


def watches_in_trouble() -> list[ForecastWatch]:
    """Sites that need a forecast and whose last try gave none, longest in trouble first."""
    wanted = ForecastWatch.objects.filter(failures__gt=0, next_try_at__isnull=False)
    return list(wanted.select_related("site").order_by("answered_at", "site"))


def sites_in_need(now: datetime) -> list[Site]:
    """Sites with a place on the map and a standing pour whose weather a forecast can tell."""
    coming = Pour.objects.filter(state__in=STANDING, starts_at__gt=now, starts_at__lt=now + LOOK_AHEAD)
    placed = Site.objects.filter(latitude__isnull=False, longitude__isnull=False)
    return list(placed.filter(pk__in=coming.values("job__site")).order_by("pk"))
