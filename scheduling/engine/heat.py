"""How hot or cold weather is to people at work: published indices, and what they leave of a person's work.

Temperatures in °C, humidity as a fraction, wind in m/s. Estimates from a forecast, good to a degree or
two; a measurement on site goes before them, and so do local rules.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from types import MappingProxyType

from scheduling.engine.inputs import BadInput, require_not_negative
from scheduling.engine.tables import between

STEFAN_BOLTZMANN_W_M2_K4 = 5.670374e-8
KELVIN = 273.15
M_S_PER_MPH = 0.44704  # exact

# A black globe of 150 mm (ISO 7726). Of the sun that falls on level ground a sphere takes up this part over
# its whole surface: our choice, set so that the estimate keeps near the model of Liljegren et al. (2008).
GLOBE_M, GLOBE_EMISSIVITY, SUN_ON_A_SPHERE = 0.15, 0.95, 0.45
LEAST_AIR_M_S = 0.3  # people at work stir the air themselves (our choice)


class Work(StrEnum):
    """ISO 7243's classes, about 180, 295 and 415 W. Placing is heavy, finishing moderate (our choice)."""

    LIGHT = "light"
    MODERATE = "moderate"
    HEAVY = "heavy"


# ISO 7243: the WBGT, °C, at which an acclimatised person may work all, three quarters, half and a
# quarter of each hour.
WORK_LEFT = (1.0, 0.75, 0.5, 0.25)
WORK_POINTS_C: Mapping[Work, Sequence[float]] = MappingProxyType(
    {
        Work.LIGHT: (31.0, 31.5, 32.0, 32.5),
        Work.MODERATE: (28.6, 29.0, 30.5, 31.7),
        Work.HEAVY: (26.8, 27.8, 29.5, 31.2),
    }
)

# What cold leaves of handling work, by wind chill, °C: gloves, stiff fingers, going in to warm up. A curve of
# our own choice: published factors (CRREL, NECA) were not found, only that work gets hard below -10 °F.
CHILLS_C = (-29.0, -18.0, -7.0, 4.0)
HANDLING_LEFT = (0.6, 0.75, 0.9, 1.0)


# --- heat -------------------------------------------------------------------------------------


def wet_bulb_stull2011_c(air_c: float, humidity: float) -> float:
    """Return the psychrometric wet-bulb temperature, °C.

    Stull (2011), J. Appl. Meteor. Climatol. 50, 2267, doi:10.1175/JAMC-D-11-0143.1: sea-level pressure, 5 to
    99 % humidity, -20 to 50 °C, -1 to +0.65 °C off. Humidity beyond is taken at the nearest end.
    """
    percent = 100 * min(max(humidity, 0.05), 0.99)
    return (
        air_c * math.atan(0.151977 * math.sqrt(percent + 8.313659))
        + math.atan(air_c + percent)
        - math.atan(percent - 1.676331)
        + 0.00391838 * percent**1.5 * math.atan(0.023101 * percent)
        - 4.686035
    )


def globe_iso7726_c(air_c: float, wind_m_s: float, sun_w_m2: float) -> float:
    """Return the temperature of a 150 mm black globe, °C.

    The heat balance of ISO 7726 with forced convection, ``6.3 v^0.6 / D^0.4``, surroundings at air
    temperature and the sun spread evenly over the sphere.

    Parameters
    ----------
    air_c, wind_m_s : float
        °C and m/s at the globe; air under 0.3 m/s counts as that.
    sun_w_m2 : float
        Sun on level ground.
    """
    require_not_negative("wind_m_s", wind_m_s)
    require_not_negative("sun_w_m2", sun_w_m2)
    radiating = GLOBE_EMISSIVITY * STEFAN_BOLTZMANN_W_M2_K4
    convecting = 6.3 * max(wind_m_s, LEAST_AIR_M_S) ** 0.6 / GLOBE_M**0.4
    air_k = globe_k = air_c + KELVIN
    for _ in range(8):  # Newton; the fourth power is mild, five steps settle it
        gain = GLOBE_EMISSIVITY * SUN_ON_A_SPHERE * sun_w_m2
        loss = radiating * (globe_k**4 - air_k**4) + convecting * (globe_k - air_k)
        globe_k -= (loss - gain) / (4 * radiating * globe_k**3 + convecting)
    return globe_k - KELVIN


def wbgt_bernard1999_c(air_c: float, humidity: float, wind_m_s: float, sun_w_m2: float) -> float:
    """Return the wet bulb globe temperature outdoors, °C, estimated from weather.

    ``0.7 Tnw + 0.2 Tg + 0.1 Ta`` (ISO 7243) with the natural wet bulb after Bernard and Pourmoghani (1999),
    ``Tnw = Tw + 0.25 (Tg - Ta) + e(v)``, on the wet bulb of Stull (2011) and the globe of ISO 7726. Against
    the full model of Liljegren et al. (2008) at 20 to 40 °C it is 0.3 °C high in the mean, 1.4 °C low to
    2.4 °C high at most.

    Parameters
    ----------
    air_c, humidity : float
    wind_m_s : float
        Where people stand.
    sun_w_m2 : float
        Sun on level ground; 0 under a roof.
    """
    globe_c = globe_iso7726_c(air_c, wind_m_s, sun_w_m2)
    air_m_s = max(wind_m_s, LEAST_AIR_M_S)
    stirred_c = -0.1 if air_m_s > 1 else 0.1 / air_m_s**1.1 - 0.2
    natural_c = wet_bulb_stull2011_c(air_c, humidity) + 0.25 * (globe_c - air_c) + stirred_c
    return 0.7 * natural_c + 0.2 * globe_c + 0.1 * air_c


