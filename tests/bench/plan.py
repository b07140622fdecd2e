"""How long one pour takes to plan: 200 pours of every kind, then the same pour with more and more loads."""

import math
import random
import statistics
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from scheduling.engine.dayplan import plan_pour
from scheduling.engine.inputs import (
    Admixture,
    Circle,
    Finish,
    Finishing,
    Method,
    Mix,
    Opening,
    Outline,
    PercentAllowance,
    Place,
    Placing,
    PlainArea,
    Polygon,
    PourRequest,
    Rectangle,
    SawType,
    Section,
    SpotDepths,
    SpreadAllowance,
    Supply,
    ThickenedEdge,
    Trapezoid,
    UniformDepth,
    WeatherHour,
)

POURS = 200
TRUCK_M3 = 7.5
START = datetime(2026, 6, 10, 12, tzinfo=UTC)
LOADS = (5, 10, 20, 40, 80, 160)


def weather(mean_c: float, humidity: float, wind_m_s: float) -> tuple[WeatherHour, ...]:
    """Four days that are warmest, driest and windiest in the afternoon."""
    first = START - timedelta(hours=12)
    hours = []
    for number in range(96):
        warmth = math.sin((number - 15) / 24 * 2 * math.pi)
        hours.append(
            WeatherHour(
                at=first + timedelta(hours=number),
                air_c=mean_c + 6 * warmth,
                humidity=humidity - 0.15 * warmth,
                wind_10m_m_s=wind_m_s * (1 + 0.4 * warmth),
                cloud=0.3,
                sun_w_m2=max(0.0, 800 * warmth),
                rain_chance=0.1,
                rain_mm=0.0,
                thunder_chance=0.0,
            )
        )
    return tuple(hours)


def outline(draw: random.Random, area_m2: float) -> Outline:
    """A slab of about this area, in one of the shapes slabs come in."""
    side = math.sqrt(area_m2)
    ell = ((0, 0), (1.2, 0), (1.2, 0.5), (0.6, 0.5), (0.6, 1.2), (0, 1.2))
    return draw.choice(
        (
            Rectangle(1.5 * side, side / 1.5),
            Trapezoid(1.2 * side, 0.8 * side, side),
            Circle(2 * side / math.sqrt(math.pi)),
            Polygon(tuple((x * side, y * side) for x, y in ell)),
            PlainArea(area_m2),
        )
    )


def section(draw: random.Random, loads: int) -> Section:
    depth_m = draw.choice((0.1, 0.125, 0.15, 0.2))
    drawn = outline(draw, loads * TRUCK_M3 * 0.9 / depth_m)
    spots = SpotDepths(tuple(depth_m * draw.uniform(0.95, 1.1) for _ in range(12)))
    has_edge = draw.random() < 0.3 and loads > 1 and not isinstance(drawn, PlainArea)
    has_opening = draw.random() < 0.3
    return Section(
        outline=drawn,
        depth=draw.choice((UniformDepth(depth_m), spots)),
        edges=(ThickenedEdge(width_m=0.3, depth_m=0.4),) if has_edge else (),
        openings=(Opening(Circle(0.4), count=2),) if has_opening else (),
    )


def supply(draw: random.Random) -> Supply:
    return Supply(
        truck_m3=TRUCK_M3,
        order_step_m3=0.25,
        trucks=draw.choice((None, 3, 6, 10)),
        plant_rate_m3_h=draw.choice((None, 60.0, 100.0)),
        haul_min=draw.uniform(5, 45),
        opens_at=START - timedelta(hours=2),
        closes_at=START + timedelta(hours=10),
    )


def request(draw: random.Random, loads: int) -> PourRequest:
    cut = section(draw, loads)
    spread = isinstance(cut.depth, SpotDepths)
    return PourRequest(
        sections=(cut,),
        allowance=SpreadAllowance() if spread else PercentAllowance(draw.uniform(2, 8)),
        mix=Mix(
            name="slab",
            strength_mpa=draw.choice((25.0, 30.0, 35.0)),
            aggregate_mm=19,
            fly_ash_fraction=draw.choice((0.0, 0.2)),
            admixtures=frozenset(draw.sample(sorted(Admixture), draw.randrange(3))),
        ),
        supply=supply(draw),
        placing=Placing(method=draw.choice(tuple(Method)), people=draw.randrange(4, 12)),
        finishing=Finishing(
            people=draw.randrange(1, 6), finish=draw.choice(tuple(Finish)), saw=draw.choice(tuple(SawType))
        ),
        place=Place(one_truck_at_a_time=draw.random() < 0.2),
        starts_at=START,
        forecast=weather(draw.uniform(5, 32), draw.uniform(0.35, 0.75), draw.uniform(1, 7)),
    )


def plan_ms(asked: PourRequest) -> float:
    began = time.perf_counter()
    plan_pour(asked)
    return (time.perf_counter() - began) * 1000


def rectangle_of(loads: int) -> PourRequest:
    """The same pour whatever its size: a slab of 0.15 m that fills just so many trucks."""
    side = math.sqrt((loads - 0.5) * TRUCK_M3 / 0.15)
    slab = Section(outline=Rectangle(1.5 * side, side / 1.5), depth=UniformDepth(0.15))
    return replace(request(random.Random(3), loads), sections=(slab,), allowance=PercentAllowance(0))


def growth() -> dict[int, float]:
    """Median of five plans for each number of loads."""
    return {loads: statistics.median(plan_ms(rectangle_of(loads)) for _ in range(5)) for loads in LOADS}


def run() -> dict[str, float]:
    draw = random.Random(1)
    asked = [request(draw, draw.randint(1, 40)) for _ in range(POURS)]
    plan_ms(asked[0])  # the first call pays for what every later one finds ready
    times = sorted(plan_ms(one) for one in asked)
    median, p95 = statistics.median(times), statistics.quantiles(times, n=20)[-1]
    print(f"{POURS} pours of 1 to 40 loads: median {median:.2f} ms, 95 of 100 within {p95:.2f} ms,", end=" ")
    print(f"longest {times[-1]:.2f} ms\n")
    print(f"{'loads':>6} {'ms':>8}")
    grown = growth()
    for loads, took in grown.items():
        print(f"{loads:>6} {took:>8.2f}")
    return {"plan_ms_median": median, "plan_ms_p95": p95, "growth_5_to_160": grown[160] / grown[5]}
