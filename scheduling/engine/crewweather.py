"""What the weather does to the people on a pour and to a boom over them: how it slows them, when to stop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from astral import Observer, sun

from scheduling.engine.acclimatisation import NEW_SHARES, RETURNING_SHARES
from scheduling.engine.forecast import HOUR, Conditions, Forecast, utc, weather_unknown, wind_at_slab
from scheduling.engine.heat import (
    M_S_PER_MPH,
    Work,
    handling_capacity,
    heat_index_rothfusz1990_c,
    sun_kasten1980_w_m2,
    wbgt_abm_c,
    wbgt_bernard1999_c,
    wind_chill_2001_c,
    work_capacity,
)
from scheduling.engine.inputs import Fact, Finding, Place, Severity, WeatherHour, require_positive

BODY_HEIGHT_M = 1.5
LIGHT_WIND_M_S = 1.0  # where the forecast does not tell (our choice)

# OSHA's proposal of 2024 begins at a heat index of 80 °F and asks for 15 min of rest in every 2 h from
# 90 °F (from memory); 125 °F is the U.S. weather service's extreme danger.
HEAT_BEGINS_C = (80 - 32) / 1.8
HIGH_HEAT_C = (90 - 32) / 1.8
EXTREME_HEAT_C = (125 - 32) / 1.8
REST_MIN, REST_EVERY_H = 15, 2

HEAT_SOURCE = "NWS heat index, OSHA proposal of 2024 (from memory), NIOSH 2016-106"

SLOWED_WORTH_SAYING = 0.95  # our choice

# Each maker gives a boom its own limit; about 13 m/s in gusts is common (from memory). ASCC's safety round
# table knows 20 to 22 mph as the usual threshold, and as a starting point only.
BOOM_GUST_M_S = 13.0
BOOM_WATCH_M_S = 20 * M_S_PER_MPH
GUST_OVER_WIND = 1.5  # where the forecast tells no gusts (our choice)


@dataclass(frozen=True, slots=True)
class CrewWeather:
    """The weather as people at work feel it at one moment; None where the forecast does not say."""

    at: datetime
    wbgt_c: float | None
    heat_index_c: float | None
    chill_c: float | None

    def heat_left(self, work: Work = Work.HEAVY) -> float:
        """Return the part of their usual work that heat leaves people."""
        return 1.0 if self.wbgt_c is None else work_capacity(self.wbgt_c, work)

    @property
    def cold_left(self) -> float:
        """The part of their usual work that cold leaves people."""
        return 1.0 if self.chill_c is None else handling_capacity(self.chill_c)

    def capacity(self, work: Work = Work.HEAVY) -> float:
        """Return the part of their usual work that people manage; what is unknown slows nobody."""
        return self.heat_left(work) * self.cold_left


def crew_weather(forecast: Forecast, moment: datetime, place: Place) -> CrewWeather:
    """Read the forecast as people on site feel it.

    Parameters
    ----------
    forecast : Forecast
    moment : datetime
        Aware.
    place : Place
        Under a roof there is neither sun nor wind. Latitude and longitude tell the sun where the
        forecast tells only the cloud.

    Returns
    -------
    CrewWeather
        Heat is that of fair sun and light wind where nothing tells the sun.
    """
    told = forecast.at(moment)
    if told.air_c is None:
        return CrewWeather(told.at, None, None, None)
    wbgt_c = heat_index_c = None
    if told.humidity is not None:
        wbgt_c = _wbgt_c(told, told.air_c, told.humidity, place)
        heat_index_c = heat_index_rothfusz1990_c(told.air_c, told.humidity)
    wind_m_s = 0.0 if place.indoors else told.wind_10m_m_s
    chill_c = None if wind_m_s is None else wind_chill_2001_c(told.air_c, wind_m_s)
    return CrewWeather(told.at, wbgt_c, heat_index_c, chill_c)


def _wbgt_c(told: Conditions, air_c: float, humidity: float, place: Place) -> float:
    if place.indoors:
        return wbgt_bernard1999_c(air_c, humidity, 0.0, 0.0)
    sun_w_m2 = _sun_w_m2(told, place)
    if sun_w_m2 is None:
        return wbgt_abm_c(air_c, humidity)
    wind_m_s = LIGHT_WIND_M_S
    if told.wind_10m_m_s is not None:
        wind_m_s = wind_at_slab(told.wind_10m_m_s, BODY_HEIGHT_M)
    return wbgt_bernard1999_c(air_c, humidity, wind_m_s, sun_w_m2)


def _sun_w_m2(told: Conditions, place: Place) -> float | None:
    """As forecast; else from where the sun stands and the cloud, a clear sky where none is told."""
    if told.sun_w_m2 is not None:
        return max(0.0, told.sun_w_m2)
    if place.latitude is None or place.longitude is None:
        return None
    elevation_deg = sun.elevation(Observer(place.latitude, place.longitude), told.at, with_refraction=False)
    return sun_kasten1980_w_m2(elevation_deg, min(max(told.cloud or 0.0, 0.0), 1.0))


def crew_capacity(forecast: Forecast, starts_at: datetime, ends_at: datetime, place: Place) -> float:
    """Return the part of their usual work that people manage on average over a stretch of work.

    Parameters
    ----------
    forecast : Forecast
    starts_at, ends_at : datetime
        Aware, the end after the start; each hour begun counts alike.
    place : Place

    Returns
    -------
    float
        More than 0 and at most 1; 1 where the forecast does not tell.

    Notes
    -----
    Heat after the points of ISO 7243 for heavy work, cold by wind chill (our choice): see `heat`.
    """
    hours = [crew_weather(forecast, moment, place).capacity() for moment in _hourly(starts_at, ends_at)]
    return sum(hours) / len(hours)


# --- the crew ---------------------------------------------------------------------------------


def crew_weather_findings(
    forecast: Forecast, starts_at: datetime, ends_at: datetime, place: Place
) -> tuple[Finding, ...]:
    """Say what heat and cold do to those who place and finish.

    Parameters
    ----------
    forecast : Forecast
    starts_at, ends_at : datetime
        Aware; from when until when people work.
    place : Place

    Returns
    -------
    tuple of Finding
        ``heat_illness`` from a heat index of 80 °F: NOTE, CAUTION from 90 °F, STOP from 125 °F.
        ``heat_slows_people`` and ``cold_slows_people``, CAUTION, where less than 95 % of the usual work is
        left at some hour.
    """
    hours = [crew_weather(forecast, moment, place) for moment in _hourly(starts_at, ends_at)]
    return (*_heat_illness(hours), *_slowed_by_heat(hours), *_slowed_by_cold(hours))


def _hourly(starts_at: datetime, ends_at: datetime) -> Iterator[datetime]:
    """The start, and every hour after it until the end."""
    moment, end = utc(starts_at, "starts_at"), utc(ends_at, "ends_at")
    while moment < end:
        yield moment
        moment += HOUR


def _heat_illness(hours: Sequence[CrewWeather]) -> Iterator[Finding]:
    hot = [
        (h.heat_index_c, h) for h in hours if h.heat_index_c is not None and h.heat_index_c >= HEAT_BEGINS_C
    ]
    if not hot:
        return
    peak_c, peak = max(hot, key=lambda pair: pair[0])
    facts: dict[str, Fact] = {
        "heat_index_c": peak_c,
        "wbgt_c": peak.wbgt_c,
        "peak_at": peak.at,
        "first_at": hot[0][1].at,
        "last_at": hot[-1][1].at + HOUR,
        "new_people_fraction": NEW_SHARES[0],
        "returning_fraction": RETURNING_SHARES[0],
        "local_rules_govern": True,
    }
    if peak_c < HIGH_HEAT_C:
        yield Finding(Severity.NOTE, "heat_illness", facts, HEAT_SOURCE)
        return
    facts |= {"rest_min": REST_MIN, "rest_every_h": REST_EVERY_H}
    severity = Severity.STOP if peak_c >= EXTREME_HEAT_C else Severity.CAUTION
    yield Finding(severity, "heat_illness", facts, HEAT_SOURCE)


def _slowed_by_heat(hours: Sequence[CrewWeather]) -> Iterator[Finding]:
    worst = min(hours, key=lambda hour: hour.heat_left(), default=None)
    if worst is not None and worst.wbgt_c is not None and worst.heat_left() < SLOWED_WORTH_SAYING:
        facts: dict[str, Fact] = {
            "left_percent": 100 * worst.heat_left(),
            "wbgt_c": worst.wbgt_c,
            "worst_at": worst.at,
        }
        yield Finding(Severity.CAUTION, "heat_slows_people", facts, "ISO 7243, heavy work, acclimatised")


def _slowed_by_cold(hours: Sequence[CrewWeather]) -> Iterator[Finding]:
    worst = min(hours, key=lambda hour: hour.cold_left, default=None)
    if worst is not None and worst.chill_c is not None and worst.cold_left < SLOWED_WORTH_SAYING:
        facts: dict[str, Fact] = {
            "left_percent": 100 * worst.cold_left,
            "chill_c": worst.chill_c,
            "worst_at": worst.at,
        }
        yield Finding(Severity.CAUTION, "cold_slows_people", facts, "our choice")


# --- the boom ---------------------------------------------------------------------------------


def boom_wind_findings(
    forecast: Forecast, starts_at: datetime, ends_at: datetime, limit_m_s: float = BOOM_GUST_M_S
) -> tuple[Finding, ...]:
    """Say when wind is too strong for a boom.

    Parameters
    ----------
    forecast : Forecast
    starts_at, ends_at : datetime
        Aware; from the set-up of the boom until it is folded.
    limit_m_s : float
        The maker's limit, in gusts.

    Returns
    -------
    tuple of Finding
        ``boom_wind``: STOP where a gust is forecast over the limit, CAUTION where one is over 20 mph, or
        where only the mean wind is known and one and a half of it is over the limit.
        ``weather_unknown`` (``missing`` = ``"wind"``) from where the forecast tells neither.
    """
    require_positive("limit_m_s", limit_m_s)
    windy = [
        (gust_m_s, hour)
        for hour in forecast.hours_between(starts_at, ends_at)
        if (gust_m_s := _gust_m_s(hour)) is not None and gust_m_s > min(limit_m_s, BOOM_WATCH_M_S)
    ]
    unknown_at = forecast.unknown_from(starts_at, ends_at, lambda hour: _gust_m_s(hour) is not None)
    findings = [_boom_finding(windy, limit_m_s)] if windy else []
    if unknown_at is not None:
        findings.append(weather_unknown("wind", unknown_at))
    return tuple(findings)


def _gust_m_s(hour: WeatherHour) -> float | None:
    if hour.gust_10m_m_s is not None:
        return hour.gust_10m_m_s
    return None if hour.wind_10m_m_s is None else GUST_OVER_WIND * hour.wind_10m_m_s


def _boom_finding(windy: Sequence[tuple[float, WeatherHour]], limit_m_s: float) -> Finding:
    gust_m_s, peak = max(windy, key=lambda pair: pair[0])
    facts: dict[str, Fact] = {
        "gust_m_s": gust_m_s,
        "limit_m_s": limit_m_s,
        "over_limit": gust_m_s > limit_m_s,
        "gust_told": peak.gust_10m_m_s is not None,
        "peak_at": utc(peak.at),
        "first_at": utc(windy[0][1].at),
        "last_at": utc(windy[-1][1].at) + HOUR,
    }
    told_over = any(gust > limit_m_s and hour.gust_10m_m_s is not None for gust, hour in windy)
    severity = Severity.STOP if told_over else Severity.CAUTION
    return Finding(severity, "boom_wind", facts, "the maker's limit governs; 13 m/s is common (from memory)")
