"""Forecasts fetched from the web: for every site with a coming pour, again and again, one worker at a time.

Nobody waits for a weather service: it is asked here alone, by the clock, and no lock is held meanwhile.
"""

import logging
import time
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Q

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import STANDING, ForecastWatch, Pour, Site, SiteForecast, User, WeatherPage
from scheduling.queries.forecasts import sites_in_need
from scheduling.roles import Right
from scheduling.services import changes, forecasts
from scheduling.services.nudge import nudge
from scheduling.weather.document import WeatherUnreadable
from scheduling.weather.fetch import FETCHERS, Fetched, Spot, spot_of
from scheduling.weather.web import Manners, NoSuchPlace, Page, WeatherUnavailable, Web

log = logging.getLogger(__name__)

TASK = "scheduling.tasks.fetch_weather"
NOBODY = "none"

# Our choices, all of them.
SOON = timedelta(hours=48)  # a pour so near wants every new forecast
EVERY_SOON, EVERY_LATER = timedelta(hours=1), timedelta(hours=3)
FIRST_WAIT, LONGEST_WAIT = timedelta(minutes=5), timedelta(hours=1)
NO_PLACE_WAIT = timedelta(days=1)
LOST_AFTER = timedelta(minutes=10)  # longer than three pages with all their tries may take
SWEEP_S = 120.0
KEPT = timedelta(days=7)
LONGEST_FAILURE = 300  # as the column is


def ask_now(*, site: Site, by: User, now: datetime) -> None:
    """Have the site's forecast fetched as soon as a worker can.

    Raises
    ------
    Refusal
        If no weather service is chosen, or nobody knows where the site is.
    """
    if not by.may(Right.IMPORT_WEATHER):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    if settings.WEATHER_PROVIDER == NOBODY:
        raise Refusal("No weather service is chosen in the settings.", code="no_weather_service")
    if site.latitude is None or site.longitude is None:
        raise Refusal("Give the site its latitude and longitude first.", code="no_place", field="latitude")
    ForecastWatch.objects.update_or_create(site=site, defaults={"next_try_at": now})
    nudge(TASK)


def fetch_due(*, now: datetime, limit: int = 100) -> int:
    """Fetch the forecasts that are due, plan with what came, and tell whom it concerns; how many came.

    Plans rest on weather that ages also where nothing is fetched, so the planning is done every time.
    """
    fetched = 0 if settings.WEATHER_PROVIDER == NOBODY else _sweep(now, limit)
    forecasts.plan_with_newest(now=now)
    changes.tell_late(now=now)
    return fetched


def _sweep(now: datetime, limit: int) -> int:
    _watch_sites_in_need(now)
    due = ForecastWatch.objects.filter(_free(now), next_try_at__lte=now).order_by("next_try_at", "id")
    began = time.monotonic()
    fetched = 0
    for pk in list(due.values_list("pk", flat=True)[:limit]):
        if time.monotonic() - began > SWEEP_S:
            break
        try:
            fetched += _take_turn(pk, now)
        except Exception:  # whatever is wrong with this one, the next site must still get its weather
            log.exception("The forecast of watch %s was not worked through", pk)
    return fetched


def _free(now: datetime) -> Q:
    return Q(claimed_at__isnull=True) | Q(claimed_at__lt=now - LOST_AFTER)


def _watch_sites_in_need(now: datetime) -> None:
    """Give a turn to sites that are new, needed again, or have moved on the map."""
    watches = {watch.site_id: watch for watch in ForecastWatch.objects.all()}
    for site in sites_in_need(now):
        watch = watches.get(site.pk)
        if watch is None:
            ForecastWatch.objects.get_or_create(site=site, defaults={"next_try_at": now})
        elif watch.next_try_at is None or watch.spot not in ("", str(_spot(site))):
            ForecastWatch.objects.filter(pk=watch.pk).update(next_try_at=now)


def _spot(site: Site) -> Spot:
    if site.latitude is None or site.longitude is None:
        raise NoSuchPlace("The site has no latitude and longitude.")
    return spot_of(site.latitude, site.longitude)


