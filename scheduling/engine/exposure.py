"""What the weather does to the top of a slab: wind, sun, sky and drying, from the hourly forecast.

Where the forecast tells the air but not the rest, a usual value stands in, so that the slab still has a
temperature: `stood_in` says which. Only drying that is known is ever judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduling.engine.daylight import sun_elevation_deg
from scheduling.engine.evaporation import menzel1954_kg_m2_h_kpa, saturation_pressures_kpa
from scheduling.engine.forecast import Floats, Forecast, wind_at_slab
from scheduling.engine.inputs import Place, require_not_negative

Truths: TypeAlias = NDArray[np.bool_]

STEFAN_BOLTZMANN_W_M2_K4 = 5.670374e-8
ZERO_K = 273.15

EMISSIVITY = 0.90  # 0.88 to 0.90, from memory
ABSORPTIVITY = 0.60  # 0.5 to 0.65 for sunlight, from memory
SHADED_SUN_SHARE = 0.2  # our choice: what of the sun reaches a strip in shade, from the sky around

# Stand-ins for what a forecast does not tell; our choice of a usual working day.
USUAL_WIND_10M_M_S = 3.0
USUAL_HUMIDITY = 0.6
USUAL_CLOUD = 0.5


@dataclass(frozen=True, slots=True)
class Exposure:
    """What the top meets, each an array of steps by strips.

    Into the slab goes ``gain + h (air - T) - emissivity sigma T^4`` less what drying takes:
    ``per_kpa (e_sat(T) - vapour)`` kg/m2/h where it is wet. `dry_known` is False where drying rests on a
    stand-in.
    """

    air_c: Floats
    convection_w_m2_k: Floats
    gain_w_m2: Floats
    emissivity: Floats
    per_kpa_kg_m2_h: Floats
    vapour_kpa: Floats
    dry_known: Truths


def convection_w_m2_k(wind_m_s: float) -> float:
    """Return the heat passed from a slab's top to the air per kelvin, W/m2/K.

    ``5.6 + 4.0 v`` up to 5 m/s, ``7.2 v^0.78`` above: Bentz (2000), NISTIR 6551, from memory. The two
    pieces differ by 1 % where they meet.
    """
    require_not_negative("wind_m_s", wind_m_s)
    return float(_convection(np.array(wind_m_s)))


def _convection(wind_m_s: Floats) -> Floats:
    return np.where(wind_m_s <= 5.0, 5.6 + 4.0 * wind_m_s, 7.2 * wind_m_s**0.78)


def clear_sun_w_m2(elevation_deg: Floats) -> Floats:
    """Return the sun on level ground under a clear sky, W/m2, by its height above the horizon.

    ``910 sin(h) - 30``, not below 0: Kasten and Czeplak (1980), Solar Energy 24:177-189, from memory.
    """
    return np.maximum(0.0, 910 * np.sin(np.radians(elevation_deg)) - 30)


def clouded_sun_w_m2(clear_w_m2: Floats, cloud: Floats) -> Floats:
    """Return what a cloud cover of 0..1 leaves of a clear sky's sun: ``1 - 0.75 N^3.4``, the same source."""
    return clear_w_m2 * (1 - 0.75 * cloud**3.4)


def sky_emissivity(air_c: Floats, vapour_kpa: Floats, cloud: Floats) -> Floats:
    """Return how much of a black body at the air's temperature the sky radiates.

    A clear sky's ``1.24 (e/T)^(1/7)``, hPa and K: Brutsaert (1975), Water Resources Research 11:742-744.
    Clouds: ``(1 - 0.84 N) clear + 0.84 N``, Unsworth and Monteith (1975), Q. J. R. Meteorol. Soc. 101:13-24.
    Both from memory.
    """
    clear = 1.24 * (10 * vapour_kpa / (air_c + ZERO_K)) ** (1 / 7)
    return np.minimum(1.0, (1 - 0.84 * cloud) * clear + 0.84 * cloud)


def stood_in(forecast: Forecast, place: Place, start: datetime, end: datetime) -> tuple[str, ...]:
    """Name what a slab's temperature from `start` to `end` had to assume, of wind, humidity, cloud and sun.

    The sun is named where neither the forecast tells it nor the place says where it stands.
    """
    known = {
        "wind": lambda hour: hour.wind_10m_m_s is not None,
        "humidity": lambda hour: hour.humidity is not None or hour.dew_point_c is not None,
        "cloud": lambda hour: hour.cloud is not None,
        "sun": lambda hour: hour.sun_w_m2 is not None or place.latitude is not None,
    }
    return tuple(
        name for name, tells in known.items() if forecast.unknown_from(start, end, tells) is not None
    )


