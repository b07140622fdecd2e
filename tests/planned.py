"""Plans and days that give something to say: findings of every code there is, by what provokes them."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.engine.baygrid import TruckStand
from scheduling.engine.bays import plan_bays
from scheduling.engine.bestspacing import best_spacing
from scheduling.engine.beststart import StartLimits, best_starts
from scheduling.engine.comparison import compare, comparison_findings
from scheduling.engine.crewweather import boom_wind_findings, crew_weather_findings
from scheduling.engine.dayplan import plan_pour
from scheduling.engine.delivery import deliver
from scheduling.engine.forecast import Forecast
from scheduling.engine.grade import grade_sheet
from scheduling.engine.inputs import (
    Admixture,
    Batch,
    Costs,
    FallingTop,
    Finish,
    Finishing,
    Method,
    Mix,
    PercentAllowance,
    Place,
    Placing,
    PlainArea,
    PourRequest,
    Rectangle,
    Reinforcement,
    SawType,
    Section,
    SpotDepths,
    SpreadAllowance,
    Supply,
    Uncertainty,
    UniformDepth,
    WeatherHour,
    Window,
)
from scheduling.engine.replan import Logged, Watched, follow
from scheduling.quantities import UnitSystem

ZONE = ZoneInfo("America/Chicago")
US, METRIC = UnitSystem.US, UnitSystem.METRIC
START = datetime(2026, 6, 11, 7, 0, tzinfo=ZONE)  # a Thursday
YD3, FT, IN = 0.764555, 0.3048, 0.0254


def at(hour, minute=0, day=11):
    return datetime(2026, 6, day, hour, minute, tzinfo=ZONE).astimezone(UTC)


# --- the codes the engine can give ------------------------------------------------------------


def weather(air_c, *, hours=96, first=START - timedelta(hours=7), **fields) -> tuple[WeatherHour, ...]:
    told = {"humidity": 0.6, "wind_10m_m_s": 2.0, "rain_chance": 0.0, "rain_mm": 0.0, "thunder_chance": 0.0}
    told |= fields
    return tuple(WeatherHour(at=first + timedelta(hours=n), air_c=air_c, **told) for n in range(hours))


def shower(**fields) -> tuple[WeatherHour, ...]:
    """A dry mild day with a wet afternoon, 1 pm to 5 pm."""
    return tuple(
        replace(hour, **fields) if 13 <= hour.at.astimezone(ZONE).hour < 17 and hour.at < at(23) else hour
        for hour in weather(21.0)
    )


SLAB = Section(outline=Rectangle(60 * FT, 40 * FT), depth=UniformDepth(4 * IN), label="shop floor")
SPOTS = SpotDepths(tuple(inches * IN for inches in (3.0, 4.0, 5.5, 4.25)))
MIX = Mix(name="4000", strength_mpa=27.6, aggregate_mm=19)
SUPPLY = Supply(
    truck_m3=9 * YD3, order_step_m3=0.25 * YD3, haul_min=20, opens_at=at(5), closes_at=at(16), trucks=6
)
PLAIN = PourRequest(
    sections=(SLAB,),
    allowance=PercentAllowance(6),
    mix=MIX,
    supply=SUPPLY,
    placing=Placing(method=Method.CHUTE, people=5),
    finishing=Finishing(people=3),
    place=Place(),
    starts_at=START,
    forecast=weather(21.0),
)


def changed(**fields) -> PourRequest:
    """The plain pour with other inputs; a dict changes some fields of an input."""
    parts = {
        name: replace(getattr(PLAIN, name), **value) if isinstance(value, dict) else value
        for name, value in fields.items()
    }
    return replace(PLAIN, **parts)


def busy_at(*minutes: float) -> tuple[Window, ...]:
    """The plant loads a truck of another pour, five minutes each, so long after the start."""
    starts = (START + timedelta(minutes=minute) for minute in minutes)
    return tuple(Window(start, start + timedelta(minutes=5)) for start in starts)


def area(square_feet: float, inches: float = 4.0) -> tuple[Section, ...]:
    return (Section(outline=PlainArea(square_feet * FT**2), depth=UniformDepth(inches * IN)),)


REQUESTS = {
    "plain": PLAIN,
    "hot and windy": changed(forecast=weather(38.0, humidity=0.15, wind_10m_m_s=9.0), concrete_c=37.0),
    "warm and dry": changed(forecast=weather(30.0, humidity=0.35, wind_10m_m_s=4.0)),
    "silica fume": changed(
        mix=replace(MIX, silica_fume=True), forecast=weather(30.0, humidity=0.35, wind_10m_m_s=5.0)
    ),
    "cold": changed(forecast=weather(-4.0), concrete_c=9.0),
    "cold and slow": changed(forecast=weather(3.0), starts_at=START + timedelta(hours=9)),
    "rain by chance": changed(forecast=shower(rain_chance=0.6, rain_mm=None)),
    "rain by amount": changed(forecast=shower(rain_chance=None, rain_mm=3.0)),
    "thunder": changed(forecast=shower(thunder_chance=0.4, rain_chance=0.5, rain_mm=2.0)),
    "chilled with much ice": changed(
        forecast=weather(36.0),
        batch=Batch(
            cement_kg_m3=335,
            water_kg_m3=150,
            aggregate_kg_m3=1800,
            water_c=10.0,
            aggregate_c=34.0,
            ice_kg_m3=90.0,
        ),
    ),
    "no forecast": changed(forecast=()),
    "an old forecast": changed(forecast=weather(21.0), forecast_age_h=9.0),
    "forecast ends": changed(forecast=weather(21.0, hours=30, rain_chance=None, rain_mm=None)),
    "no wind": changed(forecast=weather(21.0, wind_10m_m_s=None, humidity=None)),
    "out of reach": changed(placing={"reach_m": 5.0}),
    "far out of reach": changed(placing={"reach_m": 15.0}),
    "two people": changed(placing={"people": 2}, finishing={"people": 1}),
    "a boom by the lines": changed(placing={"method": Method.BOOM_PUMP}, place=Place(power_lines=True)),
    "buggies indoors": changed(placing={"method": Method.POWER_BUGGY, "carts": 2}, place=Place(indoors=True)),
    "barrows up a ramp": changed(placing={"method": Method.BARROW, "rise_m": 2.0}),
    "a crowd": changed(placing={"people": 30}),
    "barrows too far": changed(placing={"method": Method.BARROW, "carry_m": 70.0}),
    "barrows": changed(placing={"method": Method.BARROW, "people": 6}),
    "a buggy": changed(placing={"method": Method.POWER_BUGGY, "carry_m": 90.0}),
    "stiff by pump": changed(placing={"method": Method.LINE_PUMP, "slump_mm": 50.0}),
    "a pump that moves": changed(placing={"method": Method.BOOM_PUMP, "pump_moves": 1, "hose_moves": 2}),
    "a steep slab by belt": changed(placing={"method": Method.CONVEYOR, "slope": 0.1}),
    "tight fleet": changed(supply={"trucks": 2, "haul_min": 40}),
    "slow plant": changed(supply={"plant_rate_m3_h": 8.0, "trucks": None}),
    "one at a time": changed(place=Place(one_truck_at_a_time=True, trucks_must_back=True, power_lines=True)),
    "a named spotter": changed(place=Place(trucks_must_back=True, spotter="Rosa Field")),
    "long haul": changed(supply={"haul_min": 75}),
    "hopeless haul": changed(supply={"haul_min": 100}),
    "plant closed": changed(starts_at=START + timedelta(hours=8, minutes=30)),
    "plant not open": changed(starts_at=START - timedelta(hours=2, minutes=12)),
    "a shared plant": changed(plant_busy=busy_at(-25, 5, 20)),
    "a shared plant that never clashes": changed(plant_busy=busy_at(-19)),
    "plant shut": changed(supply={"open_that_day": False}),
    "one small load": changed(sections=area(80), supply={"minimum_load_m3": 3 * YD3}),
    "road limit": changed(supply={"road_limit_kg": 30000.0}),
    "wedge": changed(sections=(replace(SLAB, depth=FallingTop(4 * IN, 2 * IN)),)),
    "thin allowance": changed(allowance=PercentAllowance(0.5)),
    "generous allowance": changed(allowance=PercentAllowance(15)),
    "drawn deeper": changed(sections=(replace(SLAB, depth=UniformDepth(3.5 * IN), drawn_depth_m=4 * IN),)),
    "rough base": changed(sections=(replace(SLAB, depth=SPOTS), *area(900)), allowance=SpreadAllowance()),
    "indoors": changed(place=Place(indoors=True)),
    "chloride": changed(mix=replace(MIX, calcium_chloride_fraction=0.02)),
    "chloride on bars": changed(
        mix=replace(MIX, calcium_chloride_fraction=0.01), placing={"reinforcement": Reinforcement.BARS}
    ),
    "chloride in a decorative slab": changed(
        mix=replace(MIX, calcium_chloride_fraction=0.01), finishing={"decorative": True}
    ),
    "a frozen base": changed(forecast=weather(9.0), place=Place(base_c=-2.0)),
    "frost in the base": changed(place=Place(base_frozen=True)),
    "frost before, and on the third night": changed(
        forecast=tuple(
            replace(hour, air_c=-2.0) if at(2) <= hour.at < at(6) or at(9, day=13) <= hour.at else hour
            for hour in weather(8.0)
        )
    ),
    "a cold spell, hurried": changed(
        forecast=weather(1.0, hours=120, gust_10m_m_s=14.0),
        mix=replace(MIX, admixtures=frozenset({Admixture.ACCELERATOR})),
    ),
    "a saw held by hand": changed(
        finishing={"saw": SawType.HANDHELD}, sections=area(6000), supply={"trucks": None}
    ),
    "a saw driven indoors": changed(finishing={"saw": SawType.DRIVABLE}, place=Place(indoors=True)),
    "early saw indoors": changed(place=Place(indoors=True), finishing={"saw": SawType.EARLY_ENTRY}),
    "broomed": changed(finishing={"finish": Finish.BROOM, "people": 1}, place=Place(indoors=True)),
    "long pour": changed(sections=area(20000), finishing={"people": 2}),
    "joints far apart": changed(finishing={"joint_spacing_m": 7.0}),
    "long cuts": changed(
        sections=(Section(outline=Rectangle(300 * FT, 100 * FT), depth=UniformDepth(4 * IN)),),
        finishing={"joint_spacing_m": 1.2, "people": 60, "saw": SawType.EARLY_ENTRY},
        placing={"people": 12},
        supply={"trucks": None},
    ),
}
PLANNED = {name: plan_pour(request).findings for name, request in REQUESTS.items()}
# What comes of an interval that no plan asks for.
PLANNED["all trucks at once"] = deliver(
    (6.0,) * 4, (0,) * 4, START, 12.0, replace(SUPPLY, trucks=None), Place()
).findings


def under_way(minute, *logged, people_share=1.0):
    """What is said of the plain pour so many minutes after its start."""
    plan = plan_pour(PLAIN)
    watched = Watched(
        planned=plan.delivery.loads,
        rate_m3_h=plan.line.rate_m3_h,
        age_limit_min=PLAIN.supply.age_limit_min,
        cold_joint_min=60,
        people_share=people_share,
    )
    return follow(watched, logged, START + timedelta(minutes=minute)).findings


def quicker_ways(request: PourRequest):
    """What the other methods would buy."""
    slab = plan_pour(request).quantity
    choices = compare(
        request.placing, slab.area_m2, slab.depth_m, slab.loads_m3, request.supply, request.place
    )
    return comparison_findings(choices, request.placing)


def felt(**hours):
    """What is said to people of a day like that."""
    return crew_weather_findings(Forecast(weather(**hours)), START, START + timedelta(hours=9), Place())


def over_the_boom(**hours):
    return boom_wind_findings(Forecast(weather(21.0, **hours)), START, START + timedelta(hours=3))


PLANNED |= {
    "warm for people": felt(air_c=28.0),
    "hot for people": felt(air_c=36.0, sun_w_m2=800.0),
    "deadly for people": felt(air_c=44.0, humidity=0.5),
    "cold for people": felt(air_c=-9.0, wind_10m_m_s=8.0),
    "gusts for a boom": over_the_boom(gust_10m_m_s=15.0),
    "gusts to watch": over_the_boom(gust_10m_m_s=11.0),
    "a strong mean wind": over_the_boom(wind_10m_m_s=10.0),
    "wind not told": over_the_boom(wind_10m_m_s=None),
}
PLANNED["a quicker way"] = quicker_ways(changed(placing={"method": Method.BARROW, "reach_m": 25.0}))


# --- bays, grades and starts ------------------------------------------------------------------


def bays_of(request: PourRequest, *stands: TruckStand, chute_m: float):
    plan = plan_pour(request)
    reaches_m = {Method.CHUTE: chute_m, Method.EXTENDED_CHUTE: 18 * FT}
    return plan_bays(request.sections, plan.quantity, request.placing, plan.line, reaches_m, stands)


def started(request: PourRequest, hour: float, *loud: Window):
    """What is said of the plain start and of one at another hour, told against it."""
    start = START.replace(hour=0) + timedelta(hours=hour)
    found = best_starts(request, (request.starts_at, start), StartLimits(loud_windows=loud))
    return tuple(finding for one in found for finding in (*one.findings, *one.advantages))


def risked(rate_m3_h: float = 30.0, cold_joint_min: float = 60.0, luck: Uncertainty | None = None, **fields):
    """What is said of the trucks of twelve loads on days that may come."""
    supply = replace(SUPPLY, **fields)
    luck = luck or Uncertainty()
    loads = (6.0,) * 12
    return best_spacing(
        loads, rate_m3_h, supply, Place(), luck, Costs(), cold_joint_min, START, days=300
    ).findings


FALLING = replace(SLAB, depth=FallingTop(4 * IN, 2 * IN))
SMALL = changed(sections=area(150), placing={"straightedge_m": 5.0})
MINNEAPOLIS = {"place": Place(latitude=44.98, longitude=-93.27)}
HEATING = tuple(
    replace(hour, air_c=20.0 + 1.2 * n, humidity=0.2)
    for n, hour in enumerate(weather(0.0, hours=18, wind_10m_m_s=5.0))
)
COOLING = tuple(replace(hour, air_c=20.0 - n) for n, hour in enumerate(weather(0.0, hours=25)))
NOON = START.replace(hour=12)

PLANNED |= {
    "far and slow": risked(rate_m3_h=12.0, haul_min=40.0),
    "two trucks a long way off": risked(trucks=2, haul_min=30.0, cold_joint_min=40.0),
    "punctual trucks only": risked(
        luck=Uncertainty(late_mean_min=0, late_sd_min=1, unload_cv=0.1), age_limit_min=50.0
    ),
    "bays out of reach": bays_of(PLAIN, TruckStand(), chute_m=12 * FT).findings,
    "bays the other chute reaches": bays_of(SMALL, TruckStand(), chute_m=8 * FT).findings,
    "bays from an assumed front": bays_of(PLAIN, chute_m=12 * FT).findings,
    "a flat fall": grade_sheet(FALLING, bays_of(PLAIN, chute_m=12 * FT).grids[0]).findings,
    "early instead of hot": started(
        changed(forecast=HEATING + weather(38.0, first=at(18)), starts_at=NOON), 5
    ),
    "early instead of cold": started(changed(forecast=COOLING + weather(-5.0, first=at(1, day=12))), 1),
    "after the storm": started(
        changed(forecast=shower(rain_chance=0.8, thunder_chance=0.5), starts_at=NOON), 19
    ),
    "by daylight": started(changed(**MINNEAPOLIS, starts_at=START.replace(hour=2)), 8),
    "done by sunset": started(changed(**MINNEAPOLIS, starts_at=START.replace(hour=17)), 8),
    "quiet hours": started(changed(starts_at=START.replace(hour=5)), 9, Window(at(6), at(2, day=12))),
    "quiet days": started(PLAIN, 9, Window(at(7, day=1), at(21, day=1))),
    "the plant open": started(changed(starts_at=START.replace(hour=4)), 9),
    "a party that keeps up": started(
        changed(forecast=HEATING + weather(38.0, first=at(18)), starts_at=NOON, finishing={"people": 2}), 0
    ),
    "a forecast that ends": started(
        changed(forecast=weather(21.0, hours=24), starts_at=START.replace(hour=20)), 8
    ),
}

FIRST = Logged(
    number=1,
    batch_at=START - timedelta(minutes=30),
    arrived_at=START,
    started_at=START,
    emptied_at=START + timedelta(minutes=20),
)
PLANNED |= {
    "too few came": under_way(-50, people_share=0.3),
    "the second truck is missing": under_way(40, FIRST),
    "a gap that grows": under_way(70, FIRST),
    "a gap too long": under_way(90, FIRST),
    "a load past its limit": under_way(
        0, Logged(number=1, batch_at=START - timedelta(minutes=110), arrived_at=START)
    ),
    "a load that will be": under_way(
        0, Logged(number=1, batch_at=START - timedelta(minutes=85), arrived_at=START)
    ),
    "no ticket": under_way(0, Logged(number=1, arrived_at=START)),
}