def wbgt_abm_c(air_c: float, humidity: float) -> float:
    """Return the wet bulb globe temperature in fair sun and light wind, °C, from air and humidity alone.

    The approximation of the Australian Bureau of Meteorology (after the American College of Sports Medicine,
    1984): ``0.567 Ta + 0.393 e + 3.94`` with e in hPa. Too high under cloud, in wind and at night.
    """
    vapour_hpa = humidity * 6.105 * math.exp(17.27 * air_c / (237.7 + air_c))
    return 0.567 * air_c + 0.393 * vapour_hpa + 3.94


def sun_kasten1980_w_m2(elevation_deg: float, cloud: float) -> float:
    """Return the sun on level ground, W/m2, from its height above the horizon and the cloud.

    ``(910 sin h - 30)(1 - 0.75 N^3.4)``, Kasten and Czeplak (1980), Solar Energy 24, 177 (from memory).
    """
    if not 0 <= cloud <= 1:
        raise BadInput("cloud", "out_of_range", "cloud must be from 0 to 1.")
    clear_w_m2 = max(0.0, 910 * math.sin(math.radians(elevation_deg)) - 30)
    return clear_w_m2 * (1 - 0.75 * cloud**3.4)


def heat_index_rothfusz1990_c(air_c: float, humidity: float, *, adjusted: bool = True) -> float:
    """Return the heat index, °C, as the U.S. weather service computes it.

    Rothfusz (1990), NWS Southern Region SR 90-23; the simple form where its mean with the air is under 80 °F.
    In the shade and light wind; full sun adds up to 8 °C.

    Parameters
    ----------
    air_c, humidity : float
    adjusted : bool
        With the service's corrections for very dry and very humid air; its printed chart is without.
    """
    air_f, percent = air_c * 1.8 + 32, 100 * humidity
    simple_f = 0.5 * (air_f + 61 + 1.2 * (air_f - 68) + 0.094 * percent)
    if (simple_f + air_f) / 2 < 80:
        return (simple_f - 32) / 1.8
    index_f = _rothfusz_f(air_f, percent)
    if adjusted:
        index_f += _rothfusz_correction_f(air_f, percent)
    return (index_f - 32) / 1.8


def _rothfusz_f(air_f: float, percent: float) -> float:
    return (
        -42.379
        + 2.04901523 * air_f
        + 10.14333127 * percent
        - 0.22475541 * air_f * percent
        - 0.00683783 * air_f**2
        - 0.05481717 * percent**2
        + 0.00122874 * air_f**2 * percent
        + 0.00085282 * air_f * percent**2
        - 0.00000199 * air_f**2 * percent**2
    )


def _rothfusz_correction_f(air_f: float, percent: float) -> float:
    if percent < 13 and 80 <= air_f <= 112:
        return -(13 - percent) / 4 * math.sqrt((17 - abs(air_f - 95)) / 17)
    if percent > 85 and 80 <= air_f <= 87:
        return (percent - 85) / 10 * (87 - air_f) / 5
    return 0.0


# --- cold -------------------------------------------------------------------------------------


def wind_chill_2001_c(air_c: float, wind_10m_m_s: float) -> float:
    """Return the wind chill, °C, as the U.S. and Canadian weather services compute it since 2001.

    ``35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16`` with T in °F and V in mph at 10 m, for air up to
    50 °F and wind from 3 mph; beyond these it is the air's own temperature.
    """
    require_not_negative("wind_10m_m_s", wind_10m_m_s)
    air_f, wind_mph = air_c * 1.8 + 32, wind_10m_m_s / M_S_PER_MPH
    if air_f > 50 or wind_mph < 3:
        return air_c
    felt = wind_mph**0.16
    return (35.74 + 0.6215 * air_f - 35.75 * felt + 0.4275 * air_f * felt - 32) / 1.8


# --- what is left of a person's work ----------------------------------------------------------


def work_capacity(wbgt_c: float, work: Work) -> float:
    """Return the part of each hour that heat leaves for work, 1 to a quarter.

    ISO 7243's points for acclimatised people, in a straight line between them. Past the last point the
    standard has no work at all; concrete that is down must still be finished, so a quarter is kept.
    """
    return between(wbgt_c, WORK_POINTS_C[work], WORK_LEFT)


def handling_capacity(chill_c: float) -> float:
    """Return the part of their usual handling that cold leaves people, by wind chill. Our choice."""
    return between(chill_c, CHILLS_C, HANDLING_LEFT)
