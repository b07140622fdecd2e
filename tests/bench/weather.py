"""A year of hourly station weather: set, finish and cut windows of every start, beside an explicit peer."""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache, partial

import numpy as np

from scheduling.engine.evaporation import saturation_pressure_kpa
from scheduling.engine.exposure import STEFAN_BOLTZMANN_W_M2_K4, ZERO_K, Exposure, exposure_of
from scheduling.engine.forecast import Forecast
from scheduling.engine.hydration import hydration_of
from scheduling.engine.inputs import Mix, SawType
from scheduling.engine.mixage import ages_of
from scheduling.engine.sawcut import FOLLOWED_AGE_H, SawClock, SawWindow
from scheduling.engine.setting import SetTimes, Slab, clock_times
from scheduling.engine.slabclock import STEPS_S, slab_clock
from scheduling.engine.slabheat import (
    LABORATORY_ENERGY_J_MOL,
    LATENT_J_KG,
    SLAB_CELLS,
    Drying,
    grid_of,
    march,
    quickening,
)
from tests.station import GREENSBORO, HOURS, greensboro

MIX = Mix(name="plain", strength_mpa=28, aggregate_mm=19)
SLAB = Slab(thickness_m=0.127, place=GREENSBORO)
CORES = 2
CHUNK = (
    365  # starts that march together: few enough to stay near the processor, many enough to share its work
)
SIZES = (1, 10, 100, 1000)
PEERED = range(100, HOURS, HOURS // 8)  # starts that the peer is asked about, through the year
PEER_STEP_S = 20.0
TWO_DAYS = STEPS_S[np.cumsum(STEPS_S) <= 48 * 3600]


@dataclass(frozen=True)
class Windows:
    """What is told of a slab that starts at some hour."""

    sets: SetTimes
    cut: SawWindow


@cache
def weather() -> Forecast:
    return Forecast(greensboro())


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def windows(numbers: Sequence[int]) -> list[Windows | None]:
    """Of slabs that start at these hours of the year; finishing runs from float-ready to final set."""
    starts = [weather().hours[number].at for number in numbers]
    clock = slab_clock(MIX, SLAB, weather(), starts, [False] * len(starts), FOLLOWED_AGE_H)
    saw = SawClock(SawType.CONVENTIONAL, MIX, clock, weather())
    return [
        None if sets is None else Windows(sets, saw.window(place, sets.final.likely))
        for place, sets in enumerate(clock_times(MIX, SLAB, clock))
    ]


def year() -> list[Windows | None]:
    parts = [range(first, min(first + CHUNK, HOURS)) for first in range(0, HOURS, CHUNK)]
    with ProcessPoolExecutor(CORES) as pool:
        return [one for part in pool.map(windows, parts) for one in part]


# --- one slab for two days --------------------------------------------------------------------


def exposed(start: datetime, steps_s: np.ndarray) -> Exposure:
    middles_s = np.cumsum(steps_s) - steps_s / 2
    return exposure_of(weather(), GREENSBORO, np.array([start.timestamp()]), middles_s, [False])


def ours(start: datetime, steps_s: np.ndarray = TWO_DAYS):
    ages = ages_of(MIX)
    return march(
        grid_of(SLAB.thickness_m),
        steps_s,
        exposed(start, steps_s),
        np.array([20.0]),
        np.array([15.0]),
        hydration_of(MIX),
        Drying(ages.float_ready.likely_h, ages.final.likely_h),
        LABORATORY_ENERGY_J_MOL,
    )


def explicit(start: datetime) -> tuple[np.ndarray, np.ndarray]:
    """The same slab by plain explicit differences, as they are usually written: moments' means and ages."""
    grid, hydration, ages = grid_of(SLAB.thickness_m), hydration_of(MIX), ages_of(MIX)
    drying = Drying(ages.float_ready.likely_h, ages.final.likely_h)
    steps = round(48 * 3600 / PEER_STEP_S)
    met = exposed(start, np.full(steps, PEER_STEP_S))
    cells = np.concatenate([np.full(SLAB_CELLS, 20.0), np.full(grid.depths_m.size - SLAB_CELLS, 15.0)])
    surface, age_h, means, grown = 20.0, 0.0, [20.0], [0.0]
    for step in range(steps):
        mean = float(cells[:SLAB_CELLS].mean())
        pace = float(quickening(np.array(max(mean, 0.0)), LABORATORY_ENERGY_J_MOL))
        hours = pace * PEER_STEP_S / 3600
        given = float(hydration.heat_rate_j_m3_h(np.array(age_h + hours / 2))) * hours
        surface = balanced(surface, float(cells[0]), grid.top_w_m2_k, met, step, float(drying.share(age_h)))
        flows = grid.passages_w_m2_k * (cells[:-1] - cells[1:])
        heat = np.zeros_like(cells)
        heat[0] += grid.top_w_m2_k * (surface - cells[0])
        heat[:-1] -= flows
        heat[1:] += flows
        warmed = heat * PEER_STEP_S
        warmed[:SLAB_CELLS] += given * grid.depths_m[:SLAB_CELLS]
        cells = cells + warmed / grid.capacities_j_m2_k
        age_h += hours
        means.append(float(cells[:SLAB_CELLS].mean()))
        grown.append(age_h)
    return np.array(means), np.array(grown)


def balanced(surface: float, upper: float, through: float, met: Exposure, step: int, wet: float) -> float:
    """The surface's temperature at which what comes in goes on into the slab, by Newton's steps."""
    gain, air = float(met.gain_w_m2[step, 0]), float(met.air_c[step, 0])
    h, emissivity = float(met.convection_w_m2_k[step, 0]), float(met.emissivity[step, 0])
    per_kpa, vapour = float(met.per_kpa_kg_m2_h[step, 0]), float(met.vapour_kpa[step, 0])
    latent = wet * per_kpa * LATENT_J_KG / 3600
    for _ in range(2):
        kelvin, pressure = surface + ZERO_K, saturation_pressure_kpa(surface)
        radiated = emissivity * STEFAN_BOLTZMANN_W_M2_K4 * kelvin**4
        dried = latent * max(0.0, pressure - vapour)
        excess = gain + h * (air - surface) - radiated - dried - through * (surface - upper)
        slope = h + 4 * radiated / kelvin + through
        if pressure > vapour:
            slope += latent * pressure * 17.502 * 240.97 / (240.97 + surface) ** 2
        surface += excess / slope
    return surface


def beside_the_peer() -> tuple[float, float]:
    """Milliseconds of ours and of the peer for one slab over two days; it prints how far apart they are."""
    starts = [weather().hours[number].at for number in PEERED]
    ours_ms = 1000 * min(seconds(partial(ours, start)) for start in starts * 5)  # others are at work as well
    took, apart_k, apart_min = [], [], []
    elapsed_s = np.append(0.0, np.cumsum(TWO_DAYS))
    final_h = ages_of(MIX).final.likely_h
    for start in starts:
        began = time.perf_counter()
        means, grown = explicit(start)
        took.append(time.perf_counter() - began)
        mine = ours(start)
        moments_s = np.arange(means.size) * PEER_STEP_S
        apart_k.append(np.abs(np.interp(elapsed_s, moments_s, means) - mine.mean_c[:, 0]).max())
        theirs_s, mine_s = (
            np.interp(final_h, grown, moments_s),
            np.interp(final_h, mine.age_h[:, 0], elapsed_s),
        )
        apart_min.append(abs(theirs_s - mine_s) / 60)
    peer_ms = 1000 * min(took)
    print(f"One slab over two days: ours {ours_ms:.2f} ms in {TWO_DAYS.size} implicit steps;", end=" ")
    print(f"explicit in steps of {PEER_STEP_S:.0f} s {peer_ms:.0f} ms, {peer_ms / ours_ms:.0f} times as long")
    print(
        f"(a year of it one by one {peer_ms * HOURS / 1000 / 60:.0f} min). Their slabs' means are at most",
        end=" ",
    )
    print(f"{max(apart_k):.2f} K apart, their final sets {max(apart_min):.1f} min\n")
    return ours_ms, peer_ms


# --- how cost grows, and the year -------------------------------------------------------------


def growth() -> None:
    print(f"{'starts':>7} {'ms':>9} {'ms each':>8}")
    for size in SIZES:
        numbers = [round(n * HOURS / size) for n in range(size)]
        took_ms = 1000 * min(seconds(partial(windows, numbers)) for _ in range(3 if size < 1000 else 1))
        print(f"{size:>7,} {took_ms:>9.1f} {took_ms / size:>8.2f}")
    print()


def told(name: str, hours: list[float]) -> None:
    low, middle, high = np.percentile(hours, [5, 50, 95])
    print(f"{name:>26} {min(hours):>7.1f} {low:>7.1f} {middle:>7.1f} {high:>7.1f} {max(hours):>7.1f}")


def describe(found: list[Windows]) -> None:
    hour = timedelta(hours=1)
    print(f"{'hours from placing':>26} {'least':>7} {'5 %':>7} {'median':>7} {'95 %':>7} {'most':>7}")
    told("float-ready", [(one.sets.float_ready.likely - one.sets.placed_at) / hour for one in found])
    told("final set", [(one.sets.final.likely - one.sets.placed_at) / hour for one in found])
    told("saw from", [(one.cut.opens_at - one.sets.placed_at) / hour for one in found])
    told("saw until", [(one.cut.closes_at - one.sets.placed_at) / hour for one in found])
    crusts = sum(one.sets.crusts for one in found)
    print(f"{len(found):,} starts of {HOURS:,} have their windows; {crusts:,} would crust\n")


def run() -> dict[str, float]:
    slab_ms, peer_ms = beside_the_peer()
    growth()
    began = time.perf_counter()
    found = [one for one in year() if one is not None]
    year_s = time.perf_counter() - began
    describe(found)
    return {"year_s": year_s, "slab48h_ms": slab_ms, "peer48h_ms": peer_ms, "missing": HOURS - len(found)}