def exposure_of(
    forecast: Forecast, place: Place, placed_s: Floats, middles_s: Floats, shaded: Sequence[bool]
) -> Exposure:
    """Return what strips meet in the weather.

    Parameters
    ----------
    forecast : Forecast
        Of the weather over the slab. Its air is needed; where it is unknown the exposure is NaN.
    place : Place
        Indoors walls stand for the sky.
    placed_s : ndarray, shape (strips,)
        POSIX times of placing.
    middles_s : ndarray, shape (steps,)
        Middles of the steps, seconds after placing.
    shaded : sequence of bool, length strips
    """
    seconds = middles_s[:, None] + placed_s[None, :]
    air_c = _series(forecast, "air_c", seconds)
    wind_m_s, wind_known = _or_usual(_series(forecast, "wind_10m_m_s", seconds), USUAL_WIND_10M_M_S)
    humidity, humidity_known = _or_usual(_series(forecast, "humidity", seconds), USUAL_HUMIDITY)
    cloud, _ = _or_usual(_series(forecast, "cloud", seconds), USUAL_CLOUD)
    wind_m_s = wind_m_s * wind_at_slab(1.0)
    vapour_kpa = humidity * saturation_pressures_kpa(air_c)
    sky = np.ones_like(air_c) if place.indoors else sky_emissivity(air_c, vapour_kpa, cloud)
    sun_w_m2 = _sun_w_m2(forecast, place, seconds, cloud) * np.where(shaded, SHADED_SUN_SHARE, 1.0)
    return Exposure(
        air_c=air_c,
        convection_w_m2_k=_convection(wind_m_s),
        gain_w_m2=ABSORPTIVITY * sun_w_m2
        + EMISSIVITY * STEFAN_BOLTZMANN_W_M2_K4 * sky * (air_c + ZERO_K) ** 4,
        emissivity=np.full_like(air_c, EMISSIVITY),
        per_kpa_kg_m2_h=menzel1954_kg_m2_h_kpa(wind_m_s),
        vapour_kpa=vapour_kpa,
        dry_known=wind_known & humidity_known,
    )


def _series(forecast: Forecast, name: str, seconds: Floats) -> Floats:
    return forecast.series(name, seconds.ravel()).reshape(seconds.shape)


def _or_usual(values: Floats, usual: float) -> tuple[Floats, Truths]:
    known = ~np.isnan(values)
    return np.where(known, values, usual), known


def _sun_w_m2(forecast: Forecast, place: Place, seconds: Floats, cloud: Floats) -> Floats:
    """The forecast's sun, else that of the sky; none where nobody knows where the place is."""
    told = _series(forecast, "sun_w_m2", seconds)
    if place.latitude is None or place.longitude is None:
        return np.nan_to_num(told, nan=0.0)
    if not np.isnan(told).any():
        return told
    clear = clear_sun_w_m2(sun_elevation_deg(place.latitude, place.longitude, seconds))
    return np.where(np.isnan(told), clouded_sun_w_m2(clear, cloud), told)


def under_blankets(exposure: Exposure, resistance_m2_k_w: float, covered: Truths) -> Exposure:
    """Return the exposure with blankets on where `covered` (steps by strips) is true.

    Under them the slab loses heat to the air through their resistance, m2 K/W, and the wind's; sun and
    sky meet the blankets, which are taken to be at the air's temperature, and nothing dries.
    """
    through = 1 / (resistance_m2_k_w + 1 / exposure.convection_w_m2_k)
    bare = np.where(covered, 0.0, 1.0)
    return Exposure(
        air_c=exposure.air_c,
        convection_w_m2_k=np.where(covered, through, exposure.convection_w_m2_k),
        gain_w_m2=exposure.gain_w_m2 * bare,
        emissivity=exposure.emissivity * bare,
        per_kpa_kg_m2_h=exposure.per_kpa_kg_m2_h * bare,
        vapour_kpa=exposure.vapour_kpa,
        dry_known=exposure.dry_known,
    )
