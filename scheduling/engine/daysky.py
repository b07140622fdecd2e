"""The sky over a pour: hour by hour as it is kept with the plan, the nights, and what all of it warns of."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.engine.coldweather import cold_weather_findings
from scheduling.engine.crewweather import boom_wind_findings, crew_weather_findings
from scheduling.engine.daylight import daylight
from scheduling.engine.evaporation import EvaporationHour, evaporation_findings, evaporation_limit_kg_m2_h
from scheduling.engine.forecast import HOUR, Forecast, forecast_age_findings, over_slab, sky_findings, utc
from scheduling.engine.inputs import Finding, Method, Mix, Place, PourRequest, Window
from scheduling.engine.temperature import temperature_findings


@dataclass(frozen=True, slots=True)
class SkyHour:
    """The hour that begins at `at`; None where the forecast does not say. `gust_m_s` is at 10 m."""

    at: datetime
    air_c: float | None
    rain_chance: float | None
    rain_mm: float | None
    thunder_chance: float | None
    gust_m_s: float | None


@dataclass(frozen=True, slots=True)
class DaySky:
    """The hours from the call to the last cut, and the nights in them; none where the site is unknown.

    `drying_limit_kg_m2_h` is the drying from which the mix needs care.
    """

    hours: tuple[SkyHour, ...]
    nights: tuple[Window, ...]
    drying_limit_kg_m2_h: float


def day_sky(forecast: Forecast, place: Place, mix: Mix, starts_at: datetime, ends_at: datetime) -> DaySky:
    """Return the whole hours that hold the time from `starts_at` to `ends_at`, both aware."""
    start = utc(starts_at).replace(minute=0, second=0, microsecond=0)
    count = math.ceil((utc(ends_at) - start) / HOUR)
    moments = (start + n * HOUR for n in range(count))
    return DaySky(
        tuple(_sky_hour(forecast, moment) for moment in moments),
        tuple(_nights(place, start, start + count * HOUR)),
        evaporation_limit_kg_m2_h(mix),
    )


def _sky_hour(forecast: Forecast, moment: datetime) -> SkyHour:
    told = forecast.at(moment)
    return SkyHour(moment, told.air_c, told.rain_chance, told.rain_mm, told.thunder_chance, told.gust_10m_m_s)


def _nights(place: Place, start: datetime, end: datetime) -> Iterator[Window]:
    """From sunset to sunrise, cut to the time asked for."""
    if place.latitude is None or place.longitude is None:
        return
    cursor = start
    for day in daylight(place.latitude, place.longitude, start, end):
        if day.opens_at > cursor:
            yield Window(cursor, day.opens_at)
        cursor = max(cursor, day.closes_at)
    if cursor < end:
        yield Window(cursor, end)


def weather_findings(
    request: PourRequest,
    forecast: Forecast,
    concrete_c: float | None,
    thickness_m: float,
    weather: tuple[EvaporationHour, ...],
    placed_at: datetime,
    hard_at: datetime,
) -> tuple[Finding, ...]:
    """Say everything the weather asks for: of concrete and slab, of the crew, of a boom.

    Parameters
    ----------
    request : PourRequest
    forecast : Forecast
        Reaches at least to `hard_at`.
    concrete_c : float or None
        As delivered.
    thickness_m : float
        The slab's least thickness.
    weather : tuple of EvaporationHour
    placed_at, hard_at : datetime
        When the last concrete is placed, and has set.
    """
    call_at = request.starts_at - timedelta(minutes=request.call_lead_min)
    boom = request.placing.method is Method.BOOM_PUMP
    return (
        *forecast_age_findings(request.forecast_age_h),
        *evaporation_findings(weather, request.mix),
        *temperature_findings(concrete_c, forecast, request.starts_at, thickness_m),
        *cold_weather_findings(
            forecast,
            request.starts_at,
            placed_at,
            thickness_m,
            request.mix,
            request.place,
            request.supply.haul_min,
        ),
        *sky_findings(over_slab(forecast, request.place), request.starts_at, hard_at),
        *crew_weather_findings(forecast, call_at, hard_at, request.place),
        *(boom_wind_findings(forecast, call_at, placed_at) if boom else ()),
    )