def _take_turn(pk: int, now: datetime) -> bool:
    """Claim one watch and ask for its forecast, unless another worker was first."""
    waiting = ForecastWatch.objects.filter(_free(now), pk=pk, next_try_at__lte=now)
    if waiting.update(claimed_at=now) != 1:
        return False
    watch = ForecastWatch.objects.select_related("site").get(pk=pk)
    try:
        got = _fetched(watch.site, now)
    except (WeatherUnavailable, WeatherUnreadable) as fault:
        _note_failure(watch, fault, now)
        return False
    except Exception:
        _note_failure(watch, WeatherUnavailable("The forecast could not be worked through."), now)
        raise
    _keep(watch, got, now)
    return True


def _fetched(site: Site, now: datetime) -> Fetched:
    provider = settings.WEATHER_PROVIDER
    base_url = {"nws": settings.NWS_URL, "open_meteo": settings.OPEN_METEO_URL}[provider]
    manners = Manners(
        user_agent=f"Pourplan ({settings.WEATHER_CONTACT or settings.PUBLIC_URL})",
        connect_s=settings.WEATHER_TIMEOUT_S,
        read_s=settings.WEATHER_TIMEOUT_S,
    )
    return FETCHERS[provider](Web(base_url, manners, _from_shelf, now), base_url, _spot(site), now)


def _from_shelf(url: str) -> Page | None:
    row = WeatherPage.objects.filter(url=url).values(*Page.__slots__).first()
    return Page(**row) if row else None


@transaction.atomic
def _keep(watch: ForecastWatch, got: Fetched, now: datetime) -> None:
    for page in got.pages:
        facts = {name: getattr(page, name) for name in Page.__slots__ if name != "url"}
        WeatherPage.objects.update_or_create(url=page.url, defaults=facts)
    provider = settings.WEATHER_PROVIDER
    forecasts.keep(site=watch.site, provider=provider, hours=got.hours, given_at=got.given_at)
    wait = EVERY_SOON if _pours_before(watch.site, now, SOON) else EVERY_LATER
    _settle(watch, now, wait, answered_at=now, failures=0, failure="")
    _throw_away(watch.site, provider, now)


def _throw_away(site: Site, provider: str, now: datetime) -> None:
    """Forecasts and pages that nobody will look at again."""
    fetched = SiteForecast.objects.filter(site=site, provider=provider, fetched_at__lt=now - KEPT)
    fetched.filter(plan__isnull=True).delete()
    WeatherPage.objects.filter(checked_at__lt=now - KEPT).delete()


def _note_failure(watch: ForecastWatch, fault: Exception, now: datetime) -> None:
    log.warning("No forecast for %s: %s", watch.site, fault)
    failures = min(watch.failures + 1, 1000)
    told = str(fault)[:LONGEST_FAILURE]
    _settle(watch, now, _wait_after(fault, failures), failures=failures, failed_at=now, failure=told)


def _wait_after(fault: Exception, failures: int) -> timedelta:
    """Longer with each failure; as long as the service asks, where it asks for more."""
    if isinstance(fault, NoSuchPlace):
        return NO_PLACE_WAIT
    wait = min(FIRST_WAIT * 2 ** min(failures - 1, 10), LONGEST_WAIT)
    rest = fault.rest if isinstance(fault, WeatherUnavailable) else None
    return max(wait, rest or wait)


def _settle(watch: ForecastWatch, now: datetime, wait: timedelta, **noted: object) -> None:
    """Give the claim back and set the next turn; none where no pour needs one any more."""
    in_need = any(site.pk == watch.site_id for site in sites_in_need(now))
    own = ForecastWatch.objects.filter(pk=watch.pk, claimed_at=watch.claimed_at)
    spot = str(_spot(watch.site)) if watch.site.latitude is not None else ""
    own.update(claimed_at=None, next_try_at=now + wait if in_need else None, spot=spot, **noted)


def _pours_before(site: Site, now: datetime, span: timedelta) -> bool:
    coming = {"starts_at__gt": now, "starts_at__lt": now + span}
    return Pour.objects.filter(job__site=site, state__in=STANDING, **coming).exists()
