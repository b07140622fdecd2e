"""What cold asks of a pour: warm concrete, unfrozen ground, days of protection, a watch for frost."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from scheduling.engine.forecast import HOUR, Forecast, utc
from scheduling.engine.inputs import Admixture, Fact, Finding, Mix, Place, Severity, WeatherHour
from scheduling.engine.temperature import least_placed_c

DAY_H = 24
COLD_C = (40 - 32) / 1.8
WARM_C = (50 - 32) / 1.8
MOST_WARM_H = 12  # "more than half of any 24 hours"
LEAST_DAYS = 4  # "more than 3"

# ACI 306R: what concrete must have as it leaves the mixer above what it must have as placed, in kelvin, by
# the air over which it holds, °C (from memory: +5, +10 and +15 °F over 30 °F, from 0 °F and below).
_MIXED_OVER_PLACED_K = (((30 - 32) / 1.8, 5 / 1.8), ((0 - 32) / 1.8, 10 / 1.8), (-math.inf, 15 / 1.8))
MOST_OVER_LEAST_K = 20 / 1.8  # ACI 306R: as placed no more than 20 °F over the least
DRUM_LOSS_PER_H = 0.25  # Petersons (1966), ACI 306R-88: of what placed concrete is warmer than the air

# ACI 306R-88 table 5.1, from memory: days of protection, and with an accelerator or more cement, for concrete
# that bears nothing in that time and is kept from the weather, is exposed to it, or bears part of its load.
SHELTERED_DAYS, EXPOSED_DAYS, LOADED_DAYS = (2, 1), (3, 2), (6, 4)
_ACCELERATORS = frozenset({Admixture.ACCELERATOR})

FREEZING_C = 0.0
GROUND_FREEZES_H = 4  # our choice: so many hours of frost in the day before may leave frost in the base
WATCH_FROM, WATCH_UNTIL = (
    timedelta(hours=48),
    timedelta(hours=72),
)  # `temperature_findings` tells the first two
FREEZE_SAFE_MPA, FREEZE_SAFE_H = 500 * 0.00689476, 48  # ACI 306R: 500 psi, about 48 h at 50 °F (from memory)

BLANKET_GUST_M_S = 11.0  # our choice: about 25 mph, where loose sheets and blankets begin to lift

SOURCE = "ACI 306R"


def least_mixed_c(thickness_m: float, air_c: float) -> float:
    """Return the least temperature concrete may have as it leaves the mixer, °C.

    ACI 306R's table by the section's least dimension: 5 °F over the least as placed in air over 30 °F, 10 °F
    over it down to 0 °F, 15 °F in colder air (from memory).
    """
    over_k = next(
        over_k for above_c, over_k in _MIXED_OVER_PLACED_K if air_c > above_c or above_c == -math.inf
    )
    return least_placed_c(thickness_m) + over_k


def batched_for_c(placed_c: float, air_c: float, haul_h: float) -> float:
    """Return how warm to batch concrete that shall be placed at `placed_c` after `haul_h` in a drum, °C.

    ``placed + 0.25 (placed - air)`` for each hour, Petersons (1966) as in ACI 306R-88; nothing is gained from
    air that is warmer.
    """
    return placed_c + DRUM_LOSS_PER_H * max(0.0, placed_c - air_c) * haul_h


def is_cold_spell_1988(airs_c: Sequence[float]) -> bool:
    """Say whether hourly air, °C, is cold weather by ACI 306R-88.

    "A period when for more than three successive days the mean daily air is under 40 °F, and it is not over
    50 °F for more than half of any 24 hours" (in our words). Days are those of 24 values from the first on.
    """
    days = [airs_c[n : n + DAY_H] for n in range(0, len(airs_c) - DAY_H + 1, DAY_H)]
    for first in range(len(days) - LEAST_DAYS + 1):
        spell = [air_c for day in days[first : first + LEAST_DAYS] for air_c in day]
        means = [sum(day) / DAY_H for day in days[first : first + LEAST_DAYS]]
        if max(means) < COLD_C and _warmest_day_h(spell) <= MOST_WARM_H:
            return True
    return False


def _warmest_day_h(airs_c: Sequence[float]) -> int:
    """The most hours over 50 °F in any 24 of them."""
    warm = [air_c > WARM_C for air_c in airs_c]
    return max(sum(warm[n : n + DAY_H]) for n in range(len(warm) - DAY_H + 1))


def protection_days(mix: Mix, place: Place) -> int:
    """Return the days a slab that bears nothing is kept warm, ACI 306R-88 table 5.1 (from memory)."""
    days, hurried = SHELTERED_DAYS if place.indoors else EXPOSED_DAYS
    return hurried if mix.admixtures & _ACCELERATORS else days


def cold_weather_findings(
    forecast: Forecast,
    starts_at: datetime,
    placed_at: datetime,
    thickness_m: float,
    mix: Mix,
    place: Place,
    haul_min: float,
) -> tuple[Finding, ...]:
    """Say what cold asks for beyond what `temperature_findings` says of the air itself.

    Parameters
    ----------
    forecast : Forecast
    starts_at, placed_at : datetime
        Aware; first truck, and last concrete placed.
    thickness_m : float
        The slab's least thickness.
    mix : Mix
        An accelerator shortens the protection.
    place : Place
        Its base as it was found, and whether it is under a roof.
    haul_min : float
        Minutes in the drum on the way.

    Returns
    -------
    tuple of Finding
        ``frozen_base`` STOP where the base was found frozen or under 0 °C, else ``base_may_freeze`` CAUTION
        after four hours of frost in the day before. Where air under 40 °F is expected while it is protected:
        ``cold_placing`` and ``cold_protection`` CAUTION, ``cold_spell`` NOTE where the definition of 1988 is
        met too, ``blanket_wind`` CAUTION where gusts may lift the blankets. ``first_freeze`` CAUTION for
        frost in the third day.
    """
    days = protection_days(mix, place)
    until_at = utc(placed_at) + timedelta(days=days)
    return (
        *frozen_base(place),
        *_frost_before(forecast, starts_at, place),
        *_in_the_cold(forecast, starts_at, until_at, thickness_m, days, mix, haul_min),
        *_first_freeze(forecast, starts_at),
    )


def frozen_base(place: Place) -> Iterator[Finding]:
    """Stop a pour on ground that was found frozen or read under 0 °C, whatever the air."""
    if place.base_frozen or (place.base_c is not None and place.base_c < FREEZING_C):
        facts: dict[str, Fact] = {"base_c": place.base_c, "limit_c": FREEZING_C}
        yield Finding(Severity.STOP, "frozen_base", facts, SOURCE)


def _frost_before(forecast: Forecast, starts_at: datetime, place: Place) -> Iterator[Finding]:
    if place.base_c is not None or place.base_frozen or place.indoors:
        return
    before = forecast.hours_between(utc(starts_at) - DAY_H * HOUR, starts_at)
    frozen = [hour for hour in before if hour.air_c is not None and hour.air_c <= FREEZING_C]
    if len(frozen) >= GROUND_FREEZES_H:
        facts: dict[str, Fact] = {
            "frost_h": len(frozen),
            "coldest_c": _coldest(frozen)[0],
            "last_at": utc(frozen[-1].at) + HOUR,
            "starts_at": utc(starts_at),
        }
        yield Finding(Severity.CAUTION, "base_may_freeze", facts, f"{SOURCE}; the hours are our choice")


def _in_the_cold(
    forecast: Forecast,
    starts_at: datetime,
    until_at: datetime,
    thickness_m: float,
    days: int,
    mix: Mix,
    haul_min: float,
) -> Iterator[Finding]:
    hours = forecast.hours_between(starts_at, until_at)
    if not any(hour.air_c is not None and hour.air_c < COLD_C - 0.01 for hour in hours):
        return
    yield from _placing(forecast.at(starts_at).air_c, thickness_m, haul_min)
    facts: dict[str, Fact] = {
        "days": days,
        "until_at": until_at,
        "least_c": least_placed_c(thickness_m),
        "accelerated": bool(mix.admixtures & _ACCELERATORS),
        "loaded_days": LOADED_DAYS[bool(mix.admixtures & _ACCELERATORS)],
    }
    yield Finding(Severity.CAUTION, "cold_protection", facts, "ACI 306R-88 table 5.1 (from memory)")
    if _in_a_spell(forecast, starts_at):
        yield Finding(
            Severity.NOTE, "cold_spell", {"mean_limit_c": COLD_C, "days": LEAST_DAYS - 1}, "ACI 306R-88"
        )
    yield from blanket_wind(hours)


def _placing(air_c: float | None, thickness_m: float, haul_min: float) -> Iterator[Finding]:
    if air_c is None or air_c >= WARM_C:
        return
    least_c = least_placed_c(thickness_m)
    facts: dict[str, Fact] = {
        "thickness_m": thickness_m,
        "least_c": least_c,
        "most_c": least_c + MOST_OVER_LEAST_K,
        "batched_c": max(least_mixed_c(thickness_m, air_c), batched_for_c(least_c, air_c, haul_min / 60)),
        "air_c": air_c,
        "haul_min": haul_min,
    }
    yield Finding(Severity.CAUTION, "cold_placing", facts, f"{SOURCE} (from memory); Petersons 1966")


def _in_a_spell(forecast: Forecast, starts_at: datetime) -> bool:
    """Whether the day of the pour lies in four cold days, as far back and ahead as the forecast tells."""
    start = utc(starts_at)
    for back in range(LEAST_DAYS):
        first = start - timedelta(days=back)
        hours = forecast.hours_between(first, first + timedelta(days=LEAST_DAYS))[: LEAST_DAYS * DAY_H]
        airs_c = [hour.air_c for hour in hours if hour.air_c is not None]
        if len(airs_c) == LEAST_DAYS * DAY_H and is_cold_spell_1988(airs_c):
            return True
    return False


def blanket_wind(hours: Iterable[WeatherHour]) -> Iterator[Finding]:
    """Say when gusts over 11 m/s may lift what covers the slab in those hours."""
    windy = [hour for hour in hours if hour.gust_10m_m_s is not None and hour.gust_10m_m_s > BLANKET_GUST_M_S]
    if windy:
        facts: dict[str, Fact] = {
            "gust_m_s": max(hour.gust_10m_m_s or 0.0 for hour in windy),
            "first_at": utc(windy[0].at),
            "last_at": utc(windy[-1].at) + HOUR,
        }
        yield Finding(Severity.CAUTION, "blanket_wind", facts, "our choice")


def _first_freeze(forecast: Forecast, starts_at: datetime) -> Iterator[Finding]:
    start = utc(starts_at)
    third_day = forecast.hours_between(start + WATCH_FROM, start + WATCH_UNTIL)
    frozen = [hour for hour in third_day if hour.air_c is not None and hour.air_c <= FREEZING_C]
    if frozen:
        coldest_c, coldest_at = _coldest(frozen)
        facts: dict[str, Fact] = {
            "first_at": utc(frozen[0].at),
            "coldest_c": coldest_c,
            "coldest_at": coldest_at,
            "after_h": (utc(frozen[0].at) - start) / HOUR,
            "strength_mpa": FREEZE_SAFE_MPA,
            "safe_h": FREEZE_SAFE_H,
            "safe_air_c": WARM_C,
        }
        yield Finding(Severity.CAUTION, "first_freeze", facts, f"{SOURCE} (from memory)")


def _coldest(hours: Sequence[WeatherHour]) -> tuple[float, datetime]:
    return min((hour.air_c, utc(hour.at)) for hour in hours if hour.air_c is not None)
